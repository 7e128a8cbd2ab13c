"""What a state of the brakes presses with, as rows: its live sources, and where the deceleration valve closes."""

from __future__ import annotations

from estimator.hydraulics import failure_states
from estimator.hydraulics.deceleration import Valve
from estimator.hydraulics.states import State
from estimator.limits.brake_rows import BODY
from estimator.limits.braking_rows import VALVE, Parts
from estimator.limits.common_rows import cite, total
from estimator.limits.pedal_rows import PEDAL
from estimator.limits.working import Scope

GAINS_VALID = "all live systems at one pressure; pads bedded and below fade; no wheel locked"
SIDES = {"front-axle": "front", "rear-axle": "rear"}


def gain_rows(rows: Scope, parts: Parts) -> None:
    """Force per pressure of each axle, free and behind the valve; the pedal circuit adds a fixed force."""
    has_behind = any(parts.behind.values())
    for axle, side in SIDES.items():
        _sum(
            rows,
            f"free-{side}",
            f"G free {side}",
            f"{side}: force per pressure, not behind the valve",
            parts.free[axle],
        )
        if has_behind:
            names = parts.behind[axle]
            _sum(rows, f"behind-{side}", f"G behind {side}", f"{side}: force per pressure behind the valve", names)
        names = parts.pedal[axle]
        need = [f"{PEDAL}:pressure"] if names else []
        rows.row(
            f"pedal-{side}",
            f"F pedal {side}",
            f"{side}: force from the pedal circuit at the test force",
            f"({total(names)})*{{{PEDAL}:pressure}}" if names else "0",
            (lambda pressure, *gains: pressure * sum(gains)) if names else (lambda: 0.0),
            *need,
            *names,
            unit="N",
            source=cite("disc-brake-torque"),
        )
    behind = "+{behind-front}+{behind-rear}" if has_behind else ""
    behind_needs = ("behind-front", "behind-rear") if has_behind else ()
    rows.row(
        "open",
        "G open",
        "force per pressure of all, the valve open",
        "{free-front}+{free-rear}" + behind,
        lambda *gains: sum(gains),
        "free-front",
        "free-rear",
        *behind_needs,
        unit="mm²",
        source=cite("disc-brake-torque"),
    )
    rows.row(
        "pedal",
        "F pedal",
        "force from the pedal circuit",
        "{pedal-front}+{pedal-rear}",
        lambda front, rear: front + rear,
        "pedal-front",
        "pedal-rear",
        unit="N",
        source=cite("disc-brake-torque"),
    )


def _sum(rows: Scope, name: str, symbol: str, title: str, names: list[str]) -> None:
    rows.row(
        name,
        symbol,
        title,
        total(names) or "0",
        lambda *gains: sum(gains, 0.0),
        *names,
        unit="mm²",
        source=cite("disc-brake-torque"),
        valid=GAINS_VALID,
    )


def closing_rows(rows: Scope, state: State) -> None:
    """The pressure at which the valve closes in a state, and what further pressure gives."""
    stuck = state.valve == "stuck closed"
    closes = f"MAX(0,({{{BODY}:mass}}*{{{VALVE}:closing}}-{{pedal}})/{{open}})"
    rows.row(
        "close",
        "p close",
        "pressure at which the deceleration valve closes, gauge" + (": stuck closed" if stuck else ""),
        "0" if stuck else closes,
        0.0 if stuck else _closing_pressure,
        "open",
        "pedal",
        f"{BODY}:mass",
        f"{VALVE}:closing",
        unit="pressure",
        source=cite("derivation"),
        valid="the pedal circuit presses from the start",
    )
    rows.row(
        "closed",
        "G closed",
        "force per further pressure, the valve closed",
        f"{{free-front}}+{{free-rear}}+(1-{{{VALVE}:share}})*({{behind-front}}+{{behind-rear}})",
        lambda front, rear, share, behind_front, behind_rear: (
            front + rear + (1.0 - share) * (behind_front + behind_rear)
        ),
        "free-front",
        "free-rear",
        f"{VALVE}:share",
        "behind-front",
        "behind-rear",
        unit="mm²",
        source=cite("derivation"),
    )
    rows.row(
        "at-closing",
        "F at closing",
        "force when the valve closes",
        "{pedal}+{open}*{close}",
        lambda pedal, gain, close: pedal + gain * close,
        "pedal",
        "open",
        "close",
        unit="N",
        source=cite("derivation"),
    )


def _closing_pressure(gain: float, pedal: float, mass: float, closing: float) -> float:
    gains = failure_states.Gains(gain / mass, 0.0, pedal / mass)
    return failure_states.closing_pressure(gains, Valve(closing), "working")
