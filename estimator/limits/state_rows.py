"""Each state of the brakes as rows: what pressure it needs, which axle locks first, how the car stops.

With everything working, with each system lost, on the pedal circuit alone, with the deceleration valve stuck. The
deceleration asked for is a yardstick: that of the service brake where all sources live, else that of secondary braking.
"""

from __future__ import annotations

from dataclasses import dataclass

from estimator.hydraulics import failure_states
from estimator.hydraulics.braking import rear_locks_above
from estimator.hydraulics.deceleration import Valve, pressure_behind_valve, share_kept_from_rear
from estimator.hydraulics.states import State
from estimator.limits.brake_rows import BODY
from estimator.limits.braking_rows import BRAKING, VALVE, braking_rows, feeding, parts_of, states_of
from estimator.limits.common_rows import cite, once, published
from estimator.limits.gain_rows import GAINS_VALID, SIDES, closing_rows, gain_rows
from estimator.limits.methods import Context
from estimator.limits.stop_rows import adhesion_rows, road_rows
from estimator.limits.system_rows import system_rows
from estimator.limits.working import Scope


@dataclass(frozen=True)
class Asked:
    """A deceleration asked of a state, and the names that its rows take."""

    row: str
    suffix: str
    words: str


def scope_of(state: State) -> str:
    return f"{BRAKING}-{state.name.replace(' ', '-')}"


@once
def state_rows(context: Context) -> None:
    """All states of this car."""
    braking_rows(context)
    for system in feeding(context.record.car):
        system_rows(context, system)
    for state in states_of(context.record.car):
        StateRows(context, state).build()


