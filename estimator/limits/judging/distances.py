"""How far a judged value is from its limits, and the words that follow with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.limits.judging.stated import Stated
from estimator.limits.judging.verdict_words import (
    BAD,
    CLOSE,
    CONTRADICTS,
    COULD_NOT,
    COVERAGE,
    GOOD,
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
    said: Stated
    u_alone: Si
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
    belief: Distance
    scale: Distance
    held: Si
    against: tuple[int, ...]
    unjudged_low: int
    unjudged_high: int
    in_date: int
    rests_on: tuple[Phase, ...] = ()

    @property
    def odd(self) -> int:
        """Whether it lies outside what is believed, or beyond the scale of its gauge."""
        rooms = (self.belief.margin, self.scale.margin)
        return int(any(not isinstance(room, str) and room < 0 for room in rooms))

    @property
    def rested(self) -> tuple[int, ...]:
        """Whether each of the readings that its verdict rests on is odd."""
        return tuple(other.odd for other in self.rests_on)

    @property
    def rested_in_date(self) -> tuple[int, ...]:
        """Whether the gauge of each of the readings that its verdict rests on was in date."""
        return tuple(other.in_date for other in self.rests_on)

    @property
    def all_in_date(self) -> int:
        """Whether its gauge, and those of the readings that its verdict rests on, were in date."""
        return min(self.in_date, *self.rested_in_date, 1)

    @property
    def doubt(self) -> int:
        return int(self.odd + sum(self.rested) > 0)

    @property
    def contradicted(self) -> int:
        return int(sum(self.against) > 0)

    @property
    def no_drive(self) -> int:
        return max(self.unjudged_low, self.unjudged_high)

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
    def good(self) -> str:
        """What is said of it where it clears its limits."""
        return NOT_BELIEVABLE if self.doubt else WITHIN

    @property
    def none(self) -> str:
        """What is said of it where it has no limit, or wasn't read."""
        return self._given(NOT_BELIEVABLE if self.doubt else NO_LIMIT)

    @property
    def barred(self) -> str:
        """What is said of it where a limit to drive with is missing and it needs one."""
        return self._given(self._believed(NO_DRIVE_LIMIT))

    @property
    def drive_none(self) -> str:
        """What is said of it where it has no do-not-drive limit, or wasn't read."""
        return self._given(self._believed(NO_DRIVE_LIMIT if self.no_drive else self.danger_none))

    def _given(self, word: str) -> str:
        return self.blank if isinstance(self.judged, str) or isinstance(self.u_shown, str) else word

    @property
    def blank(self) -> str:
        return COULD_NOT if self.gave_up else NOT_MEASURED

    @property
    def service_word(self) -> str:
        return self.service.word(self.u_shown)

    @property
    def danger_word(self) -> str:
        return NO_DRIVE_LIMIT if self.no_drive else self.danger_held

    @property
    def danger_held(self) -> str:
        word = self.danger.word(self.u_shown)
        return self.danger_none if word == NO_LIMIT else word

    @property
    def danger_none(self) -> str:
        """Where no side has a limit to drive with, the service limits alone concern it."""
        return NO_LIMIT if isinstance(self.service.margin, str) else WITHIN

    @property
    def service_believed(self) -> str:
        return self._believed(self.service_word)

    @property
    def danger_believed(self) -> str:
        return self._believed(self.danger_word)

    def _believed(self, word: str) -> str:
        return NOT_BELIEVABLE if self.doubt and word not in BAD else word

    @property
    def verdict(self) -> str:
        return self._verdict(self.service_believed, self.recorded)

    @property
    def drive(self) -> str:
        """The word that concerns driving."""
        return self._verdict(self.danger_believed, self.recorded)

    @property
    def noted(self) -> str:
        if not isinstance(self.si, float):
            return self.blank
        return NOT_BELIEVABLE if self.doubt else RECORDED

    @property
    def beside(self) -> str:
        """What stands beside its box: the verdict; where a good reading contradicts another, that."""
        return CONTRADICTS if self.contradicted and self.verdict in GOOD else self.verdict

    def _verdict(self, word: str, recorded: bool) -> str:
        if recorded:
            return self.noted
        return self._given(word)


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
