"""The limits of each check at each place: the maker's datum where car.toml gives one, else what a method computes.

A method adds its working rows and returns the names of those that are limits. A side that the maker's data give wins
over a computed one; a danger side that nobody gives is the service side.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from estimator.facts.checks import Check
from estimator.limits.judging import Derived, Limits
from estimator.limits.rows import CheckRow
from estimator.limits.verdict_words import SIDES
from estimator.limits.working import Si, Workings
from estimator.places import Place
from estimator.quantities import Quantity
from estimator.records import CarLimit, JobRecord

NO_DATUM = "car.toml gives no datum for it, and none can be computed"
_SIDE_WORDS = {
    "service_low": "lowest",
    "service_high": "highest",
    "danger_low": "lowest to drive with",
    "danger_high": "highest to drive with",
}


@dataclass(frozen=True)
class Found:
    """What a method found for a check at a place: by side the reference of a working row (`scope.name`), whether it
    binds this car ("limit") or is a yardstick, and in words why there would be none."""

    sides: Mapping[str, str] = field(default_factory=dict)
    binding: str = "limit"
    reason: str = ""


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


@dataclass(frozen=True)
class LimitSet:
    """All workings of a record, the limits of each check at each place, and what is judged in place of a reading."""

    workings: Workings
    limits: tuple[Limits, ...]
    derived: Mapping[tuple[str, str], Derived]

    def of(self, row: CheckRow) -> Limits:
        return self.by_ref[f"{row.check.id}.{row.place.id}"]

    def derived_of(self, row: CheckRow) -> Derived:
        return self.derived.get((row.check.id, row.place.id), Derived())

    @property
    def by_ref(self) -> Mapping[str, Limits]:
        return {item.ref: item for item in self.limits}


def work_out(record: JobRecord, rows: Sequence[CheckRow], readings: Mapping[str, Si]) -> LimitSet:
    """Work out the limits of all rows of numbers, and the derived values that some of them are judged by."""
    from estimator.limits.catalog import DERIVED, METHODS, inform

    workings = Workings(record, readings=dict(readings))
    context = Context(record, workings)
    limits: dict[str, Limits] = {}
    derived: dict[tuple[str, str], Derived] = {}
    for row in rows:
        check, place = row.check, row.place
        key = f"{check.id}.{place.id}"
        if check.kind not in ("number", "recorded") or key in limits:
            continue
        found = METHODS[check.limit](context, check, place) if check.limit else Found()
        limits[key] = _limits(context, row, found)
        if check.judged:
            derived[check.id, place.id] = DERIVED[check.judged](context, check, place)
    inform(context)
    return LimitSet(workings, tuple(limits.values()), derived)


def maker(context: Context, check: Check, place: Place) -> Found:
    """No computed limit: the maker's datum alone, which `work_out` looks up for every check."""
    return Found(reason=NO_DATUM)


def _limits(context: Context, row: CheckRow, found: Found) -> Limits:
    check, place = row.check, row.place
    sides = dict(found.sides)
    binding = found.binding
    if given := maker_rows(context, check, place):
        sides = sides | given if found.binding == "limit" else given
        binding = "limit"
    named = {side: context.workings.rows[ref] for side, ref in sides.items()}
    labels = {side: row.label for side, row in named.items()}
    for side in ("low", "high"):
        labels.setdefault(f"danger_{side}", labels.get(f"service_{side}", ""))
    source = _once_each(row.source for row in named.values())
    status = _once_each(row.status for row in named.values())
    unknown = any(isinstance(row.si, str) for row in named.values())
    label = check.title if place.kind == "car" else f"{check.title}, {place.title}"
    reason = (found.reason or NO_DATUM) if check.kind != "recorded" and (unknown or not sides) else ""
    return Limits(
        f"{check.id}.{place.id}",
        label,
        **{side: labels.get(side, "") for side in SIDES},
        source=source,
        status=status,
        binding=binding if sides else "",
        reason=reason,
    )


def _once_each(texts: Iterable[str]) -> str:
    """Lists of sources or statuses as one list without doubles."""
    return "; ".join(dict.fromkeys(part for text in texts if text for part in text.split("; ")))


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
            words = f"{_SIDE_WORDS[side]} {check.title}"
            scope.datum(name, words, words, quantity, check.quantity or "count", datum.source, datum.status)
        found[side] = ref
    return found
