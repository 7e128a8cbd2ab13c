"""The hypotheses of the pedal, and of the wheels and the deceleration valve. SI units.

How far each cause moves a reading is ours, common practice, no source, where no formula of hydraulics/ says it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from estimator.diagnosis.causes.hypotheses import At, Hypothesis, Shared, cells, five_digits, rounded
from estimator.diagnosis.causes.looks import fault_seen
from estimator.diagnosis.causes.setup import Expected, Figures
from estimator.errors import DomainError
from estimator.hydraulics.pedal import air_compression, pedal_travel
from estimator.places import AXLES, PEDAL_CIRCUIT, WHEELS, axle_of
from estimator.records import Car

ML, MM, G = 1e-6, 1e-3, 9.80665
MOVEMENT, SINK = "pedal-movement", "pedal-circuit-sink"
PEDAL_LOOKS = ("pedal-fluid-level", "pedal-circuit-grip", "road-pedal", "first-pedal")
MOVEMENT_SPREAD, SINK_SPREAD = 3 * MM, 1.5 * MM
AIR = cells(0.5 * ML, 1.0 * ML, 1.8 * ML, 2.8 * ML, 4.5 * ML)
SINKS = cells(8 * MM, 16 * MM, 32 * MM, 60 * MM, log=True)
STOP_DECELERATION, BUILD_UP_S, STOP_SPREAD = 0.75 * G, 0.17, 0.5
BALANCE, BALANCE_SEIZED, BALANCE_DRAGS = Expected(0.07, 0.045), Expected(0.40, 0.18), Expected(0.12, 0.09)
TILT_CLOSED, TILT_OPEN = math.radians(3), math.radians(9)


def pedal_hypotheses(figures: Figures, car: Car, priors: Mapping[tuple[str, str], float]) -> tuple[Hypothesis, ...]:
    """Return the hypotheses of the pedal and its circuit."""
    movement, sink = _movement(figures), _sink(figures)
    sound = {name: item for name, item in ((MOVEMENT, movement), (SINK, sink)) if item is not None}
    looks = PEDAL_LOOKS if car.places.pedal_circuit else PEDAL_LOOKS[2:]

    def made(mode: str, place: str, prior: float, shifts: Mapping[str, Expected] = {}) -> Hypothesis:
        readings = {}
        for check, item in sound.items():
            shift = shifts.get(check)
            readings[check] = rounded(
                item if shift is None else Expected(item.mean + shift.mean, math.hypot(item.sd, shift.sd))
            )
        modes = [mode] if mode else []
        seen = {check: fault_seen(check, modes) for check in looks}
        causes = (At(mode, place, place),) if mode else ()
        return Hypothesis(causes, five_digits(prior), readings, seen, Shared(leak=int(mode == "pedal-circuit-leaks")))

    found = [made("", "", max(0.0, 1 - sum(priors.values())))]
    for (mode, _), prior in priors.items():
        place = PEDAL_CIRCUIT if mode.startswith("pedal-") and mode != "pedal-linkage" else "car"
        found += [made(mode, place, prior * share, shifts) for share, shifts in _pedal_shifts(figures, mode, movement)]
    return tuple(found)


def _movement(figures: Figures) -> Expected | None:
    window = figures.window(f"{MOVEMENT}.car", MOVEMENT_SPREAD)
    if window is not None:
        return window
    least, most = (figures.row(f"yardsticks.{MOVEMENT}-{end}") for end in ("least", "most"))
    return (
        None
        if least is None or most is None
        else Expected((least + most) / 2, max((most - least) / 4, MOVEMENT_SPREAD))
    )


def _sink(figures: Figures) -> Expected | None:
    most = figures.limit(f"{SINK}.{PEDAL_CIRCUIT}", "service_high")
    return None if most is None else Expected(0.35 * most, max(0.3 * most, SINK_SPREAD))


def _pedal_shifts(
    figures: Figures, mode: str, movement: Expected | None
) -> Iterator[tuple[float, Mapping[str, Expected]]]:
    """The share of a mode's prior and how far it moves each reading, severity by severity."""
    half = 10 * MM if movement is None else max(2.5 * movement.sd, 6 * MM)
    if mode == "pedal-air":
        for cell in AIR:
            least, middle, most = (_air_travel(figures, air) for air in (cell.low, cell.mid, cell.high))
            yield cell.share, {MOVEMENT: _between(least, middle, most), SINK: Expected(0.5 * MM, 1 * MM)}
    elif mode in ("pedal-cylinder-leaks", "pedal-circuit-leaks"):
        moved = Expected(1 * MM, 2 * MM) if mode == "pedal-cylinder-leaks" else Expected(5 * MM, 5 * MM)
        for cell in SINKS:
            yield cell.share, {SINK: _between(cell.low, cell.mid, cell.high), MOVEMENT: moved}
    elif mode == "buffer-worn":
        for cell in cells(half, 1.8 * half, 3 * half):
            yield cell.share, {MOVEMENT: _between(cell.low, cell.mid, cell.high)}
    else:
        least = -min(2 * half, (movement.mean if movement else half) * 0.9)
        for low, high in ((least, -0.9 * half), (0.9 * half, 1.7 * half), (1.7 * half, 3 * half)):
            yield 1 / 3, {MOVEMENT: _between(low, (low + high) / 2, high)}


