"""What changed in the limits between two appraisals of a document, check by check, and why."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.limits.judging.verdict_words import SIDES
from estimator.limits.rows.methods import SIDE_WORDS
from estimator.limits.working import WorkingRow
from estimator.quantities import after_number, printed

_NONE = "none"


@dataclass(frozen=True)
class LimitChange:
    title: str
    before: str
    after: str
    why: str


@dataclass(frozen=True)
class _Limit:
    """A side of a check: its figure as the shop sees it, and the row that gives it."""

    title: str
    text: str
    row: str


def limit_changes(before: Appraisal, after: Appraisal) -> tuple[LimitChange, ...]:
    """Every limit whose figure differs, in the order of the checks."""
    old, new = (dict(_limits(appraisal)) for appraisal in (before, after))
    found = []
    for key in dict.fromkeys((*old, *new)):
        was, now = old.get(key), new.get(key)
        texts = (was.text if was else _NONE, now.text if now else _NONE)
        if texts[0] != texts[1]:
            rows = dict.fromkeys((was.row if was else _NONE, now.row if now else _NONE))
            found.append(LimitChange((now or was).title, *texts, " → ".join(rows)))  # type: ignore[union-attr]
    return tuple(found)


def _limits(appraisal: Appraisal) -> Iterator[tuple[tuple[str, str], _Limit]]:
    rows = {row.label: row for row in appraisal.workings.rows.values()}
    for item in appraisal.limits:
        for side in SIDES:
            if label := getattr(item, side):
                title = f"{item.label}, {SIDE_WORDS[side]}"
                yield (item.ref, side), _Limit(title, _text(rows[label]), f"{label} ({item.source})")


def _text(row: WorkingRow) -> str:
    """A figure as finely as it is printed."""
    if isinstance(row.shown, str):
        return row.shown
    return f"{printed(row.shown, row.unit)}{after_number(row.unit)}"
