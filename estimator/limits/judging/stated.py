"""The standard uncertainty of a reading: that of its gauge, of the way it was made, and what is stated of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.boxes.entries import Number, StatedBoxes
from estimator.limits.constants import BLEED_SHARE, BLEED_U_PA, CERTIFICATE_DAYS, FIRST_CHARGE_U_PA, UNCERTIFIED_U_PA
from estimator.limits.working import Si

BLEED_DOWN, FIRST_CHARGE, LOG, CERTIFICATE = "bleed-down", "first charge", "log", "bench certificate"
# A bench certificate is of the gauge on the bench: that gauge's uncertainty and no more.
NOT_AT_THE_VALVE = (FIRST_CHARGE, BLEED_DOWN, CERTIFICATE)
CERTIFIED_BY = ("serial", "removed", "dated")


@dataclass(frozen=True)
class Certificate:
    """A bench certificate: what was read on the shell, the same without hyphens, its words, its parts between commas without
    spaces; the words of its own serial, the same without spaces, how often it is words or a part of what was read; its days after
    the shell's removal, and how many days old it is; less than 0 where that can't be told."""

    shell: str = ""
    bare: str = ""
    plate: str = ""
    parts: str = ""
    serial: str = ""
    joined: str = ""
    found: int = 0
    lag: float = 0.0
    age: float = 0.0

    @property
    def certified(self) -> int:
        """Whether it is in order."""
        return int(not self.wrong)

    @property
    def wrong(self) -> str:
        """What is wrong with it."""
        if not self.serial or not self.found:
            return "its serial isn't the one read on this shell" if self.serial else "no serial entered from it"
        if self.lag < 0:
            return "not dated, or before the day the shell was removed"
        if self.age < 0:
            return "dated after the day of the reading"
        return "" if self.age <= CERTIFICATE_DAYS else f"more than {CERTIFICATE_DAYS} days old"


@dataclass(frozen=True)
class Stated:
    """What is stated of a reading, in SI: how it was made, its uncertainty, and what the way of reading adds."""

    how: str = ""
    typed_u: Number = ""
    u: float = 0.0
    by_hand: int = 0
    bleed_u: float = 0.0
    method_u: float = 0.0
    open_u: float = 0.0
    certificate: Certificate | None = None

    @property
    def uncertified(self) -> str:
        """What is wrong with its bench certificate."""
        return self.certificate.wrong if self.certificate else ""

    def with_gauge(self, gauge_u: float) -> float:
        """Return the standard uncertainty of the reading: never less than what its gauge and the way of reading give.

        >>> [told.with_gauge(4.0) for told in (Stated("bleed-down", method_u=3.0), Stated("log", u=9.0), Stated("log", u=1.0))]
        [5.0, 9.0, 4.0]
        """
        return max(math.sqrt(gauge_u * gauge_u + self.method_u * self.method_u), self.u)


def stated(boxes: StatedBoxes, phase: str, si: Si, factor: float, certificate: Certificate | None = None) -> Stated:
    """Return what is stated of the reading of a phase; `factor` leads from the unit of its box to SI.

    A log without an uncertainty counts as a bleed-down by hand; a bench certificate with something wrong tells nothing.
    """
    how, number = boxes.of(phase)
    way, u = how.casefold(), number * factor if isinstance(number, float) else 0.0
    share = 0.0 if isinstance(si, str) else BLEED_SHARE * si
    bleed_u = 0.0 if isinstance(si, str) else math.sqrt(BLEED_U_PA * BLEED_U_PA + share * share)
    by_hand = way == BLEED_DOWN or (way == LOG and u == 0)
    open_u = UNCERTIFIED_U_PA if way == CERTIFICATE and certificate is not None and certificate.wrong else 0.0
    other_u = FIRST_CHARGE_U_PA if way == FIRST_CHARGE else open_u
    return Stated(how, number, u, int(by_hand), bleed_u, bleed_u if by_hand else other_u, open_u, certificate)
