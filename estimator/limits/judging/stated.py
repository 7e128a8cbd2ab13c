"""The standard uncertainty of a reading: that of its gauge, of the way it was made, and what is stated of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.boxes.entries import StatedBoxes
from estimator.limits.constants import BLEED_SHARE, BLEED_U_PA, FIRST_CHARGE_U_PA
from estimator.limits.working import Si

BLEED_DOWN, FIRST_CHARGE, LOG = "bleed-down", "first charge", "log"


@dataclass(frozen=True)
class Stated:
    """What is stated of a reading, in SI: how it was made, what that way adds, the uncertainty that is stated."""

    how: str = ""
    method_u: float = 0.0
    u: float = 0.0

    def with_gauge(self, gauge_u: float) -> float:
        """Return the standard uncertainty of the reading: never less than what its gauge and the way of reading give.

        >>> Stated("bleed-down", 3.0).with_gauge(4.0), Stated("log", u=9.0).with_gauge(4.0), Stated("log", u=1.0).with_gauge(4.0)
        (5.0, 9.0, 4.0)
        """
        return max(math.sqrt(gauge_u * gauge_u + self.method_u * self.method_u), self.u)


def stated(boxes: StatedBoxes, phase: str, si: Si, factor: float) -> Stated:
    """Return what is stated of the reading of a phase; `factor` leads from the unit of its box to SI.

    A log without an uncertainty counts as a bleed-down by hand.
    """
    how, number = boxes.of(phase)
    way, u = how.casefold(), number * factor if isinstance(number, float) else 0.0
    if isinstance(si, str):
        return Stated(how, 0.0, u)
    if way == BLEED_DOWN or (way == LOG and u == 0):
        return Stated(how, math.sqrt(BLEED_U_PA * BLEED_U_PA + (BLEED_SHARE * si) * (BLEED_SHARE * si)), u)
    return Stated(how, FIRST_CHARGE_U_PA if way == FIRST_CHARGE else 0.0, u)
