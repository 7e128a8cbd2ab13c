"""What all methods share: rows built once, published numbers as rows, sources in words."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable

from estimator.limits.rows.methods import Context
from estimator.places import axle_of
from estimator.records import RotorAndPads

YARDSTICKS = "yardsticks"


def once(build: Callable[..., None]) -> Callable[..., None]:
    """Let the rows of a subject be built when they are first needed, and never twice."""

    @functools.wraps(build)
    def build_once(context: Context, *key: str) -> None:
        mark = (build.__module__, build.__name__, *key)
        if mark not in context.workings.built:
            context.workings.built.add(mark)
            build(context, *key)

    return build_once


def wear_of(context: Context, place: str) -> RotorAndPads | None:
    """What car.toml says of the rotors and pads of a place's axle."""
    return next((item for item in context.record.car.wear if item.axle == axle_of(place)), None)


def published(context: Context, fact_id: str, symbol: str, unit: str) -> str:
    """A published number as a row that all methods share; how an expression names it."""
    if f"{YARDSTICKS}.{fact_id}" not in context.workings.rows:
        context.workings.scope(YARDSTICKS).fact(fact_id, symbol, unit)
    return f"{YARDSTICKS}:{fact_id}"


def bearing(context: Context, name: str) -> str:
    """What a published number is for this car, by the name that `published` gave it."""
    return context.record.fact(name.partition(":")[2]).kind


def total(names: Iterable[str]) -> str:
    """The sum of rows, written so that words in any of them are noticed."""
    return "+".join(f"{{{name}}}" for name in names)


def listed(names: Iterable[str]) -> str:
    """Rows as the arguments of a function."""
    return ",".join(f"{{{name}}}" for name in names)
