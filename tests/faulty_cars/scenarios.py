"""Faults of cars by name, with the causes that they are: drawn anew for each car."""

from __future__ import annotations

import math
from collections.abc import Callable
from random import Random
from typing import NamedTuple

from tests.faulty_cars.simulated import ML, MM, Fault, Faults
from tests.never_ground.sound_cars import PSI

IDLE = 680 / 60  # turns a second, of car A


class Scenario(NamedTuple):
    """A car (A or B), its faults, and the causes (mode, place) to be named."""

    car: str
    causes: tuple[tuple[str, str], ...]
    draw: Callable[[Random], Faults]


def _log(rng: Random, low: float, high: float) -> float:
    return math.exp(rng.uniform(math.log(low), math.log(high)))


def _either(rng: Random, low: float, high: float) -> float:
    return rng.choice((-1, 1)) * rng.uniform(low, high)


def one(place: str, **what: object) -> Callable[[Random], Faults]:
    """A fault of one system, each of its figures drawn."""

    def draw(rng: Random) -> Faults:
        drawn = {name: value(rng) if callable(value) else value for name, value in what.items() if name != "looks"}
        looks = what.get("looks", {})
        return Faults({place: Fault(**drawn)}, looks=dict(looks))  # type: ignore[arg-type, call-overload]

    return draw


def both(*draws: Callable[[Random], Faults], swapped: str = "") -> Callable[[Random], Faults]:
    """Faults of several places at once."""

    def draw(rng: Random) -> Faults:
        found = [one(rng) for one in draws]
        systems: dict[str, Fault] = {}
        for item in found:
            systems |= dict(item.systems)
        shifts = {ref: by for item in found for ref, by in item.shifts.items()}
        looks = {ref: chance for item in found for ref, chance in item.looks.items()}
        return Faults(systems, shifts, looks, swapped)

    return draw


def car(
    looks: dict[str, float] | None = None, tests: dict[str, float] | None = None, **shifts: Callable[[Random], float]
) -> Callable[[Random], Faults]:
    """Faults of the car: shifts by check (an underscore for a hyphen, two for a point), and what tests on demand find."""

    def draw(rng: Random) -> Faults:
        moved = {ref.replace("__", ".").replace("_", "-"): by(rng) for ref, by in shifts.items()}
        return Faults(shifts=moved, looks=looks or {}, tests=tests or {})

    return draw


def gas(system: int, low: float, high: float) -> Callable[[Random], dict[str, float]]:
    return lambda rng: {f"accumulator-{system}": rng.uniform(low, high)}


def leak(low: float = 0.02, high: float = 0.45) -> Callable[[Random], float]:
    return lambda rng: _log(rng, low, high) * ML


def pressure(low: float, high: float) -> Callable[[Random], float]:
    return lambda rng: rng.uniform(low, high) * PSI


INTEGRITY = {"integrity.car": 0.9}
OUT = {"leaks-at-cut-out.car": 0.8, "first-floor.car": 0.5}
S1, S2 = "system-1", "system-2"


def cut_out(rng: Random, low: float, high: float) -> Faults:
    by = rng.uniform(low, high) * PSI
    return Faults({S1: Fault(cut_out=by, cut_in=by * rng.uniform(0.3, 0.9))})


