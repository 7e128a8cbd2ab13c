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
    ("gas-low", "system"): Mode("accumulator gas low", SYSTEM),
    ("gas-high", "system"): Mode("accumulator gas too high", SYSTEM),
    ("gas-gone", "system"): Mode("accumulator gas gone", SYSTEM),
    ("diaphragm-burst", "system"): Mode("accumulator diaphragm burst", SYSTEM),
    ("pump-weak", "system"): Mode("pump weak", SYSTEM),
    ("feed-blocked", "system"): Mode("low-pressure feed blocked or drawing air", SYSTEM),
    ("check-valve-leaks", "system"): Mode("check valve leaking back", SYSTEM),
    ("cut-out-off", "system"): Mode("cut-out off its setting", SYSTEM),
    ("cut-in-off", "system"): Mode("cut-in off its setting", SYSTEM),
    ("valve-clearance-worn", "system"): Mode("distribution valve spools worn", SYSTEM),
    ("output-off", "system"): Mode("distribution valve output off", SYSTEM),
    ("outside-leak", "system"): Mode("external leak", SYSTEM),
    ("other-user-leaks", "system"): Mode("leak in another circuit on the supply", SYSTEM),
    ("switch-off", "system"): Mode("pressure switch off its setting", SYSTEM),
    ("gauge-off", "system"): Mode("pressure gauge off", SYSTEM),
    ("circuit-air", "system"): Mode("air in the powered circuit", SYSTEM),
    ("pedal-air", "pedal-circuit"): Mode("air in the pedal circuit", PEDAL),
    ("pedal-cylinder-leaks", "pedal-circuit"): Mode("master cylinder leaking past its seals", PEDAL),
    ("pedal-circuit-leaks", "pedal-circuit"): Mode("external leak of the pedal circuit", PEDAL),
    ("pedal-linkage", "car"): Mode("pedal linkage or its setting", PEDAL),
    ("buffer-worn", "car"): Mode("elastomer buffer worn", PEDAL),
    ("residual-pressure", "car"): Mode("residual pressure in the brakes", WHEELS),
    ("caliper-seized", "wheel"): Mode("caliper or pad seized", WHEELS),
    ("brake-drag", "wheel"): Mode("brake held on: hose or parking brake", WHEELS),
    ("decel-valve-closed", "car"): Mode("deceleration valve stuck closed", WHEELS),
    ("decel-valve-open", "car"): Mode("deceleration valve stuck open", WHEELS),
    ("readings-swapped", "car"): Mode("gauges of two systems swapped", READINGS),
    ("counts-swapped", "car"): Mode("counts of two systems swapped", READINGS),
    ("gauge-off", "car"): Mode("one gauge off on every system", READINGS),
    ("slow-idle", "car"): Mode("engine idles too slowly", READINGS),
}
