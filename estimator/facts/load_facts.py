"""Published numbers as dated records with their source: `sources.toml` and `limits/*.toml`, read strictly and once."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from importlib.resources import files

from estimator.facts.published import Fact, Source
from estimator.facts.strict import load

__all__ = ["Fact", "Source", "facts", "load", "sources"]


@functools.cache
def _shipped() -> tuple[Mapping[str, Source], Mapping[str, Fact]]:
    here = files("estimator.facts")
    limits = {item.name: item for item in here.joinpath("limits").iterdir() if item.name.endswith(".toml")}
    texts = {f"limits/{name}": limits[name].read_text(encoding="utf-8") for name in sorted(limits)}
    return load(here.joinpath("sources.toml").read_text(encoding="utf-8"), texts)


def facts() -> Mapping[str, Fact]:
    """Every published number, by its id."""
    return _shipped()[1]


def sources() -> Mapping[str, Source]:
    """Every source, by its key."""
    return _shipped()[0]
