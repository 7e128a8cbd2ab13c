"""What a published number and its source are: the words they may use, their units, and what they say of a car."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from estimator.quantities import UNITS, Unit

DIRECTIONS = ("upper", "lower", "exact", "info")
KINDS = ("rule", "yardstick", "property", "practice")
STATUSES = ("read", "second-hand", "memory", "computed", "common-practice")
SOURCE_KINDS = (
    "regulation",
    "statute",
    "standard",
    "guide",
    "textbook",
    "paper",
    "manufacturer",
    "web page",
    "derivation",
    "trade practice",
)
SOURCE_KEYS = ("key", "title", "publisher", "edition", "kind", "how_read")
FACT_KEYS = (
    "id",
    "title",
    "value",
    "unit",
    "direction",
    "edition",
    "in_force_from",
    "source",
    "clause",
    "kind",
    "status",
)
MODEL_YEARS = ("binds_from_model_year", "binds_to_model_year")
OPTIONAL_KEYS = (*MODEL_YEARS, "note")
WORDS = "words"
UNDATED = "undated"

FACT_UNITS: Mapping[str, Unit] = MappingProxyType(
    {
        **UNITS,
        "mm²/s": Unit("kinematic viscosity", 1e-6),
        "cm³/ft": Unit("volume per length", 1e-6 / 0.3048),
        "1/°F": Unit("thermal expansion", 9 / 5),
        "kg/m³": Unit("density", 1.0),
        "USD": Unit("money", 1.0),
    }
)


@dataclass(frozen=True)
class Source:
    """Where numbers come from, named once."""

    key: str
    title: str
    publisher: str
    edition: str
    kind: str
    how_read: str


@dataclass(frozen=True)
class Fact:
    """One published number. `si` is its value in SI, or None for a rule in words."""

    id: str
    title: str
    value: str
    unit: str
    direction: str
    edition: str
    in_force_from: str
    source: str
    clause: str
    kind: str
    status: str
    si: float | None
    binds_from_model_year: int | None = None
    binds_to_model_year: int | None = None
    note: str = ""

    def bearing(self, model_year: int | None) -> str:
        """What the number is for a car of a model year, in words: a reference value says whom it binds.

        >>> from estimator.facts.load_facts import facts
        >>> facts()["failed-circuit-stop"].bearing(1972)
        'reference value; binds cars from model year 2001, not one of 1972'
        """
        if self.kind == "rule":
            return "a rule"
        if self.kind == "yardstick":
            first, last = self.binds_from_model_year, self.binds_to_model_year
            if first is None:
                return "reference value; not required of this car"
            years = f"binds cars from model year {first}" + (f" to {last}" if last else "")
            if model_year is None:
                return f"{years}; model year not known"
            if first <= model_year <= (last or model_year):
                return years
            return f"reference value; {years}, not one of {model_year}"
        return "a property" if self.kind == "property" else "common practice"
