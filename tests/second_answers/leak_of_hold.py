"""The leakage that a hold betrays, with one accumulator."""

from __future__ import annotations

from estimator.errors import DomainError
from estimator.hydraulics.accumulator import slow_usable_volume
from estimator.hydraulics.domain import not_negative, positive
from estimator.hydraulics.gas import pressure_by_temperature_alone


def leakage_from_hold(
    volume_m3: float,
    precharge_pa: float,
    first_pressure_pa: float,
    first_temperature_k: float,
    second_pressure_pa: float,
    second_temperature_k: float,
    time_s: float,
    settled_s: float,
    settling_time_s: float,
) -> float:
    """The mean leakage that a measured hold betrays, less what the change of temperature alone explains.

    without_leak = pressure_by_temperature_alone(first pressure, first temperature, second temperature)
    lost = slow_usable_volume(second pressure, without_leak), 0 when the pressure fell no further than that
    Q = lost / t

    Args:
        volume_m3: gas volume at precharge [m³]
        precharge_pa: absolute precharge at second_temperature_k [Pa]
        first_pressure_pa: absolute pressure at the start [Pa]
        first_temperature_k: gas temperature at the start [K], 0 to 110 °C
        second_pressure_pa: absolute pressure at the end [Pa]
        second_temperature_k: gas temperature at the end [K], 0 to 110 °C
        time_s: time between the readings, t [s]
        settled_s: time between the end of charging and the first reading [s]
        settling_time_s: time that this accumulator needs to settle [s]
    Returns:
        flow [m³/s]
    Valid: both readings after the gas has settled. With 1 % of the gas volume lost: 1 to 5 % above real nitrogen at one
        temperature, within 14 % when the temperatures differ by 5 K, 25 % when by 10 K.
    Raises:
        DomainError: the first reading came too early: a quick top-up from 1800 to 2200 psi settles to 2038 psi by
            itself; as slow_usable_volume
    [Source: span-2000]
    Example:
        >>> flow = leakage_from_hold(0.75e-3, 7e6, 15e6, 293.15, 14.5e6, 293.15, 1800.0, 1200.0, 900.0)
        >>> round(flow * 1e9, 1)  # mm³/s
        6.6
    """
    positive(volume_m3=volume_m3, time_s=time_s, second_pressure_pa=second_pressure_pa)
    not_negative(settled_s=settled_s, settling_time_s=settling_time_s)
    if settled_s < settling_time_s:
        raise DomainError(
            f"settled_s is {settled_s:g}: the gas needs {settling_time_s:g} s to settle; an earlier reading takes "
            "cooling for a leak (a quick top-up from 1800 to 2200 psi settles to 2038 psi by itself)"
        )
    without_leak = pressure_by_temperature_alone(first_pressure_pa, first_temperature_k, second_temperature_k)
    if second_pressure_pa >= without_leak:
        return 0.0
    return slow_usable_volume(volume_m3, precharge_pa, second_pressure_pa, without_leak) / time_s
