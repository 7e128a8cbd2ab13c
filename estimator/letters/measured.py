"""The one table: everything that was measured, before and after work, beside its limit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.letters.formats import NBSP, capital, listing, unit_after
from estimator.letters.reading_phrases import Shown, Subject, gave_up, subjects
from estimator.limits.judging.judging import Limits
from estimator.limits.judging.verdict_words import NO_LIMIT, RECORDED
from estimator.records.visits import PastVisit


@dataclass(frozen=True)
class Row:
    """A line of the table. `limit` is what is wanted; `notes` say what else must be known of it."""

    name: str
    limit: str
    notes: tuple[str, ...]
    cells: tuple[Shown, ...]


@dataclass(frozen=True)
class Measured:
    """The table's rows by group of the work, the phases that have a column, and notes by their mark."""

    phases: tuple[str, ...]
    groups: tuple[tuple[str, tuple[Row, ...]], ...]
    notes: tuple[tuple[str, str], ...] = ()


def measured(appraisal: Appraisal) -> Measured:
    """Everything that a gauge or a person's pen gave; checks by eye and hand stand in prose."""
    items = [item for item in subjects(appraisal) if item.judged is not None or _written(item)]
    read = [
        item
        for item in items
        if any(_shown(item, phase).text or _shown(item, phase).verdict for phase in ("before", "after"))
    ]
    phases = tuple(phase for phase in ("before", "after") if any(_shown(item, phase).text for item in read))
    groups: dict[str, list[Row]] = {}
    last = appraisal.record.last_visit
    notes = dict.fromkeys(item.judged_as for item in read if item.judged_as)
    marks = {note: "*" * number for number, note in enumerate(notes, 1)}
    for same in _repeats(read):
        groups.setdefault(same[0].standing.row.check.group, []).append(_row(same, phases, marks, last))
    told = tuple((mark, f"Judged: {note}.") for note, mark in marks.items())
    return Measured(phases, tuple((capital(group), tuple(rows)) for group, rows in groups.items()), told)


def _written(item: Subject) -> bool:
    return item.looked is not None and item.looked.row.check.kind == "text"


def _shown(item: Subject, phase: str) -> Shown:
    """A cell; empty for what wasn't measured."""
    shown = item.shown(phase)
    if not shown.text:
        why = item.standing.why
        words = f"{shown.verdict} ({why})" if gave_up(shown.verdict) and why and phase == "before" else shown.verdict
        return Shown("", "", words if gave_up(shown.verdict) else "", shown.bad)
    typed = "" if shown.typed == shown.text else shown.typed
    verdict = "" if shown.verdict in (RECORDED, NO_LIMIT) else shown.verdict
    return Shown(shown.text, typed, verdict, shown.bad, shown.own_words)


def _repeats(items: list[Subject]) -> list[list[Subject]]:
    """Subjects, those together that are readings of one check at one place."""
    found: dict[tuple[str, str], list[Subject]] = {}
    for item in items:
        found.setdefault((item.standing.row.check.id, item.standing.row.place.id), []).append(item)
    return list(found.values())


def _row(same: list[Subject], phases: tuple[str, ...], marks: Mapping[str, str], last: PastVisit | None) -> Row:
    item = same[0]
    wanted, to_drive = (item.wanted(kind) if item.judged else "" for kind in ("service", "danger"))
    notes = [
        item.not_driven() if to_drive and to_drive != wanted else "",
        _no_limit(item.judged.limits) if item.judged is not None and not wanted else "",
        _last(same, last),
    ]
    place = item.standing.row.place
    name = item.title if place.kind == "car" else f"{item.title}, {place.title}"
    name += marks.get(item.judged_as, "")
    cells = tuple(_together([_shown(one, phase) for one in same]) for phase in phases)
    return Row(capital(name), wanted, tuple(note for note in notes if note), cells)


def _last(same: list[Subject], last: PastVisit | None) -> str:
    """What the last visit read of the same, in words."""
    found = [last.latest[item.standing.ref] for item in same if last is not None and item.standing.ref in last.latest]
    if not found:
        return ""
    unit = found[0].unit
    return f"last visit {'; '.join(item.value for item in found)}{unit_after(unit) if unit else ''}"


def _no_limit(limits: Limits) -> str:
    """Why there is no limit; what the car's file lacks is for the workshop to know."""
    return "no limit on file" if limits.needs else limits.reason


def _together(cells: list[Shown]) -> Shown:
    """Several readings as one cell, the unit once where all have it; a verdict that not all share, as often as it stands."""
    if len(cells) == 1:
        return cells[0]
    texts = [cell.text for cell in cells if cell.text]
    units = {text.partition(NBSP)[2] for text in texts}
    if len(units) == 1:
        texts = [text.partition(NBSP)[0] for text in texts[:-1]] + texts[-1:]
    verdicts = [cell.verdict for cell in cells if cell.verdict]
    words = dict.fromkeys(verdicts)
    told = listing(words) if len(words) < 2 else listing(f"{verdicts.count(word)} {word}" for word in words)
    return Shown("; ".join(texts), "", told, any(cell.bad for cell in cells))
