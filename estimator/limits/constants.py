"""Constants that formulas name instead of holding a number. Fits are those of `hydraulics/`, one number in one place."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.hydraulics import accumulator, gas


@dataclass(frozen=True)
class Constant:
    ref: str
    value: float
    why: str


CONSTANTS = (
    Constant("two", 2.0, "both sides of a disc; the coverage factor k = 2; halves"),
    Constant("three", 3.0, "the variance of a rectangular distribution of half-width a is a²/3"),
    Constant("four", 4.0, "area of a circle from its diameter, πd²/4; weight of the likely value of three"),
    Constant("six", 6.0, "three-point estimate: (low + 4 likely + high)/6"),
    Constant("z80", 0.8416, "the standard normal deviate that 80 % lie below"),
    Constant("atmosphere", gas.ATMOSPHERE_PA, "standard atmosphere, Pa"),
    Constant("gravity", 9.80665, "standard acceleration of free fall, m/s²"),
)
