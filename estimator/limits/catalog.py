"""The methods by the names under which `checks.toml` asks for them."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.limits.methods import DerivedMethod, Method, maker

METHODS: Mapping[str, Method] = {
    "maker": maker,
    "boiling-point": maker,
    "accumulator-age": maker,
    "precharge": maker,
    "charge-time": maker,
    "pedal-movement": maker,
    "hold-loss": maker,
    "applications": maker,
    "lamp-pressure": maker,
    "pad-thickness": maker,
    "rotor-thickness": maker,
    "valve-tilt": maker,
    "road-balance": maker,
    "road-stop": maker,
}

DERIVED: Mapping[str, DerivedMethod] = {}
