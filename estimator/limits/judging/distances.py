"""How far a judged value is from its limits, and the words that follow with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.limits.judging.verdict_words import (
    BAD,
    CLOSE,
    COULD_NOT,
    COVERAGE,
    NO_DRIVE_LIMIT,
    NO_LIMIT,
    NOT_BELIEVABLE,
    NOT_MEASURED,
    OUTSIDE,
    RECORDED,
    WITHIN,
)
from estimator.limits.sheet_arithmetic import sheet_round
from estimator.limits.working import Si


@dataclass(frozen=True)
class Distance:
    """How far a value is from a pair of limits, in the shown unit; positive is within. "" where there is no limit."""

    above: Si
    below: Si

    @property
    def margin(self) -> Si:
        numbers = [side for side in (self.above, self.below) if not isinstance(side, str)]
        return min(numbers) if numbers else ""

    def word(self, u_shown: Si) -> str:
        """The words for this distance and a guard band."""
        margin = self.margin
        if isinstance(margin, str) or isinstance(u_shown, str):
            return NO_LIMIT
        if margin >= u_shown:
            return WITHIN
        return OUTSIDE if margin <= -u_shown else CLOSE


@dataclass(frozen=True)
class Phase:
    """The judging of one reading: SI values, and in the shown unit what is compared."""

    si: Si
    gauge_u: Si
    gave_up: int
    recorded: bool
    judged: Si
    gauge_at: int
    u_own: Si
    u_any: Si
    u: Si
    u_shown: Si
    service: Distance
    danger: Distance
    believe_low: Si
    believe_high: Si
    top: Si
    odd: int
    held: Si
    contradicted: int
    no_drive: int
    in_date: int
    doubt: int = 0

    @property
    def chance(self) -> Si:
        """The probability that the true value is within the service limits, to four decimals (JCGM 106): with U twice
        the standard uncertainty u, Φ(above/u) + Φ(below/u) - 1, a side without a limit counting as sure."""
        known = [chance for side in ("above", "below") if not isinstance(chance := self.chance_of(side), str)]
        return sheet_round(sum(known) - len(known) + 1, 4) if known else ""

    def chance_of(self, side: str) -> Si:
        """The probability that the true value is on the right side of one service limit."""
        room = self.service.above if side == "above" else self.service.below
        if isinstance(room, str) or isinstance(self.u_shown, str) or self.u_shown <= 0:
            return ""
        return _normal(COVERAGE * room / self.u_shown)

    @property
    def blank(self) -> str:
        return COULD_NOT if self.gave_up else NOT_MEASURED

    @property
    def service_word(self) -> str:
        return self.service.word(self.u_shown)

    @property
    def danger_word(self) -> str:
        """Where no side has a limit to drive with, what lies within its service limits may be driven with."""
        if self.no_drive:
            return NO_DRIVE_LIMIT
        if isinstance(self.danger.margin, str) and not isinstance(self.service.margin, str):
            return WITHIN
        return self.danger.word(self.u_shown)

    @property
    def verdict(self) -> str:
        return self._verdict(self.service_word, self.recorded)

    @property
    def drive(self) -> str:
        """The word that concerns driving."""
        return self._verdict(self.danger_word, self.recorded)

    @property
    def noted(self) -> str:
        if not isinstance(self.si, float):
            return self.blank
        return NOT_BELIEVABLE if self.doubt else RECORDED

    def _verdict(self, word: str, recorded: bool) -> str:
        if recorded:
            return self.noted
        if isinstance(self.judged, str) or isinstance(self.u_shown, str):
            return self.blank
        return NOT_BELIEVABLE if self.doubt and word not in BAD else word


def _normal(z: float) -> float:
    return (1 + math.erf(z / math.sqrt(2))) / 2


def distance(judged: Si, low: Si, high: Si, factor: float) -> Distance:
    """How far a judged value is above the low limit and below the high one, rounded as the sheet rounds it."""

    def side(difference: Si) -> Si:
        return "" if isinstance(difference, str) else sheet_round(difference / factor, 6)

    if isinstance(judged, str):
        return Distance("", "")
    above = "" if isinstance(low, str) else judged - low
    below = "" if isinstance(high, str) else high - judged
    return Distance(side(above), side(below))
