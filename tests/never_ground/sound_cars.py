"""Sound cars, and what a mechanic with honest gauges reads of them.

Real nitrogen (CoolProp: Span and others 2000), which gains and loses heat at a rate of its own; the rest are
the definitions of pressure, flow and wear. Nothing of the program computes here: it gives the datum of the car
(`JobRecord`) and the units of its boxes. Ranges marked "ours" are common practice or invented, no source.

Inside: SI, pressures absolute; readings are in the shown unit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from random import Random

from estimator.limits.judging.check_rows import check_rows
from estimator.quantities import UNITS
from estimator.records import Accumulator, JobRecord, System
from tests.never_ground.charge import Charge
from tests.never_ground.honest_gauges import Gauges
from tests.real_nitrogen import density, pressure, settled_after_top_up

ATMOSPHERE, PSI, MM, G = 101325.0, 6894.757293168, 1e-3, 9.80665
STROKE_S, HOLD_S = 7.0, 1800.0  # 2 s on, 5 s off; 30 min, as the checks say


@dataclass(frozen=True)
class Truth:
    """How a sound car differs from its datum. The defaults are a car exactly as its maker states."""

    loss: float = 0.02  # of the precharge
    ambient: float = 293.15
    leak: float = 1.0  # of the normal clearance leakage
    stroke: float = 1.15  # of travel and swell of the hoses: the fluid compressed, the calipers' swell (ours)
    delivery: float = 1.0  # of the pump
    relaxation_s: float = 60.0
    drift: float = 0.0  # kelvin that the shell warms during the hold


def application(record: JobRecord, system: str) -> float:
    """What one application takes from a system: its pistons' travel, its hoses' swell at working pressure [m³]."""
    pistons = sum(
        item.pistons * math.pi / 4 * item.bore.si**2 * item.travel.si
        for item in record.car.brakes
        if item.source == system
    )
    return pistons + sum(item.length.si * item.swell.si for item in record.car.hoses if item.source == system)


def shells_of(record: JobRecord, system: str, truth: Truth) -> list[Charge]:
    found = []
    for item in record.car.accumulators:
        if item.system == system:
            found.append(Charge(item.volume.si, precharge(item, truth), truth.ambient, truth.relaxation_s))
    return found


def precharge(item: Accumulator, truth: Truth) -> float:
    """The gas as it is now, at the temperature of the day: its density is that of the maker's figure, less the loss."""
    at_reference = (item.precharge.si + ATMOSPHERE) * (1 - truth.loss)
    return pressure(density(at_reference, item.precharge_temperature.si), truth.ambient)


def count(record: JobRecord, system: System, truth: Truth, cut_out: float, lamp: float) -> int:
    """Applications from a settled charge until the lamp lights, heat flowing back between them."""
    shells = shells_of(record, system.id, truth)
    for shell in shells:
        shell.settle(shell.at(cut_out, truth.ambient))
    stroke = application(record, system.id) * truth.stroke / len(shells)
    done = 0
    while done < 200:
        if not all([shell.move(stroke, 0.0) for shell in shells]):
            return done
        done += 1
        if min(shell.pressure for shell in shells) <= lamp:
            return done
        for shell in shells:
            shell.move(0.0, STROKE_S)
    return done


def charge_seconds(record: JobRecord, system: System, truth: Truth, cut_out: float) -> float:
    """From a gauge at zero to cut-out, the pump at idle, the gas warming as it is pressed together."""
    pump, shells = system.pump, shells_of(record, system.id, truth)
    turns_per_s = pump.idle_speed.si * pump.drive_ratio.si
    flow = pump.displacement.si * turns_per_s * pump.volumetric_efficiency.si * truth.delivery - system.leakage.si
    step, seconds = 0.5, 0.0
    while shells[0].pressure < cut_out:
        for shell in shells:
            shell.move(-flow * step / len(shells), step)
        seconds += step
    return seconds


def hold(record: JobRecord, system: System, truth: Truth, settled: float) -> float:
    """What is left of a settled pressure 30 min later, with normal leakage and the shell's warming."""
    shells = shells_of(record, system.id, truth)
    lost = system.leakage.si * truth.leak * HOLD_S / len(shells)
    shell = shells[0]
    volume = shell.at(settled, truth.ambient) + lost
    return pressure(shell.mass / volume, truth.ambient + truth.drift)


