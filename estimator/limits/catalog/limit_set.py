"""The limits of each check at each place: the maker's datum where car.toml gives one, else what a method computes.

A side that the maker's data give wins over a computed one; a danger side that nobody gives is the service side.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from estimator.limits.catalog.catalog import DERIVED, METHODS, inform
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.judging import Derived, Limits
from estimator.limits.judging.verdict_words import SIDES
from estimator.limits.needs import needs_words
from estimator.limits.rows.methods import NO_DATUM, Context, Found, maker_rows
from estimator.limits.working import Si, Workings
from estimator.records import JobRecord


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
    lacking = check.kind != "recorded" and (unknown or not sides)
    needs = frozenset(found.needs).union(*(row.needs for row in named.values()))
    reason = (f"needs {needs_words(needs)}" if needs else found.reason or NO_DATUM) if lacking else ""
    return Limits(
        f"{check.id}.{place.id}",
        label,
        **{side: labels.get(side, "") for side in SIDES},
        source=source,
        status=status,
        binding=binding if sides else "",
        reason=reason,
        needs=needs if lacking else frozenset(),
    )


def _once_each(texts: Iterable[str]) -> str:
    """Lists of sources or statuses as one list without doubles."""
    return "; ".join(dict.fromkeys(part for text in texts if text for part in text.split("; ")))