def _between(low: float, middle: float, high: float) -> Expected:
    return Expected(middle, abs(high - low) / math.sqrt(12))


def _air_travel(figures: Figures, air: float) -> float:
    """How much further the pedal goes for air in its circuit, by Boyle; as much as is common where its data are missing."""
    pressure, bore, ratio = (figures.row(f"pedal.{name}") for name in ("pressure", "bore", "ratio"))
    if pressure is None or bore is None or ratio is None:
        return 12.5 * MM * air / ML
    try:
        return pedal_travel(air_compression(air, pressure), bore, ratio)
    except DomainError:
        return 12.5 * MM * air / ML


def wheel_hypotheses(figures: Figures, car: Car, priors: Mapping[tuple[str, str], float]) -> tuple[Hypothesis, ...]:
    """Return the hypotheses of the brakes at the wheels and of the deceleration valve; a wheel's cause may be at any wheel."""
    sound = _wheels_sound(figures, car)
    total = sum(prior * (len(WHEELS) if kind == "wheel" else 1) for (_, kind), prior in priors.items())
    found = [_of_wheels("", "car", max(0.0, 1 - total), sound)]
    for (mode, kind), prior in priors.items():
        places = WHEELS if kind == "wheel" else ("car",)
        for place in places:
            for share, changed in _wheel_shifts(mode, place, sound):
                found.append(_of_wheels(mode, place, prior * share, sound | changed))
    return tuple(found)


def _wheels_sound(figures: Figures, car: Car) -> dict[str, Expected]:
    sound: dict[str, Expected] = {f"road-balance.{axle}": BALANCE for axle in AXLES}
    speed = figures.row("yardsticks.road-stop-speed")
    if speed is not None:
        stop = speed * speed / (2 * STOP_DECELERATION) + speed * BUILD_UP_S / 2
        sound["road-stop"] = Expected(stop, STOP_SPREAD)
    valve = car.deceleration_valve
    if valve is not None and valve.ramp_angle is not None:
        sd = math.radians(1) if valve.tolerance is None else max(valve.tolerance.si / 2, math.radians(0.3))
        sound["valve-tilt"] = Expected(valve.ramp_angle.si, sd)
    return sound


def _of_wheels(mode: str, place: str, prior: float, readings: Mapping[str, Expected]) -> Hypothesis:
    modes = [mode] if mode else []
    dragging = WHEELS if place == "car" else (place,)
    looks = {f"drag.{wheel}": fault_seen("drag", modes if wheel in dragging else []) for wheel in WHEELS}
    looks |= {check: fault_seen(check, modes) for check in ("road-pull", "first-signs")}
    rows = {check: rounded(item) for check, item in readings.items()}
    return Hypothesis((At(mode, place, place),) if mode else (), five_digits(prior), rows, looks)


def _wheel_shifts(mode: str, place: str, sound: Mapping[str, Expected]) -> Iterator[tuple[float, dict[str, Expected]]]:
    """The share of a mode's prior and the readings that it changes, severity by severity."""
    stop, tilt = sound.get("road-stop"), sound.get("valve-tilt")

    def stops(factor: float) -> dict[str, Expected]:
        return {} if stop is None else {"road-stop": Expected(stop.mean * factor, stop.sd)}

    def tilts(mean: float, sd: float) -> dict[str, Expected]:
        return {} if tilt is None else {"valve-tilt": Expected(mean, sd)}

    if mode == "decel-valve-closed":
        for way in (0.5, 1.0):
            yield 0.5, stops(1.06 + 0.06 * way) | tilts(TILT_CLOSED * way, TILT_CLOSED / 2)
    elif mode == "decel-valve-open":
        yield 1.0, stops(0.97) | tilts((tilt.mean if tilt else 0.0) + TILT_OPEN, TILT_OPEN / 2)
    elif place in WHEELS:
        balance = BALANCE_SEIZED if mode == "caliper-seized" else BALANCE_DRAGS
        yield 1.0, stops(1.04) | {f"road-balance.{axle_of(place)}": balance}
    else:
        yield 1.0, {}