class StateRows:
    """The rows of one state. Forces per pressure are areas; the pedal circuit adds a fixed force."""

    def __init__(self, context: Context, state: State) -> None:
        self.context, self.state = context, state
        self.rows: Scope = context.workings.scope(scope_of(state))
        self.parts = parts_of(context, state)
        self.behind = any(self.parts.behind.values())
        self.systems = [system for system in feeding(context.record.car) if system in state.alive]
        self.secondary = published(context, "secondary-deceleration", "a secondary", "acceleration")
        self.service = published(context, "service-deceleration", "a service", "acceleration")

    def build(self) -> None:
        whole = "lost" not in self.state.name and "alone" not in self.state.name
        asked = Asked(self.service if whole else self.secondary, "", "the deceleration asked for")
        gain_rows(self.rows, self.parts)
        if self.systems:
            if self.behind:
                closing_rows(self.rows, self.state)
            self._needed(asked)
            if self.state.name == "everything":
                self._needed(Asked(self.secondary, "-secondary", "secondary braking"))
            self._forces("needed", "", "at the pressure needed")
            if not self.behind:
                self._rear_above()
        else:
            self._pedal_forces("")
        adhesion_rows(self.rows)
        if self.systems:
            self._work()
            self._forces("work", "-work", "at cut-in")
        else:
            self._pedal_forces("-work")
        road_rows(self.context, self.rows, asked.row, whole, " at cut-in" if self.systems else "")

    def _needed(self, asked: Asked) -> None:
        required = f"required{asked.suffix}"
        tail = asked.suffix.replace("-", " ")
        self.rows.row(
            required,
            f"F required{tail}",
            f"force for {asked.words}: m a",
            f"{{{BODY}:mass}}*{{{asked.row}}}",
            lambda mass, a: mass * a,
            f"{BODY}:mass",
            asked.row,
            unit="N",
            source=cite("gillespie"),
        )
        simple = f"MAX(0,({{{required}}}-{{pedal}})/{{open}})"
        bent = f"{{close}}+({{{required}}}-{{at-closing}})/{{closed}}"
        needs = (required, "pedal", "open", *(("close", "closed", "at-closing") if self.behind else ()))
        self.rows.row(
            f"needed{asked.suffix}",
            f"p needed{tail}",
            f"lowest system pressure for {asked.words}, gauge",
            f"IF({{{required}}}<={{at-closing}},{simple},{bent})" if self.behind else simple,
            self._lowest,
            f"{BODY}:mass",
            *needs,
            unit="pressure",
            source=cite("derivation", "disc-brake-torque"),
            valid="other live systems at the same pressure",
            guarded=("at-closing",) if self.behind else (),
        )

    def _lowest(self, mass: float, required: float, pedal: float, gain: float, *closing: float) -> float:
        """failure_states.lowest_system_pressure, with what lies behind the valve told from its slope once closed."""
        if not closing:
            gains = failure_states.Gains(gain / mass, 0.0, pedal / mass)
            return failure_states.lowest_system_pressure(required / mass, gains, None, self.state.valve)
        close, closed, _ = closing
        at_closing = (pedal + gain * close) / mass
        # The valve as one that holds back all of what its closing takes away.
        gains = failure_states.Gains(closed / mass, (gain - closed) / mass, pedal / mass)
        return failure_states.lowest_system_pressure(required / mass, gains, Valve(at_closing), self.state.valve)

    def _work(self) -> None:
        names = [f"{system}:cut-in" for system in self.systems]
        self.rows.row(
            "work",
            "p work",
            "lowest cut-in of the live systems, gauge",
            f"MIN({','.join(f'{{{name}}}' for name in names)})",
            lambda *values: min(values),
            *names,
            unit="pressure",
        )

    def _forces(self, pressure: str, suffix: str, words: str) -> None:
        tail = suffix.replace("-", " ")
        if self.behind:
            self.rows.row(
                f"passed{suffix}",
                f"p behind{tail}",
                f"pressure behind the valve {words}, gauge",
                f"MIN({{{pressure}}},{{close}})+(1-{{{VALVE}:share}})*MAX(0,{{{pressure}}}-{{close}})",
                pressure_behind_valve,
                pressure,
                "close",
                f"{VALVE}:share",
                unit="pressure",
                source=cite("derivation"),
                valid="rising pressure",
                guarded=(pressure, "close"),
            )
            if suffix:
                self._kept(pressure, suffix, words)
        for side in SIDES.values():
            behind = f"+{{passed{suffix}}}*{{behind-{side}}}" if self.behind else ""
            needs = (f"passed{suffix}", f"behind-{side}") if self.behind else ()
            self.rows.row(
                f"force-{side}{suffix}",
                f"F {side}{tail}",
                f"{side}: braking force {words}",
                f"{{{pressure}}}*{{free-{side}}}{behind}+{{pedal-{side}}}",
                lambda p, free, pedal, *more: p * free + pedal + (more[0] * more[1] if more else 0.0),
                pressure,
                f"free-{side}",
                f"pedal-{side}",
                *needs,
                unit="N",
                source=cite("disc-brake-torque"),
                valid=GAINS_VALID,
            )

    def _kept(self, pressure: str, suffix: str, words: str) -> None:
        self.rows.row(
            f"kept{suffix}",
            "share kept",
            f"share of their full force that the pistons behind the valve don't give {words}",
            f"1-{{passed{suffix}}}/{{{pressure}}}",
            lambda p, close, share, _passed: share_kept_from_rear(p, close, share),
            pressure,
            "close",
            f"{VALVE}:share",
            f"passed{suffix}",
            unit="%",
            source=cite("derivation"),
        )

    def _rear_above(self) -> None:
        """Without a working valve the split of the forces is fixed, and the rear locks first above a deceleration."""
        share, k = f"{BODY}:front-share", f"{BRAKING}:ratio"
        self.rows.row(
            "rear-above",
            "a rear first",
            "deceleration above which the rear locks first, pedal circuit left out: g (1 - front share - rear/all)/k",
            f"{{constant.gravity}}*(1-{{{share}}}-{{free-rear}}/{{open}})/{{{k}}}",
            lambda front, rear, part, height, base, *_rest: rear_locks_above(front, rear, part, height, base),
            "free-front",
            "free-rear",
            share,
            f"{BODY}:height",
            f"{BODY}:wheelbase",
            "open",
            k,
            unit="acceleration",
            source=cite("un-r13h"),
            valid="forces in proportion to one pressure; below 0 the rear locks first even on ice",
        )

    def _pedal_forces(self, suffix: str) -> None:
        tail = suffix.replace("-", " ")
        for side in SIDES.values():
            self.rows.row(
                f"force-{side}{suffix}",
                f"F {side}{tail}",
                f"{side}: braking force at the test force on the pedal",
                f"{{pedal-{side}}}",
                lambda pedal: pedal,
                f"pedal-{side}",
                unit="N",
                source=cite("disc-brake-torque"),
            )