SCENARIOS: dict[str, Scenario] = {
    "sound": Scenario("A", (), lambda rng: Faults()),
    "sound, B": Scenario("B", (), lambda rng: Faults()),
    "gas low, mildly": Scenario("A", (("gas-low", S1),), one(S1, gas=gas(1, 0.5, 0.72))),
    "gas low": Scenario("A", (("gas-low", S2),), one(S2, gas=gas(2, 0.15, 0.5))),
    "gas low, B": Scenario("B", (("gas-low", S1),), one(S1, gas=gas(1, 0.2, 0.68))),
    "gas low, one of two": Scenario("B", (("gas-low", S2),), one(S2, gas=gas(3, 0.2, 0.6))),
    "gas gone": Scenario("A", (("gas-gone", S2),), one(S2, gas=gas(2, 0.0, 0.07), looks=INTEGRITY)),
    "gas too high": Scenario("A", (("gas-high", S1),), one(S1, gas=gas(1, 1.18, 1.6))),
    "diaphragm burst": Scenario(
        "A",
        (("diaphragm-burst", S1),),
        one(S1, gas=gas(1, 0, 0), burst=True, looks=INTEGRITY | {"first-pump.system-1": 0.3}),
    ),
    "pump weak": Scenario(
        "A",
        (("pump-weak", S1),),
        one(S1, delivery=lambda rng: rng.uniform(0.13, 0.78), looks={"first-pump.system-1": 0.25}),
    ),
    "feed blocked": Scenario(
        "A",
        (("feed-blocked", S2),),
        one(
            S2,
            delivery=lambda rng: rng.uniform(0.13, 0.78),
            foam=True,
            looks={"sight-glass.system-2": 0.85, "first-pump.system-2": 0.6},
        ),
    ),
    "check valve leaks": Scenario("A", (("check-valve-leaks", S1),), one(S1, back=leak())),
    "check valve leaks, B": Scenario("B", (("check-valve-leaks", S2),), one(S2, back=leak(0.05, 0.6))),
    "cut-out low": Scenario("A", (("cut-out-off", S1),), lambda rng: cut_out(rng, -430, -140)),
    "cut-out high": Scenario("A", (("cut-out-off", S1),), lambda rng: cut_out(rng, 140, 385)),
    "cut-in low": Scenario("A", (("cut-in-off", S2),), one(S2, cut_in=pressure(-420, -150))),
    "cut-in high": Scenario("A", (("cut-in-off", S2),), one(S2, cut_in=pressure(140, 300))),
    "spools worn": Scenario("A", (("valve-clearance-worn", S1),), one(S1, out=leak(), into_pan=True)),
    "output off": Scenario("A", (("output-off", S2),), one(S2, output=lambda rng: _either(rng, 130, 330) * PSI)),
    "outside leak": Scenario(
        "A", (("outside-leak", S1),), one(S1, out=leak(), looks=OUT | {"fluid-level.system-1": 0.6})
    ),
    "another user leaks": Scenario("B", (("other-user-leaks", S2),), one(S2, user=leak(0.05, 0.6))),
    "switch high": Scenario("A", (("switch-off", S1),), one(S1, lamp=pressure(150, 550))),
    "switch low": Scenario("A", (("switch-off", S2),), one(S2, lamp=pressure(-380, -150))),
    "gauge off": Scenario("A", (("gauge-off", S1),), one(S1, gauge=lambda rng: 1 + _either(rng, 0.07, 0.14))),
    "air in a powered circuit": Scenario(
        "A", (("circuit-air", S2),), one(S2, stroke=lambda rng: rng.uniform(2.0, 3.6))
    ),
    "air in the pedal circuit": Scenario(
        "A",
        (("pedal-air", "pedal-circuit"),),
        car(
            {"road-pedal.car": 0.7, "pedal-circuit-grip.pedal-circuit": 0.3, "first-pedal.car": 0.35},
            pedal_movement__car=lambda rng: rng.uniform(0.9, 4) * 13 * MM,
        ),
    ),
    "pedal cylinder leaks": Scenario(
        "A",
        (("pedal-cylinder-leaks", "pedal-circuit"),),
        car(
            {"road-pedal.car": 0.7, "pedal-circuit-grip.pedal-circuit": 0.5, "first-pedal.car": 0.75},
            {"outlet-plugged": 0.93},
            pedal_circuit_sink__pedal_circuit=lambda rng: _log(rng, 9, 55) * MM,
        ),
    ),
    "pedal circuit leaks": Scenario(
        "A",
        (("pedal-circuit-leaks", "pedal-circuit"),),
        car(
            {
                "pedal-fluid-level.pedal-circuit": 0.9,
                "leaks-at-cut-out.car": 0.7,
                "pedal-circuit-grip.pedal-circuit": 0.7,
                "road-pedal.car": 0.7,
                "first-pedal.car": 0.7,
                "first-floor.car": 0.5,
            },
            pedal_circuit_sink__pedal_circuit=lambda rng: _log(rng, 9, 50) * MM,
            pedal_movement__car=lambda rng: rng.uniform(0, 12) * MM,
        ),
    ),
    "linkage": Scenario(
        "A",
        (("pedal-linkage", "car"),),
        car({"road-pedal.car": 0.3}, pedal_movement__car=lambda rng: -rng.uniform(12, 22) * MM),
    ),
    "buffer worn": Scenario(
        "B",
        (("buffer-worn", "car"),),
        car({"road-pedal.car": 0.6, "first-pedal.car": 0.4}, pedal_movement__car=lambda rng: rng.uniform(18, 40) * MM),
    ),
    "residual pressure": Scenario(
        "A",
        (("residual-pressure", "car"),),
        car(
            {"first-signs.car": 0.2}
            | {f"drag.{wheel}": 0.92 for wheel in ("front-left", "front-right", "rear-left", "rear-right")}
        ),
    ),
    "caliper seized": Scenario(
        "A",
        (("caliper-seized", "rear-left"),),
        car(
            {"drag.rear-left": 0.87, "road-pull.car": 0.5, "first-signs.car": 0.25},
            {"dragging-bleeder": 0.93},
            road_balance__rear_axle=lambda rng: rng.uniform(0.15, 0.55),
        ),
    ),
    "brake held on": Scenario(
        "A",
        (("brake-drag", "front-right"),),
        car(
            {"drag.front-right": 0.92, "road-pull.car": 0.2, "first-signs.car": 0.25},
            road_balance__front_axle=lambda rng: rng.uniform(0, 0.06),
        ),
    ),
    "valve stuck closed": Scenario(
        "A",
        (("decel-valve-closed", "car"),),
        car(
            tests={"rear-pressure": 0.93},
            road_stop__car=lambda rng: rng.uniform(0.4, 0.75),
            valve_tilt__car=lambda rng: -math.radians(rng.uniform(8, 20)),
        ),
    ),
    "valve stuck open": Scenario(
        "A",
        (("decel-valve-open", "car"),),
        car(
            {"road-pull.car": 0.45},
            road_stop__car=lambda rng: -rng.uniform(0.05, 0.3),
            valve_tilt__car=lambda rng: math.radians(rng.uniform(6, 20)),
        ),
    ),
    "gauges swapped, gas gone": Scenario(
        "A",
        (("gas-gone", S2), ("readings-swapped", "car")),
        both(one(S2, gas=gas(2, 0.0, 0.07), looks=INTEGRITY), swapped="gauges"),
    ),
    "counts swapped, gas low": Scenario(
        "A", (("gas-low", S1), ("counts-swapped", "car")), both(one(S1, gas=gas(1, 0.12, 0.35)), swapped="counts")
    ),
    "one gauge off on both": Scenario(
        "A",
        (("gauge-off", "car"),),
        lambda rng: (lambda f: Faults({S1: Fault(gauge=f), S2: Fault(gauge=f)}))(1 + _either(rng, 0.07, 0.14)),
    ),
    "slow idle": Scenario(
        "A",
        (("slow-idle", "car"),),
        lambda rng: (
            lambda f: Faults({S1: Fault(delivery=f), S2: Fault(delivery=f)}, {"idle-speed.car": (f - 1) * IDLE})
        )(rng.uniform(0.45, 0.72)),
    ),
    "gas gone and pump weak": Scenario(
        "A",
        (("gas-gone", S2), ("pump-weak", S2)),
        one(S2, gas=gas(2, 0.0, 0.07), delivery=lambda rng: rng.uniform(0.2, 0.6), looks=INTEGRITY),
    ),
    "gas low and check valve leaks": Scenario(
        "A", (("gas-low", S1), ("check-valve-leaks", S1)), one(S1, gas=gas(1, 0.2, 0.6), back=leak(0.06, 0.4))
    ),
    "gas gone, air in the pedal circuit": Scenario(
        "A",
        (("gas-gone", S2), ("pedal-air", "pedal-circuit")),
        both(
            one(S2, gas=gas(2, 0.0, 0.07), looks=INTEGRITY),
            car({"road-pedal.car": 0.7}, pedal_movement__car=lambda rng: rng.uniform(1.2, 4) * 13 * MM),
        ),
    ),
    "gas low in both": Scenario(
        "A", (("gas-low", S1), ("gas-low", S2)), both(one(S1, gas=gas(1, 0.2, 0.68)), one(S2, gas=gas(2, 0.2, 0.68)))
    ),
}
