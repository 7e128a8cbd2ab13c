"""How long a charged system holds while it leaks. Absolute pressures."""

from __future__ import annotations

from estimator.hydraulics.domain import positive, rising, within
from estimator.hydraulics.gas import LOST_PRECHARGE_PA


def hold_time(
    volume_m3: float, precharge_pa: float, lower_pa: float, upper_pa: float, leakage_at_upper_m3_s: float
) -> float:
    """How long a settled charge holds with the pedal untouched, when leakage is in proportion to the pressure.

    t = V0 p0 p2 (1/p1² - 1/p2²) / (2 Q2)

    Args:
        volume_m3: gas volume at precharge, V0 [m³]
        precharge_pa: absolute precharge at the temperature of the gas, p0 [Pa]
        lower_pa: absolute pressure at the end, p1 [Pa], not below the precharge
        upper_pa: absolute pressure at the start, p2 [Pa]
        leakage_at_upper_m3_s: leakage at p2, Q2 [m³/s]
    Returns:
        time [s]
    Valid: constant temperature, laminar leakage, ideal gas: 1.7 to 8.3 % longer than with real nitrogen at
        1,100 to 2,400 psi.
    Raises:
        DomainError: a lost precharge, or one above the lower pressure; no leakage; p1 not below p2
    [Source: fox-mcdonald]
    Example:
        >>> round(hold_time(0.75e-3, 7e6, 13.9e6, 15.2e6, 0.05e-6) / 60, 1)
        11.3
    """
    positive(volume_m3=volume_m3, leakage_at_upper_m3_s=leakage_at_upper_m3_s)
    _check_charge(precharge_pa, lower_pa, upper_pa)
    ends = 1.0 / lower_pa**2 - 1.0 / upper_pa**2
    return volume_m3 * precharge_pa * upper_pa * ends / (2.0 * leakage_at_upper_m3_s)


def _check_charge(precharge: float, lower: float, upper: float) -> None:
    rising("the pressure falls as it leaks", lower_pa=lower, upper_pa=upper)
    within(LOST_PRECHARGE_PA, lower, "from a charge that isn't lost to the lower pressure", precharge_pa=precharge)
