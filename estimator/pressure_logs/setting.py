"""What the figures of a log rest on: the car's system, the shop's gauge."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from estimator.errors import InputError, InputProblem, nearest
from estimator.intake.car_rules import car_rules
from estimator.intake.toml_files import load_toml
from estimator.limits.judging.box_values import GaugeRow
from estimator.pressure_logs.figures import Setting
from estimator.records import Car, Gauge, Shop
from estimator.records.shop import GasSettling
from estimator.written_quantities import parse_quantity


@dataclass(frozen=True)
class Measured:
    """The system and gauge of a log, and what its figures rest on; no gauge where no shop is known."""

    system: str
    accumulators: tuple[str, ...]
    gauge: Gauge | None
    pressure_unit: str
    setting: Setting


def measured(
    car_toml: Path, shop_toml: Path | None, system: str, accumulator: str, gauge: str, settling: str
) -> Measured:
    """Return the system and gauge of a log.

    Args:
        car_toml: the car
        shop_toml: the shop; else shop.toml beside the car, else none
        system: id of the system, or its number
        accumulator: id of the one that isn't isolated; else all of the system
        gauge: id of the gauge; else the shop's usual one for pressure
        settling: time constant of the gas, with its unit; else that of the shop, else 3 min
    Raises:
        InputError: a mistake in a file, or no such system, accumulator or gauge
    """
    car = load_toml(car_toml, Car)
    if wrong := [InputProblem(str(car_toml), *item) for item in car_rules(car)]:
        raise InputError(wrong)
    beside = car_toml.parent / "shop.toml"
    shop_toml = shop_toml or (beside if beside.is_file() else None)
    shop = load_toml(shop_toml, Shop) if shop_toml else None
    return measured_of(car, car_toml, shop, shop_toml, system, accumulator, gauge, settling)


def measured_of(
    car: Car,
    car_toml: Path,
    shop: Shop | None,
    shop_toml: Path | None,
    system: str,
    accumulator: str = "",
    gauge: str = "",
    settling: str = "",
) -> Measured:
    """Return the system and gauge of a log, of a car and a shop that are known; as `measured` does."""
    name = _system(car, car_toml, system)
    own = [item for item in car.accumulators if item.system == name and accumulator in ("", item.id)]
    if not own:
        names = [item.id for item in car.accumulators if item.system == name]
        found_ = f'no accumulator "{accumulator}" in {name}{nearest(accumulator, names)}'
        allowed = f"allowed: {', '.join(names)}"
        raise InputError([InputProblem(str(car_toml), "[[accumulators]]", found_, allowed, "correct --accumulator")])
    found = _gauge(shop, shop_toml, gauge) if shop and shop_toml else None
    lamp = next(item.lamp for item in car.systems if item.id == name)
    volumes = [item.volume.si for item in own if item.volume]
    setting = Setting(
        gas_volume=sum(volumes) if len(volumes) == len(own) else None,
        lamp=lamp.si if lamp else None,
        gauge_u=GaugeRow(found, 0, 0).u_si if found else 0.0,
        gauge_top=found.span_si if found else math.inf,
        settling=_settling(settling) if settling else (shop.gas_settling if shop else GasSettling()).time_constant.si,
    )
    unit = shop.show.pressure if shop else "psi"
    return Measured(name, tuple(item.id for item in own), found, unit, setting)


def _settling(text: str) -> float:
    try:
        found = parse_quantity(text, "time").si
    except ValueError as error:
        what, _, allowed = str(error).partition("; ")
        raise InputError([InputProblem("--settling", "the option", what, allowed or "enter a time")]) from None
    if not 1.0 <= found <= 36_000.0:
        raise InputError([InputProblem("--settling", "the option", f'"{text}"', "allowed: 1 s to 10 h")])
    return found


def _system(car: Car, path: Path, system: str) -> str:
    names = [item.id for item in car.systems]
    wanted = next((name for name in names if name in (system, f"system-{system}")), None)
    if wanted is None:
        found = f'no system "{system}"{nearest(system, names)}'
        raise InputError(
            [InputProblem(str(path), "[[systems]]", found, f"allowed: {', '.join(names)}", "correct --system")]
        )
    return wanted


def _gauge(shop: Shop, path: Path, gauge: str) -> Gauge | None:
    gauges = {item.id: item for item in shop.gauges if item.measures == "pressure"}
    if not gauge:
        return next((item for item in gauges.values() if item.usual), None)
    if gauge not in gauges:
        found = f'no pressure gauge "{gauge}"{nearest(gauge, gauges)}'
        raise InputError(
            [InputProblem(str(path), "[[gauges]]", found, f"allowed: {', '.join(gauges)}", "correct --gauge")]
        )
    return gauges[gauge]
