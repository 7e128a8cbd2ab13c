"""Which entry boxes matter at a stage of the work, and what each is called."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import fields

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.boxes.entries import ConsentBoxes, VisitBoxes
from estimator.boxes.keys import CheckRef
from estimator.limits.judging.standing import Standing
from estimator.next_step import AFTER, BEFORE, DECISIONS, ROAD, WORK, at_standstill, road_lines, undone
from estimator.pricing.decisions import UNDECIDED

_COLUMNS = {
    "before": "",
    "after": "",
    "gauge_before": "gauge",
    "gauge_after": "gauge",
    "how_before": "how read",
    "how_after": "how read",
}


def matters(appraisal: Appraisal, stage: str) -> set[str] | None:
    """Return the keys of the boxes that matter at a stage; None for all there are."""
    makers: dict[str, Callable[[Appraisal], Iterator[str]]] = {
        BEFORE: _before,
        DECISIONS: _decisions,
        WORK: _work,
        AFTER: _after,
        ROAD: _road,
    }
    if stage == "all":
        return None
    return set(makers[stage](appraisal)) if stage in makers else set()


def _readings(items: Iterable[Standing], phase: str) -> Iterator[str]:
    yield from (keys.key("visit", phase, item.name) for item in fields(VisitBoxes))
    for item in items:
        yield keys.reading(item.ref, phase)
        if item.row.check.measured:
            yield keys.gauge(item.ref, phase)
        if item.row.check.read_by:
            yield keys.stated_how(item.ref, phase)


def _before(appraisal: Appraisal) -> Iterator[str]:
    early = any(group.early and not group.gauged for group in appraisal.diagnosis.groups)
    first = [item for item in appraisal.standings if item.row.check.unasked and early]
    yield from _readings([*first, *at_standstill(appraisal)], "before")


def _after(appraisal: Appraisal) -> Iterator[str]:
    items = (item for item in at_standstill(appraisal) if not item.good or item.contested or item.made_after)
    yield from _readings(items, "after")


def _road(appraisal: Appraisal) -> Iterator[str]:
    yield from _readings((item for item in appraisal.standings if item.asked and item.road == "yes"), "after")
    road = road_lines(appraisal)
    yield from (
        keys.key("line", line.ref, "done") for line in appraisal.labor.lines if line.agreed and line.ref in road
    )


def _decisions(appraisal: Appraisal) -> Iterator[str]:
    for line in appraisal.labor.lines:
        if line.proposed or line.decided.decision != UNDECIDED:
            yield keys.decision(line.ref)
    for extra in appraisal.extra_lines:
        if extra.proposed:
            yield extra.key("decision")
    yield keys.key("disposal", "drained", "liters")
    free = next((item.ref for item in appraisal.consents if not (item.told or item.who or item.stage)), "")
    for item in fields(ConsentBoxes) if free else ():
        yield keys.key("consent", free, item.name)


def _work(appraisal: Appraisal) -> Iterator[str]:
    yield from (keys.key("line", line.ref, "done") for line in undone(appraisal))
    yield keys.key("disposal", "drained", "liters")


def titles(appraisal: Appraisal) -> Callable[[str], tuple[str, str]]:
    """Return what tells of a box, by its key, what it is called and the heading that it stands under."""
    lines = {line.ref: line.line.title for line in appraisal.labor.lines}

    def told(key: str) -> tuple[str, str]:
        block, ref, column = keys.apart(key)
        words = _COLUMNS.get(column, column.replace("_", " "))
        standing = appraisal.standing_of.get(CheckRef(ref)) if block in ("reading", "stated") else None
        if standing:
            return f"{standing.label}{words and ', '}{words}", standing.row.check.group
        name = lines.get(ref, "") if block == "line" else ""  # type: ignore[call-overload]
        heading = {"visit": "when, and by whom", "line": "jobs", "consent": "authorizations"}.get(block, block)
        return f"{name or f'{block} {ref}'}: {words or column}".replace("_", " "), heading.replace("_", " ")

    return told
