"""What a bad result of each check means for the owner of the car (`meanings.toml`)."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from importlib.resources import files

from estimator.records import Model, Text, Words


class Meaning(Model):
    """Sentences in plain words; `low` and `high` stand in place of `bad` where a reading lies on that side."""

    bad: Words
    low: Text = ""
    high: Text = ""

    def of(self, side: str) -> str:
        """The sentence for a side ("low", "high", or "" where neither is known)."""
        return {"low": self.low, "high": self.high}.get(side, "") or self.bad


@functools.cache
def meanings() -> Mapping[str, Meaning]:
    """All of them, by the check's id."""
    text = files("estimator.letters").joinpath("meanings.toml").read_text(encoding="utf-8")
    return {check: Meaning.model_validate(item) for check, item in tomllib.loads(text).items()}
