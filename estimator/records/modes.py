"""The faults that the program can weigh against readings: ids, where they are, titles."""

from __future__ import annotations

from typing import NamedTuple

SYSTEM, PEDAL, WHEELS, READINGS = "system", "pedal", "wheels", "readings"


class Mode(NamedTuple):
    """A fault: its title, and the group of which at most one holds."""

    title: str
    group: str


# By id and kind of place.
MODES: dict[tuple[str, str], Mode] = {
    ("gas-low", "system"): Mode("low gas in the accumulator", SYSTEM),
    ("gas-high", "system"): Mode("too much gas in the accumulator", SYSTEM),
    ("gas-gone", "system"): Mode("lost gas in the accumulator", SYSTEM),
    ("diaphragm-burst", "system"): Mode("burst accumulator diaphragm", SYSTEM),
    ("pump-weak", "system"): Mode("weak pump", SYSTEM),
    ("feed-blocked", "system"): Mode("blocked or leaking low-pressure feed", SYSTEM),
    ("check-valve-leaks", "system"): Mode("check valve leaking back", SYSTEM),
    ("cut-out-off", "system"): Mode("cut-out off its setting", SYSTEM),
    ("cut-in-off", "system"): Mode("cut-in off its setting", SYSTEM),
    ("valve-clearance-worn", "system"): Mode("worn distribution valve spools", SYSTEM),
    ("output-off", "system"): Mode("distribution valve output off", SYSTEM),
    ("outside-leak", "system"): Mode("external leak", SYSTEM),
    ("other-user-leaks", "system"): Mode("leak in another circuit on the supply", SYSTEM),
    ("switch-off", "system"): Mode("pressure switch off its setting", SYSTEM),
    ("gauge-off", "system"): Mode("pressure gauge off", SYSTEM),
    ("circuit-air", "system"): Mode("air in the full-power circuit", SYSTEM),
    ("pedal-air", "pedal-circuit"): Mode("air in the pedal circuit", PEDAL),
    ("pedal-cylinder-leaks", "pedal-circuit"): Mode("master cylinder leaking past its seals", PEDAL),
    ("pedal-circuit-leaks", "pedal-circuit"): Mode("external leak of the pedal circuit", PEDAL),
    ("pedal-linkage", "car"): Mode("pedal linkage or its setting", PEDAL),
    ("buffer-worn", "car"): Mode("worn elastomer buffer", PEDAL),
    ("residual-pressure", "car"): Mode("residual pressure in the brakes", WHEELS),
    ("caliper-seized", "wheel"): Mode("seized caliper or pad", WHEELS),
    ("brake-drag", "wheel"): Mode("brake held on: hose or parking brake", WHEELS),
    ("decel-valve-closed", "car"): Mode("deceleration valve stuck closed", WHEELS),
    ("decel-valve-open", "car"): Mode("deceleration valve stuck open", WHEELS),
    ("readings-swapped", "car"): Mode("gauges of two systems swapped", READINGS),
    ("counts-swapped", "car"): Mode("counts of two systems swapped", READINGS),
    ("gauge-off", "car"): Mode("one gauge off on both systems", READINGS),
    ("slow-idle", "car"): Mode("slow engine idle", READINGS),
}
