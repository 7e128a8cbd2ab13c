"""How likely a look finds a fault under each cause: invented for the demo, as the priors are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

ELSE = "else"
# By check: by cause, and "else" for any other cause or none.
LOOKS: Mapping[str, Mapping[str, float]] = {
    "fluid-level": {"outside-leak": 0.6, "pedal-circuit-leaks": 0.1, "other-user-leaks": 0.3, ELSE: 0.03},
    "sight-glass": {"feed-blocked": 0.86, "pump-weak": 0.06, ELSE: 0.05},
    "first-pump": {"feed-blocked": 0.65, "pump-weak": 0.3, "diaphragm-burst": 0.4, ELSE: 0.05},
    "leaks-at-cut-out": {"outside-leak": 0.8, "pedal-circuit-leaks": 0.7, ELSE: 0.03},
    "integrity": {"gas-gone": 0.92, "diaphragm-burst": 0.97, "outside-leak": 0.1, ELSE: 0.04},
    "first-floor": {"outside-leak": 0.55, "pedal-circuit-leaks": 0.5, "other-user-leaks": 0.3, ELSE: 0.05},
    "first-pedal": {
        "pedal-air": 0.4,
        "pedal-cylinder-leaks": 0.7,
        "pedal-circuit-leaks": 0.7,
        "pedal-linkage": 0.15,
        "buffer-worn": 0.4,
        ELSE: 0.04,
    },
    "pedal-fluid-level": {"pedal-circuit-leaks": 0.85, ELSE: 0.03},
    "pedal-circuit-grip": {"pedal-air": 0.3, "pedal-cylinder-leaks": 0.5, "pedal-circuit-leaks": 0.7, ELSE: 0.03},
    "road-pedal": {
        "pedal-air": 0.7,
        "pedal-cylinder-leaks": 0.7,
        "pedal-circuit-leaks": 0.7,
        "pedal-linkage": 0.35,
        "buffer-worn": 0.6,
        ELSE: 0.05,
    },
    "drag": {"residual-pressure": 0.9, "caliper-seized": 0.85, "brake-drag": 0.9, ELSE: 0.02},
    "first-signs": {"residual-pressure": 0.2, "caliper-seized": 0.2, "brake-drag": 0.2, ELSE: 0.05},
    "road-pull": {"caliper-seized": 0.5, "brake-drag": 0.25, "decel-valve-open": 0.4, ELSE: 0.05},
}


def fault_seen(check: str, modes: Iterable[str]) -> float:
    """Return the probability that a look finds a fault while these causes hold.

    >>> fault_seen("leaks-at-cut-out", ["gas-low", "outside-leak"]), fault_seen("leaks-at-cut-out", [])
    (0.8, 0.03)
    """
    of = LOOKS[check]
    return max((of.get(mode, of[ELSE]) for mode in modes), default=of[ELSE])
