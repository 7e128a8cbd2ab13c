"""Fluid that is drained, estimated until somebody measures it: what the jobs put in, at most what the circuits hold."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from estimator.pricing.plan import Plan
from estimator.records import Car

# What all circuits of a car hold where its file doesn't say: invented, between the two cars of the demo.
INVENTED_LITERS = Decimal("5.0")
# US units of volume by their definition: NIST Special Publication 811, appendix B.8 (1 gal = 3.785411784 L).
_LITERS = {"L": "1", "mL": "0.001", "gal": "3.785411784", "qt": "0.946352946", "pt": "0.473176473"}


def capacity_liters(car: Car) -> Decimal:
    """What all circuits of a car hold together, in liters; an invented figure where the car's file doesn't say."""
    held = car.fluid.capacity
    return Decimal(f"{held.si * 1000:.6g}") if held else INVENTED_LITERS


def drained_liters(plan: Plan, lines: Iterable[str], car: Car) -> Decimal:
    """The fluid that is drained for some lines of a plan, in liters, to a tenth.

    Formula: MIN(sum of the fluid that their parts lists hold, capacity of the circuits); common practice, no source.
    Parameters: lines by reference. Returns: liters; zero where no line takes fluid.
    """
    wanted = set(lines)
    fluid = (
        part.quantity * Decimal(_LITERS[part.part.unit])
        for part in plan.parts
        if part.line.ref in wanted and part.part.unit in _LITERS and part.part.fluid_family != "any"
    )
    return min(sum(fluid, Decimal(0)), capacity_liters(car)).quantize(Decimal("0.1"))
