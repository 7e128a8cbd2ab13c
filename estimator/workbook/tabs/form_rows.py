"""The rows of the inspection form: a check at two places side by side, numbered in the order of the work."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.facts.stages import Band, Stage, stages
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.usual_gauges import UsualGauge
from estimator.workbook.book import Tab

_RIGHT = ("front-right", "rear-right")
_WHEELS = {"front-left": "front", "front-right": "front", "rear-left": "rear", "rear-right": "rear"}


TABS = {"before": "Inspection", "after": "After work"}


@dataclass(frozen=True)
class FormPlace:
    """Where the numbers of a form stand: its first column, as a template names it, and the row of each number."""

    column: str
    rows: Mapping[str, int]

    @classmethod
    def of(cls, tab: Tab) -> FormPlace:
        rows = [row for part in (tab.head, *tab.blocks) for row in part.rows]
        found: dict[str, int] = {}
        for at, row in enumerate(rows, 1):
            found.setdefault(str(row.cells[0].value), at)
        return cls(f"{rows[0].cells[0].key}~{rows[-1].cells[0].key}", found)


@dataclass(frozen=True)
class FormRow:
    """A row of the form: its number, the check, the check at one place and at another."""

    number: int
    title: str
    halves: tuple[CheckRow | None, CheckRow | None]


@dataclass(frozen=True)
class FormBand:
    """Rows under one heading, what their halves are, and the gauges that they share."""

    title: str
    halves: tuple[str, str]
    rows: tuple[FormRow, ...]
    gauges: tuple[UsualGauge, ...]


@dataclass(frozen=True)
class FormPage:
    """A stage of the inspection."""

    number: int
    stage: Stage
    bands: tuple[FormBand, ...]


def form_pages(appraisal: Appraisal) -> tuple[FormPage, ...]:
    """Return all pages of the form that a car has."""
    by_check: dict[str, list[CheckRow]] = {}
    for row in appraisal.plan.checks:
        by_check.setdefault(row.check.id, []).append(row)
    pages = []
    number = 0
    for page, stage in enumerate(stages(), 1):
        bands = []
        for band in stage.band:
            rows = []
            for halves in _pairs(band, by_check):
                number += 1
                rows.append(FormRow(number, _title(halves), halves))
            if rows:
                bands.append(FormBand(band.title, _places(rows), tuple(rows), _gauges(band, appraisal)))
        pages.append(FormPage(page, stage, tuple(bands)))
    return tuple(pages)


def numbers_of(pages: Sequence[FormPage]) -> Mapping[str, int]:
    """Return the number of each check on the form, by its reference."""
    return {
        str(check.ref): row.number
        for page in pages
        for band in page.bands
        for row in band.rows
        for check in row.halves
        if check is not None
    }


def _pairs(band: Band, by_check: Mapping[str, list[CheckRow]]) -> list[tuple[CheckRow | None, CheckRow | None]]:
    found: list[tuple[CheckRow | None, CheckRow | None]] = []
    for check in band.checks:
        groups: dict[int, list[CheckRow]] = {}
        for row in by_check.get(check, ()):
            groups.setdefault(row.number, []).append(row)
        for mine in groups.values():
            for start in range(0, len(mine), 2):
                pair = mine[start : start + 2]
                found.append((pair[0], pair[1] if len(pair) > 1 else None))
    return found


def _title(halves: tuple[CheckRow | None, CheckRow | None]) -> str:
    row = halves[0] or halves[1]
    assert row is not None
    title = f"{row.check.title} {row.number}" if row.check.repeats > 1 else row.check.title
    if row.place.kind == "wheel":
        return f"{title}, {_WHEELS[row.place.id]}"
    if row.place.kind == "pedal-circuit":
        return f"{title}, pedal circuit"
    return title


def _places(rows: Sequence[FormRow]) -> tuple[str, str]:
    """What the halves of a band are."""

    def words(row: CheckRow) -> str:
        if row.place.kind == "wheel":
            return "right" if row.place.id in _RIGHT else "left"
        return "car" if row.place.kind in ("car", "pedal-circuit") else row.place.title

    sides: tuple[list[str], list[str]] = ([], [])
    for row in rows:
        for side, half in zip(sides, row.halves, strict=True):
            if half is not None and words(half) not in side:
                side.append(words(half))
    left, right = (" or ".join(side) for side in sides)
    return left, right


def _gauges(band: Band, appraisal: Appraisal) -> tuple[UsualGauge, ...]:
    return tuple(item for item in appraisal.shared_gauges if item.ref in band.checks)