def settled(system: System, truth: Truth, cut_out: float) -> float:
    """To what a top-up from cut-in falls back: pressed together without heat, then cooled to the shell's temperature."""
    return settled_after_top_up(system.cut_in.si + ATMOSPHERE, cut_out, truth.ambient)


def drawn(record: JobRecord, rng: Random) -> Truth:
    """A sound car: gas lost less than calls for a recharge, settings within the maker's windows (three standard deviations
    to their ends), wear within limits. All ranges ours."""
    return Truth(
        loss=rng.uniform(0.0, 0.14),
        ambient=rng.uniform(283.15, 303.15),
        leak=rng.uniform(0.3, 1.5),
        stroke=rng.uniform(1.0, 1.3),
        delivery=rng.uniform(0.93, 1.05),
        relaxation_s=rng.uniform(30.0, 120.0),
        drift=rng.uniform(-4.0, 4.0),
    )


def readings(record: JobRecord, rng: Random | None = None) -> dict[str, tuple[float | str, str]]:
    """By the reference of each check's row: what stands in its box, in the shown unit, and the gauge's id ("" for none).

    Without `rng`: the car exactly as its maker states, through gauges without error. With it one valve of ten was on the
    bench (ours), which is only done on demand.
    """
    found = _readings(record, rng)
    if rng is not None and rng.random() > 0.1:
        found.pop("valve-tilt.car", None)
    return found


def _readings(record: JobRecord, rng: Random | None) -> dict[str, tuple[float | str, str]]:
    truth = Truth() if rng is None else drawn(record, rng)
    gauges = Gauges(record, rng)
    true = true_values(record, truth, rng)
    found: dict[str, tuple[float | str, str]] = {}
    for row in check_rows(record.car, record.shop.show):
        kind = row.check.kind
        if kind in ("look", "family", "text"):
            words = {"look": "no fault found", "family": record.car.fluid.family, "text": "KR-1187"}
            found[row.ref] = (words[kind], "")
            continue
        if row.check.unasked and row.ref not in true:
            continue  # of the first ten minutes: tests/faulty_cars reads them
        unit = UNITS[getattr(record.shop.show, row.check.quantity)]
        si = true[row.ref]
        gauge = gauges.of(row) if row.check.measured else None
        shown = (gauges.shows(gauge, si) if gauge else si) - unit.offset
        found[row.ref] = (round(shown / unit.factor, 6), gauge.id if gauge else "")
    return found


def true_values(record: JobRecord, truth: Truth, rng: Random | None) -> Mapping[str, float]:
    """The true value of every number, SI, pressures as a perfect gauge reads them."""
    car = record.car
    found: dict[str, float] = {}

    def within(low: float, high: float) -> float:
        """A setting: normal about the middle of its window, three standard deviations to its ends."""
        middle, half = (low + high) / 2, (high - low) / 2
        return middle if rng is None else middle + half * max(-1.0, min(1.0, rng.gauss(0, 1 / 3)))

    def share(low: float, high: float) -> float:
        return low + (high - low) * 0.3 if rng is None else rng.uniform(low, high)

    def window(check: str, place: str) -> tuple[float, float]:
        datum = next(item for item in car.limits if item.check == check and (place in item.at or not item.at))
        low, high = datum.service_low, datum.service_high
        return (low.si if low else 0.0), (high.si if high else math.inf)

    for item in car.accumulators:
        found[f"gas-temperature.{item.id}"] = truth.ambient + (0.0 if rng is None else rng.uniform(-1.0, 1.0))
        found[f"precharge.{item.id}"] = precharge(item, truth) - ATMOSPHERE
        found[f"accumulator-age.{item.id}"] = (
            share(0.5, 0.9 * item.most_age.si / UNITS["years"].factor) * UNITS["years"].factor
        )
    for system in car.systems:
        _pressures(record, system, truth, within, window, share, found)
    _wheels(record, within, window, share, found)
    found["parking-brake-travel.car"] = share(0.4, 0.9) * window("parking-brake-travel", "car")[1]
    found["pedal-movement.car"] = within(*window("pedal-movement", "car"))
    if any(item.check == "pedal-circuit-sink" for item in car.limits):
        found["pedal-circuit-sink.pedal-circuit"] = share(0.0, 0.8) * window("pedal-circuit-sink", "pedal-circuit")[1]
    # Glycol of class 4 in use: from well above the point of renewal to what a fresh bottle gives (ours, from memory).
    found["fluid-boiling-point.car"] = 273.15 + (222.0 if rng is None else rng.uniform(200.0, 245.0))
    # What runs into the pan comes out of the same leakage.
    leaked = sum(system.leakage.si for system in car.systems) * truth.leak * HOLD_S
    found["collected-leakage.car"] = leaked * (0.2 if rng is None else rng.uniform(0.0, 0.5))
    if car.deceleration_valve:
        angle, tolerance = car.deceleration_valve.ramp_angle.si, car.deceleration_valve.tolerance.si
        found["valve-tilt.car"] = within(angle - tolerance, angle + tolerance)
    # 20 mph, build-up of a tenth to a quarter of a second, 0.65 to 0.85 g (ours).
    speed, g, build_up = 20 * 0.44704, share(0.65, 0.85), share(0.1, 0.25)
    found["road-stop.car"] = speed * speed / (2 * g * G) + speed * build_up / 2
    for axle in ("front-axle", "rear-axle"):
        found[f"road-balance.{axle}"] = share(0.0, 0.14)
    return found


