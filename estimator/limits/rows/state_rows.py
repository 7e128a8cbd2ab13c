"""Each state of the brakes as rows: what pressure it needs, which axle locks first, how the car stops.

With everything working, with each system lost, on the pedal circuit alone, with the deceleration valve stuck. The
deceleration asked for is a yardstick: that of the service brake where all sources live, else that of secondary braking.
"""

from __future__ import annotations

from estimator.hydraulics.states import State, states
from estimator.limits.row_table import Row
from estimator.limits.rows.braking_rows import BRAKING, braking_rows, feeding, parts_of
from estimator.limits.rows.common_rows import once, published
from estimator.limits.rows.gain_rows import GAINS_VALID, SIDES, closing_rows, gain_rows
from estimator.limits.rows.methods import Context
from estimator.limits.rows.stop_rows import adhesion_rows, road_rows
from estimator.limits.rows.system_rows import system_rows
from estimator.limits.working import Scope

# fmt: off
REQUIRED = (
    Row("required$suffix", "F required$tail", "force for $words: m a", "{body:mass}*{$asked}", "N", "gillespie"),
)
NEEDED = (
    Row("needed$suffix", "p needed$tail", "lowest system pressure for $words, gauge",
        "MAX(0,({required$suffix}-{pedal})/{open})",
        "pressure", "derivation disc-brake-torque", "other live systems at the same pressure"),
)
NEEDED_WITH_VALVE = (
    Row("needed$suffix", "p needed$tail", "lowest system pressure for $words, gauge",
        "IF({required$suffix}<={at-closing},MAX(0,({required$suffix}-{pedal})/{open}),"
        "{close}+({required$suffix}-{at-closing})/{closed})",
        "pressure", "derivation disc-brake-torque", "other live systems at the same pressure", guarded="at-closing"),
)
WORK = (
    Row("work", "p work", "lowest cut-in of the live systems, gauge", "MIN($cut_ins)", "pressure"),
)
PASSED = (
    Row("passed$suffix", "p behind$tail", "pressure behind the valve $words, gauge",
        "MIN({$pressure},{close})+(1-{valve:share})*MAX(0,{$pressure}-{close})",
        "pressure", "derivation", "rising pressure", guarded="$pressure close"),
)
KEPT = (
    Row("kept-work", "share kept", "share of their full force that the pistons behind the valve do not give at cut-in",
        "1-{passed-work}/{work}", "%", "derivation"),
)
FORCE = (
    Row("force-$side$suffix", "F $side$tail", "$side: braking force $words",
        "{$pressure}*{free-$side}$behind+{pedal-$side}", "N", "disc-brake-torque", GAINS_VALID),
)
PEDAL_FORCE = (
    Row("force-$side$suffix", "F $side$tail", "$side: braking force at the test force on the pedal",
        "{pedal-$side}", "N", "disc-brake-torque"),
)
# Without a working valve the split of the forces is fixed, and the rear locks first above a deceleration.
REAR_ABOVE = (
    Row("rear-above", "a rear first",
        "deceleration above which the rear locks first, without the pedal circuit: g (1 - front share - rear/all)/k",
        "{constant.gravity}*(1-{body:front-share}-{free-rear}/{open})/{braking:ratio}", "acceleration", "un-r13h",
        "forces in proportion to one pressure; below 0 the rear locks first even on ice"),
)
# fmt: on


def scope_of(state: State) -> str:
    return f"{BRAKING}-{state.name.replace(' ', '-')}"


@once
def state_rows(context: Context) -> None:
    """All states of this car."""
    braking_rows(context)
    for system in feeding(context.record.car):
        system_rows(context, system)
    for state in states(context.record.car.brakes):
        _state(context, state)


def _state(context: Context, state: State) -> None:
    """The rows of one state. Forces per pressure are areas; the pedal circuit adds a fixed force."""
    rows, parts = context.workings.scope(scope_of(state)), parts_of(context, state)
    behind = any(parts.behind.values())
    systems = [system for system in feeding(context.record.car) if system in state.alive]
    secondary = published(context, "secondary-deceleration", "a secondary", "acceleration")
    service = published(context, "service-deceleration", "a service", "acceleration")
    whole = "lost" not in state.name and "alone" not in state.name
    asked = service if whole else secondary
    gain_rows(rows, parts)
    if systems:
        if behind:
            closing_rows(rows, state)
        _needed(rows, behind, asked, "", "the deceleration required")
        if state.name == "everything":
            _needed(rows, behind, secondary, "-secondary", "secondary braking")
        _forces(rows, behind, "needed", "", "at the pressure needed")
        if not behind:
            rows.add(REAR_ABOVE)
    else:
        _pedal_forces(rows, "")
    adhesion_rows(rows)
    if systems:
        rows.add(WORK, cut_ins=",".join(f"{{{system}:cut-in}}" for system in systems))
        _forces(rows, behind, "work", "-work", "at cut-in")
    else:
        _pedal_forces(rows, "-work")
    road_rows(context, rows, asked, whole, " at cut-in" if systems else "")


def _needed(rows: Scope, behind: bool, asked: str, suffix: str, words: str) -> None:
    given = {"suffix": suffix, "tail": suffix.replace("-", " "), "words": words}
    rows.add(REQUIRED, asked=asked, **given)
    rows.add(NEEDED_WITH_VALVE if behind else NEEDED, **given)


def _forces(rows: Scope, behind: bool, pressure: str, suffix: str, words: str) -> None:
    given = {"pressure": pressure, "suffix": suffix, "tail": suffix.replace("-", " "), "words": words}
    if behind:
        rows.add(PASSED, **given)
        if suffix:
            rows.add(KEPT)
    for side in SIDES.values():
        passed = f"+{{passed{suffix}}}*{{behind-{side}}}" if behind else ""
        rows.add(FORCE, side=side, behind=passed, **given)


def _pedal_forces(rows: Scope, suffix: str) -> None:
    for side in SIDES.values():
        rows.add(PEDAL_FORCE, side=side, suffix=suffix, tail=suffix.replace("-", " "))
