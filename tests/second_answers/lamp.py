"""The pressure at which the low-pressure lamp has to light: enough strokes must still come, cold and hot.

Absolute pressures. Both criteria stand beside "one half of normal supply pressure", a yardstick of facts/.
"""

from __future__ import annotations

from estimator.errors import DomainError
from estimator.hydraulics.accumulator import EMPTYING_SHARE, fast_usable_volume
from estimator.hydraulics.applications import pressure_after_volume
from estimator.hydraulics.domain import not_negative, positive


def lamp_pressure_for_strokes(
    volume_m3: float,
    precharge_pa: float,
    secondary_pa: float,
    cut_out_pa: float,
    application_m3: float,
    strokes: int,
    temperature_k: float,
) -> float:
    """The lowest pressure at which the lamp may light so that the strokes still to come end at secondary performance.

    charged = V0 p0/p2
    at_floor = charged + fast_usable_volume(secondary, cut-out)
    at_lamp = at_floor - strokes v
    p = pressure_after_volume(drawn = at_lamp - charged, near = secondary)

    Args:
        volume_m3: gas volume at precharge [m³]
        precharge_pa: absolute precharge at temperature_k [Pa]
        secondary_pa: absolute pressure at which secondary performance is just met [Pa]
        cut_out_pa: absolute pressure of the settled charge [Pa], to 18 MPa
        application_m3: volume of one application, v [m³]
        strokes: how many applications are still to come, the last of them at secondary performance [1]
        temperature_k: gas temperature of the settled charge [K], -40 to 110 °C
    Returns:
        absolute pressure [Pa]
    Valid: as fast_usable_volume, for a precharge below secondary_pa; above it, and whenever the pressure was come to
        slowly, the fluid may run out first: lamp_pressure takes both. Take the coldest charge here.
    Raises:
        DomainError: even from cut-out that many strokes don't end at secondary performance; as fast_usable_volume
    [Source: un-r13]
    Example:
        >>> psi = 6894.757293168
        >>> lamp = lamp_pressure_for_strokes(750.0, 1000 * psi, 700 * psi, 2200 * psi, 10.0, 5, 293.15)
        >>> round(lamp / psi)  # real nitrogen: 783
        789
    """
    positive(application_m3=application_m3)
    not_negative(strokes=strokes)
    to_floor = fast_usable_volume(volume_m3, precharge_pa, secondary_pa, cut_out_pa, temperature_k)
    drawn_at_lamp = to_floor - strokes * application_m3
    if drawn_at_lamp <= 0:
        raise DomainError(
            f"no lamp pressure is high enough: {strokes} strokes of {application_m3:g} m³ from cut-out pass "
            f"{secondary_pa:g} Pa, for the accumulator gives {to_floor:g} m³ above it; look at its precharge"
        )
    return pressure_after_volume(volume_m3, precharge_pa, cut_out_pa, drawn_at_lamp, secondary_pa, temperature_k)


def lamp_pressure_for_hot_precharge(
    volume_m3: float, hot_precharge_pa: float, application_m3: float, strokes: int
) -> float:
    """The lowest pressure at which a hot accumulator that leaked down slowly still holds the strokes to come.

    held = 0.95 V0 (1 - p0/p) = strokes v
    p = p0 / (1 - strokes v/(0.95 V0))

    Args:
        volume_m3: gas volume at precharge, V0 [m³]
        hot_precharge_pa: absolute precharge at the highest temperature in use (nitrogen.hot_precharge) [Pa]
        application_m3: volume of one application, v [m³]
        strokes: how many applications are still to come [1]
    Returns:
        absolute pressure [Pa]; below it the lamp lights when nothing is left
    Valid: 0 to 110 °C, pressures to 2,400 psi.
    Raises:
        DomainError: the accumulator can't hold that many strokes at any pressure; a volume or precharge not above 0
    [Source: span-2000]
    Example:
        >>> psi = 6894.757293168
        >>> round(lamp_pressure_for_hot_precharge(750.0, 1300 * psi, 10.0, 5) / psi)
        1398
    """
    positive(volume_m3=volume_m3, hot_precharge_pa=hot_precharge_pa, application_m3=application_m3)
    not_negative(strokes=strokes)
    share = strokes * application_m3 / (EMPTYING_SHARE * volume_m3)
    if share >= 1:
        raise DomainError(
            f"{strokes} strokes of {application_m3:g} m³ are more than an accumulator of {volume_m3:g} m³ can hold"
        )
    return hot_precharge_pa / (1.0 - share)


def lamp_pressure(
    volume_m3: float,
    precharge_pa: float,
    hot_precharge_pa: float,
    secondary_pa: float,
    cut_out_pa: float,
    application_m3: float,
    strokes: int,
    temperature_k: float,
) -> float:
    """The lowest acceptable lamp pressure: the greater of what the strokes to come need cold, and need hot.

    p = max(lamp_pressure_for_strokes, lamp_pressure_for_hot_precharge)

    Args:
        volume_m3: gas volume at precharge [m³]
        precharge_pa: absolute precharge at temperature_k, the coldest in use [Pa]
        hot_precharge_pa: absolute precharge at the highest temperature in use [Pa]
        secondary_pa: absolute pressure at which secondary performance is just met [Pa]
        cut_out_pa: absolute pressure of the settled charge [Pa], to 18 MPa
        application_m3: volume of one application [m³]
        strokes: how many applications are still to come, the last of them at secondary performance [1]
        temperature_k: coldest gas temperature in use [K], -40 to 110 °C
    Returns:
        absolute pressure [Pa]; it may lie above cut-out: then no lamp helps, and the precharge is too high
    Valid: -40 to 110 °C, 300 to 1,400 psi precharge, secondary from 400 psi, cut-out 1,800 to 2,400 psi: the strokes end
        at 98.8 % of secondary_pa or more with real nitrogen, however the lamp pressure was come to.
    Raises:
        DomainError: as its two parts
    [Source: un-r13]
    Example:
        >>> psi = 6894.757293168
        >>> round(lamp_pressure(750.0, 1000 * psi, 1300 * psi, 700 * psi, 2200 * psi, 10.0, 5, 293.15) / psi)
        1398
    """
    for_strokes = lamp_pressure_for_strokes(
        volume_m3, precharge_pa, secondary_pa, cut_out_pa, application_m3, strokes, temperature_k
    )
    return max(for_strokes, lamp_pressure_for_hot_precharge(volume_m3, hot_precharge_pa, application_m3, strokes))
