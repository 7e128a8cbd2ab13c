"""The stages of an inspection (`stages.toml`), loaded strictly."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from importlib.resources import files

from pydantic import Field

from estimator.facts.checks import checks
from estimator.records import Id, Model, Words


class Band(Model):
    """Checks that are made together, with the same gauges."""

    title: Words
    checks: tuple[Id, ...] = Field(min_length=1)


class Stage(Model):
    """A page of the form: what is true of the car meanwhile, what is confirmed first, and its bands. before_work,
    after_work: it is printed in that phase alone; in the other its boxes stand below the pages."""

    title: Words
    caution: Words
    tick: Words
    before_work: bool = False
    after_work: bool = False
    band: tuple[Band, ...]


@functools.cache
def stages() -> tuple[Stage, ...]:
    """Return all stages, in the order of the work.

    Raises ValueError where a check of the catalog stands in no stage, or in two.
    """
    text = files("estimator.facts").joinpath("stages.toml").read_text(encoding="utf-8")
    found = tuple(Stage.model_validate(item) for item in tomllib.loads(text)["stage"])
    named = sorted(check for stage in found for band in stage.band for check in band.checks)
    if named != sorted(check.id for check in checks()):
        raise ValueError("stages.toml: each check of checks.toml belongs to one band, and to one alone")
    return found


@functools.cache
def order_of_work() -> Mapping[str, int]:
    """Return each check's place in the order of the work, by its id."""
    named = (check for stage in stages() for band in stage.band for check in band.checks)
    return {check: number for number, check in enumerate(named)}


@functools.cache
def band_of() -> Mapping[str, tuple[str, ...]]:
    """Return the checks of each check's band, by its id."""
    return {check: band.checks for stage in stages() for band in stage.band for check in band.checks}
