"""The catalog of checks (`checks.toml`), loaded strictly."""

from __future__ import annotations

import functools
import tomllib
from importlib.resources import files
from typing import Annotated, Literal, Self, get_args

from pydantic import Field, model_validator

from estimator.places import Place
from estimator.records import Car, CarsWith, Id, Model, PlaceKind, Text, Words

Group = Literal[
    "first ten minutes",
    "depressurized and cold",
    "accumulators, depressurized and cold",
    "engine running",
    "charging, engine running",
    "engine stopped",
    "engine stopped, pedal",
    "wheels, wear",
    "wheels, runout",
    "wheels, hand checks",
    "lines and wheel bolts",
    "bench",
    "road",
]
GROUPS: tuple[Group, ...] = get_args(Group)
# What danger means on a side: a do-not-drive limit of its own, the service limit, or none, with the reason.
Danger = Annotated[str, Field(pattern=r"^(own|service|none: \S.*)$")]


class Check(Model):
    """One check as the catalog describes it; a car has it at each of its places of `place_kind`."""

    id: Id
    title: Words
    told: Text = ""
    brief: Text = ""
    group: Group
    place_kind: PlaceKind
    kind: Literal["number", "look", "family", "recorded", "text"]
    quantity: Literal[
        "",
        "pressure",
        "length",
        "distance",
        "volume",
        "temperature",
        "time",
        "age",
        "torque",
        "angle",
        "ratio",
        "count",
        "rotation",
    ] = ""
    variant: Literal["", "A", "B"] = ""
    fluid: Literal["", "glycol", "mineral", "silicone"] = ""
    has: CarsWith = ""
    repeats: int = Field(default=1, ge=1, le=3)
    asked: Literal["always", "after work", "on demand", "once entered"]
    safety: bool
    limit: Text = ""
    judged: Text = ""
    judged_as: Text = ""
    drive_low: Danger = "service"
    drive_high: Danger = "service"
    believable: Text = ""
    over_time: Literal["", "falls", "rises", "same"] = ""
    day_to_day: float = Field(default=0.0, ge=0)
    rests_on: tuple[Id, ...] = ()
    voided_with: tuple[Id, ...] = ()
    uncertainty: float | None = Field(default=None, ge=0)
    read_by: tuple[Words, ...] = ()
    how: Words

    @model_validator(mode="after")
    def _of_a_number(self) -> Self:
        said = {"drive_low", "drive_high", "believable", "over_time", "rests_on", "read_by"} & self.model_fields_set
        if said and self.kind not in ("number", "recorded"):
            raise ValueError(f"{self.id}: {', '.join(sorted(said))} on a check that is no number")
        return self

    @property
    def road(self) -> bool:
        return self.group == "road"

    def danger(self, side: str) -> str:
        """What danger means on a side, "low" or "high": own, service or none."""
        return (self.drive_low if side == "low" else self.drive_high).partition(":")[0]

    @property
    def measured(self) -> bool:
        """Whether a gauge gives it."""
        return self.kind in ("number", "recorded") and self.uncertainty is None

    @property
    def unasked(self) -> bool:
        """Whether nobody asks for it and nothing rests on it: no reason is needed where it isn't made."""
        return self.asked == "once entered" and not self.safety

    def applies_to(self, car: Car) -> bool:
        return self.variant in ("", car.car.variant) and self.fluid in ("", car.fluid.family) and car.has(self.has)

    def places(self, car: Car) -> tuple[Place, ...]:
        return car.places_with(self.has, self.place_kind) if self.applies_to(car) else ()


@functools.cache
def checks() -> tuple[Check, ...]:
    """All checks, in the order of the work."""
    text = files("estimator.facts").joinpath("checks.toml").read_text(encoding="utf-8")
    found = tuple(Check.model_validate(item) for item in tomllib.loads(text)["check"])
    ids = [check.id for check in found]
    if doubled := {check_id for check_id in ids if ids.count(check_id) > 1}:
        raise ValueError(f"checks.toml: the id {sorted(doubled)} stands more than once")
    for check in found:
        if unknown := {*check.rests_on, *check.voided_with} - set(ids):
            raise ValueError(f"checks.toml: {check.id} names {sorted(unknown)}, which no check has for its id")
    return tuple(sorted(found, key=lambda check: GROUPS.index(check.group)))


@functools.cache
def check_by_id(check_id: str) -> Check:
    return next(check for check in checks() if check.id == check_id)