def _wheels(record, within, window, share, found) -> None:
    """Wear, run-out and bolts at each wheel."""
    for wear in record.car.wear:
        for side in ("left", "right"):
            wheel = f"{wear.axle.split('-')[0]}-{side}"
            found[f"rotor-thickness.{wheel}"] = wear.rotor_new.si - share(0.0, 0.9) * (
                wear.rotor_new.si - wear.rotor_discard.si
            )
            found[f"pad-thickness.{wheel}"] = wear.pad_new.si - share(0.0, 0.9) * (wear.pad_new.si - 3.0 * MM)
    for wheel in ("front-left", "front-right", "rear-left", "rear-right"):
        found[f"hub-play.{wheel}"] = share(0.0, 0.8) * window("hub-play", wheel)[1]
        found[f"rotor-run-out.{wheel}"] = share(0.0, 0.8) * window("rotor-run-out", wheel)[1]
        found[f"wheel-torque.{wheel}"] = within(*window("wheel-torque", wheel))


def _pressures(record, system, truth, within, window, share, found) -> None:
    """What the gauges of one system would show, from its settings and its gas."""
    name = system.id
    cut_out, cut_in, lamp = (within(*window(check, name)) for check in ("cut-out", "cut-in", "lamp-pressure"))
    for number in (1, 2, 3):
        jitter = 0.0 if truth == Truth() else share(-1.0, 1.0) * 5 * PSI
        found[f"cut-out.{name}.{number}"], found[f"cut-in.{name}.{number}"] = cut_out + jitter, cut_in + jitter
    found[f"lamp-pressure.{name}"] = lamp
    found[f"distribution-output.{name}"] = within(*window("distribution-output", name))
    start = settled(system, truth, cut_out + ATMOSPHERE)
    found[f"hold-start.{name}"] = start - ATMOSPHERE
    found[f"hold.{name}"] = hold(record, system, truth, start) - ATMOSPHERE
    found[f"hold-start-temperature.{name}"] = truth.ambient
    found[f"hold-end-temperature.{name}"] = truth.ambient + truth.drift
    found[f"charge-time.{name}"] = charge_seconds(record, system, truth, cut_out + ATMOSPHERE)
    pump = system.pump
    found[f"cycle-interval.{name}"] = 600.0  # no start in 10 min
    found["idle-speed.car"] = pump.idle_speed.si
    # "Settled at cut-out": topped up once more or not before the engine is stopped.
    counted_from = start + share(0.0, 1.0) * (cut_out + ATMOSPHERE - start)
    found[f"applications.{name}"] = float(count(record, system, truth, counted_from, lamp + ATMOSPHERE))
