"""The limits of each check at each place, and what is judged in place of a reading."""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from estimator.limits.catalog.catalog import BELIEVABLE, DERIVED, METHODS, inform
from estimator.limits.catalog.decided_sides import DecidedSides
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.judging import Against, Believable, Derived, Limits
from estimator.limits.judging.verdict_words import PHASES, SIDES
from estimator.limits.needs import needs_words
from estimator.limits.rows.conflict_rows import AGAINST, conflict_rows
from estimator.limits.rows.methods import NO_DATUM, Context, Found, maker_rows
from estimator.limits.working import Si, WorkingRow, Workings
from estimator.records import JobRecord


@dataclass(frozen=True)
class LimitSet:
    """All workings of a record, the limits of each check at each place, and what is judged in place of a reading."""

    workings: Workings
    limits: tuple[Limits, ...]
    derived: Mapping[tuple[str, str], Derived]
    believable: Mapping[tuple[str, str], Believable]

    def of(self, row: CheckRow) -> Limits:
        return self.by_ref[f"{row.check.id}.{row.place.id}"]

    def values(self, limits: Limits) -> dict[str, Si]:
        """The sides of a limit in SI; "" for none, words for one that isn't known."""
        labels = {side: getattr(limits, side) for side in SIDES}
        return {side: self._by_label[label].si if label else "" for side, label in labels.items()}

    @functools.cached_property
    def _by_label(self) -> Mapping[str, WorkingRow]:
        return {row.label: row for row in self.workings.rows.values()}

    def derived_of(self, row: CheckRow) -> Derived:
        return self.derived.get((row.check.id, row.place.id), Derived())

    def believable_of(self, row: CheckRow) -> Believable:
        return self.believable.get((row.check.id, row.place.id), Believable())

    def against_of(self, row: CheckRow) -> Against:
        """What says whether the readings of a row contradict others."""
        check, place = row.check.id, row.place
        system = place.id
        if check == "precharge":
            system = next(item.system for item in self.workings.record.car.accumulators if item.id == place.id)
        names = [f"pan.{name}" if name == "against" else f"{system}.{name}" for name in AGAINST.get(check, ())]
        return Against(*(tuple(self.workings.rows[f"{name}-{phase}"].label for name in names) for phase in PHASES))

    @functools.cached_property
    def by_ref(self) -> Mapping[str, Limits]:
        return {item.ref: item for item in self.limits}


def work_out(record: JobRecord, rows: Sequence[CheckRow], readings: Mapping[str, Si]) -> LimitSet:
    """Work out the limits of all rows of numbers, and the derived values that some of them are judged by."""
    workings = Workings(record, readings=dict(readings))
    context = Context(record, workings)
    limits: dict[str, Limits] = {}
    derived: dict[tuple[str, str], Derived] = {}
    believable: dict[tuple[str, str], Believable] = {}
    for row in rows:
        check, place = row.check, row.place
        key = f"{check.id}.{place.id}"
        if check.kind not in ("number", "recorded") or key in limits:
            continue
        found = METHODS[check.limit](context, check, place) if check.limit else Found()
        limits[key] = _limits(context, row, found)
        if check.judged:
            derived[check.id, place.id] = DERIVED[check.judged](context, check, place)
        if check.believable:
            believable[check.id, place.id] = BELIEVABLE[check.believable](context, check, place)
    conflict_rows(context)
    inform(context)
    return LimitSet(workings, tuple(limits.values()), derived, believable)


def _limits(context: Context, row: CheckRow, found: Found) -> Limits:
    check, place = row.check, row.place
    given = maker_rows(context, check, place)
    decided = DecidedSides(context, check, place, found, given)
    sides = {side: ref for side in SIDES if (ref := decided.ref(side))}
    named = {side: context.workings.rows[ref] for side, ref in sides.items()}
    labels = {side: named[side].label for side in sides}
    members = [context.workings.rows[ref] for ref in decided.members]
    unknown = any(isinstance(item.si, str) for item in named.values())
    label = check.title if place.kind == "car" else f"{check.title}, {place.title}"
    needs = frozenset(found.needs).union(*(row.needs for row in named.values()))
    why = f"needs {needs_words(needs)}" if needs else found.reason or NO_DATUM
    why = why if check.kind != "recorded" else ""
    lacking = unknown or not sides
    return Limits(
        f"{check.id}.{place.id}",
        label,
        **{side: labels.get(side, "") for side in SIDES},
        source=_once_each(item.source for item in members),
        status=_once_each(item.status for item in members),
        why=why,
        reason=why if lacking else "",
        needs=needs if why and lacking else frozenset(),
        conflicts=decided.conflicts(),
    )


def _once_each(texts: Iterable[str]) -> str:
    """Lists of sources or statuses as one list without doubles."""
    return "; ".join(dict.fromkeys(part for text in texts if text for part in text.split("; ")))
