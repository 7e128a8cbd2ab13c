"""What the sources brake with, as rows: force per pressure of each source on each axle, and the deceleration valve."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.hydraulics.states import State
from estimator.limits.row_table import Row
from estimator.limits.rows.brake_rows import brake_rows, brakes
from estimator.limits.rows.common_rows import once, total
from estimator.limits.rows.methods import Context
from estimator.limits.rows.pedal_rows import has_pedal_circuit, pedal_rows
from estimator.places import AXLES, PEDAL_CIRCUIT, axle_of
from estimator.records import Car

BRAKING = "braking"
VALVE = "valve"

# fmt: off
CAR = (
    Row("weight", "W", "weight of the car", "{body:mass}*{constant.gravity}", "N", "definition"),
    Row("ratio", "k", "height of the center of gravity over the wheelbase",
        "{body:height}/{body:wheelbase}", "1", "un-r13h"),
)
GROUP = (
    Row("$name", "G $where", "force at the road for each unit of pressure, $where", "$all", "mm²", "disc-brake-torque"),
)
FREELY = "a ball that rolls freely in clean fluid; the nose does not dip"
CLOSING = (
    Row("closing", "a close", "deceleration at which the ball closes the valve, on the flat: g tan(ramp)",
        "{constant.gravity}*TAN({ramp})", "acceleration", "derivation", FREELY),
    Row("closing-low", "a close least", "the least within the tolerance of the tilt test",
        "IF(AND({tolerance}<={ramp},{ramp}+{tolerance}<={constant.steepest}),"
        '{constant.gravity}*TAN({ramp}-{tolerance}),"not known")', "acceleration", "derivation", FREELY),
    Row("closing-high", "a close most", "the most within the tolerance of the tilt test",
        "IF(AND({tolerance}<={ramp},{ramp}+{tolerance}<={constant.steepest}),"
        '{constant.gravity}*TAN({ramp}+{tolerance}),"not known")', "acceleration", "derivation", FREELY),
    Row("tilt-low", "tilt least", "least angle of the tilt test: ramp less tolerance",
        "{ramp}-{tolerance}", "angle", "derivation", "valve level at zero"),
    Row("tilt-high", "tilt most", "greatest angle of the tilt test: ramp and tolerance",
        "{ramp}+{tolerance}", "angle", "derivation", "valve level at zero"),
)
# fmt: on


@dataclass(frozen=True)
class Parts:
    """The rows of force per pressure that a state of the brakes adds up, by axle."""

    free: dict[str, list[str]]
    behind: dict[str, list[str]]
    pedal: dict[str, list[str]]


def feeding(car: Car) -> tuple[str, ...]:
    """The systems that feed brakes."""
    fed = {brake.source for brake in car.brakes}
    return tuple(system.id for system in car.systems if system.id in fed)


def parts_of(context: Context, state: State) -> Parts:
    """The rows that a state's forces come from. A valve stuck open is no valve."""
    found = Parts({axle: [] for axle in AXLES}, {axle: [] for axle in AXLES}, {axle: [] for axle in AXLES})
    valve = context.record.car.deceleration_valve is not None and state.valve != "stuck open"
    for source, axle, behind in _groups(context.record.car):
        if source not in state.alive:
            continue
        if source == PEDAL_CIRCUIT:
            if has_pedal_circuit(context):
                found.pedal[axle].append(_name(source, axle, behind))
        else:
            (found.behind if behind and valve else found.free)[axle].append(_name(source, axle, behind))
    return found


def _groups(car: Car) -> list[tuple[str, str, bool]]:
    return list(dict.fromkeys((brake.source, axle_of(brake.wheel), brake.behind_valve) for brake in car.brakes))


def _name(source: str, axle: str, behind: bool) -> str:
    return f"{BRAKING}:{source}-{axle}" + ("-behind" if behind else "")


@once
def braking_rows(context: Context) -> None:
    """Force per pressure of each source on each axle, behind the valve or not; weight; the valve."""
    brake_rows(context)
    pedal_rows(context)
    rows, car = context.workings.scope(BRAKING), context.record.car
    rows.add(CAR)
    for source, axle, behind in _groups(car):
        rows.add(
            GROUP,
            name=_name(source, axle, behind).removeprefix(f"{BRAKING}:"),
            where=f"{source} {axle}".replace("-", " ") + (" behind valve" if behind else ""),
            all=total(
                f"{brake.scope}:gain"
                for brake in brakes(car)
                if (brake.item.source, axle_of(brake.item.wheel), brake.item.behind_valve) == (source, axle, behind)
            ),
        )
    valve_rows(context)


@once
def valve_rows(context: Context) -> None:
    """The deceleration at which the ball closes the valve, with the tolerance of its bench test."""
    item = context.record.car.deceleration_valve
    if item is None:
        return
    rows = context.workings.scope(VALVE)
    for name, title, quantity, unit, key in (
        ("ramp", "angle of the ramp, and of the bench tilt test", item.ramp_angle, "angle", "ramp_angle"),
        ("tolerance", "tolerance of the bench tilt test, either way", item.tolerance, "angle", "tolerance"),
        ("share", "share of further pressure that is held back", item.share_held_back, "1", "share_held_back"),
    ):
        rows.datum(name, name, title, quantity, unit, key=f"[deceleration_valve] {key}")
    rows.add(CLOSING)
