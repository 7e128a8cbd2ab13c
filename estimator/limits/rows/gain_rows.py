"""What a state of the brakes presses with, as rows: its live sources, and where the deceleration valve closes."""

from __future__ import annotations

from estimator.hydraulics.states import State
from estimator.limits.row_table import Row
from estimator.limits.rows.braking_rows import Parts
from estimator.limits.rows.common_rows import total
from estimator.limits.working import Scope

GAINS_VALID = "all live systems at one pressure; pads bedded and below fade; no wheel locked"
SIDES = {"front-axle": "front", "rear-axle": "rear"}

# fmt: off
FREE = (
    Row("free-$side", "G free $side", "$side: force per pressure, not behind the valve",
        "$all", "mm²", "disc-brake-torque", GAINS_VALID),
)
BEHIND = (
    Row("behind-$side", "G behind $side", "$side: force per pressure behind the valve",
        "$all", "mm²", "disc-brake-torque", GAINS_VALID),
)
PEDAL_FORCE = (
    Row("pedal-$side", "F pedal $side", "$side: force from the pedal circuit at the test force",
        "$force", "N", "disc-brake-torque"),
)
ALL = (
    Row("open", "G open", "force per pressure of all, the valve open",
        "{free-front}+{free-rear}$behind", "mm²", "disc-brake-torque"),
    Row("pedal", "F pedal", "force from the pedal circuit", "{pedal-front}+{pedal-rear}", "N", "disc-brake-torque"),
)
CLOSE = (
    Row("close", "p close", "pressure at which the deceleration valve closes, gauge",
        "MAX(0,({body:mass}*{valve:closing}-{pedal})/{open})",
        "pressure", "derivation", "the pedal circuit presses from the start"),
)
STUCK_CLOSED = (
    Row("close", "p close", "pressure at which the deceleration valve closes, gauge: stuck closed",
        "0", "pressure", "derivation", "the pedal circuit presses from the start", plain=True),
)
CLOSED = (
    Row("closed", "G closed", "force per further pressure, the valve closed",
        "{free-front}+{free-rear}+(1-{valve:share})*({behind-front}+{behind-rear})", "mm²", "derivation"),
    Row("at-closing", "F at closing", "force when the valve closes", "{pedal}+{open}*{close}", "N", "derivation"),
)
# fmt: on


def gain_rows(rows: Scope, parts: Parts) -> None:
    """Force per pressure of each axle, free and behind the valve; the pedal circuit adds a fixed force."""
    has_behind = any(parts.behind.values())
    for axle, side in SIDES.items():
        rows.add(FREE, side=side, all=total(parts.free[axle]) or "0")
        if has_behind:
            rows.add(BEHIND, side=side, all=total(parts.behind[axle]) or "0")
        gains = total(parts.pedal[axle])
        rows.add(PEDAL_FORCE, side=side, force=f"({gains})*{{pedal:pressure}}" if gains else "0")
    rows.add(ALL, behind="+{behind-front}+{behind-rear}" if has_behind else "")


def closing_rows(rows: Scope, state: State) -> None:
    """The pressure at which the valve closes in a state, and what further pressure gives."""
    rows.add(STUCK_CLOSED if state.valve == "stuck closed" else CLOSE)
    rows.add(CLOSED)
