"""What a method works with and finds: it adds its working rows and returns the names of those that are limits."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from estimator.facts.checks import Check
from estimator.limits.judging.judging import Derived
from estimator.limits.judging.verdict_words import SIDES
from estimator.limits.needs import Need
from estimator.limits.working import Si, Workings
from estimator.places import Place
from estimator.quantities import Quantity
from estimator.records import CarLimit, JobRecord

NO_DATUM = "the car file gives no datum for it, and none can be computed"
SIDE_WORDS = {
    "service_low": "service limit, low",
    "service_high": "service limit, high",
    "danger_low": "do-not-drive limit, low",
    "danger_high": "do-not-drive limit, high",
}


@dataclass(frozen=True)
class Found:
    """What a method found for a check at a place: by side the reference of a working row (`scope.name`), and in words
    why there would be none. `estimates` are the sides that foretell a sound car or are common practice: there the
    maker's figure decides alone; elsewhere the stricter does. `needs` are data that it waits for beside those of its
    rows."""

    sides: Mapping[str, str] = field(default_factory=dict)
    reason: str = ""
    estimates: tuple[str, ...] = ()
    needs: tuple[Need, ...] = ()


@dataclass(frozen=True)
class Context:
    """What a method works with."""

    record: JobRecord
    workings: Workings

    @property
    def readings(self) -> Mapping[str, Si]:
        return self.workings.readings


Method = Callable[[Context, Check, Place], Found]
DerivedMethod = Callable[[Context, Check, Place], Derived]


def maker(context: Context, check: Check, place: Place) -> Found:
    """No computed limit: the maker's datum alone, which `work_out` looks up for every check."""
    return Found(needs=(from_maker(check),))


def from_maker(check: Check) -> Need:
    """The maker's limit of a check, as a datum to be had."""
    return Need("[[limits]]", f'check = "{check.id}"')


def _maker_datum(record: JobRecord, check: Check, place: Place) -> CarLimit | None:
    """The datum for this place, else the one for every place."""
    mine = [item for item in record.car.limits if item.check == check.id]
    return next((item for item in mine if place.id in item.at), next((item for item in mine if not item.at), None))


def _given(datum: CarLimit) -> dict[str, Quantity]:
    return {side: getattr(datum, side) for side in SIDES if getattr(datum, side) is not None}


def maker_rows(context: Context, check: Check, place: Place) -> dict[str, str]:
    """The sides that car.toml gives for a check at a place, each with the reference of its row."""
    datum = _maker_datum(context.record, check, place)
    if datum is None:
        return {}
    scope = context.workings.scope(place.id if datum.at else "car")
    found: dict[str, str] = {}
    for side, quantity in _given(datum).items():
        name = f"{check.id}-{side.replace('_', '-')}"
        ref = f"{scope.name}.{name}"
        if ref not in context.workings.rows:
            words = f"{SIDE_WORDS[side]}: {check.title}"
            scope.datum(name, words, words, quantity, check.quantity or "count", datum.source, datum.status)
        found[side] = ref
    return found
