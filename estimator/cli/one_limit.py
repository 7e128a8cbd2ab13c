"""The working of one limit on one page: result, reading, steps nearest to it first, data and sources."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import typer

from estimator.cli.output import counted, figure, wrapped
from estimator.limits.judging.verdict_words import SIDES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from estimator.limits.catalog.limit_set import LimitSet
    from estimator.limits.judging.judging import Judged, Limits
    from estimator.limits.working import WorkingRow

PAGE, DATA = 51, 10  # lines: of steps, data and sources; of data


def chosen(found: LimitSet, check: str, place: str) -> Limits:
    """Return the limits of a check at a place; the place may be left out where there is one.

    Raises typer.BadParameter with what is allowed.
    """
    by_check: dict[str, dict[str, Limits]] = {}
    for item in found.limits:
        if not item.reason and not any(getattr(item, side) for side in SIDES):
            continue  # recorded only
        name, _, where = item.ref.partition(".")
        by_check.setdefault(name, {})[where] = item
    if check not in by_check:
        allowed = f"Use one of: {', '.join(sorted(by_check))}."
        raise typer.BadParameter(f'"{check}" is not a check with a limit. {allowed}', param_hint="--check")
    places = by_check[check]
    if len(places) == 1 and not place:
        return next(iter(places.values()))
    if place not in places:
        wrong = f'"{place}" is not a place of {check}.' if place else f"{check} is checked at several places."
        raise typer.BadParameter(f"{wrong} Use one of: {', '.join(places)}.", param_hint="--place")
    return places[place]


def rests_on(rows: Iterable[WorkingRow], found: LimitSet) -> list[WorkingRow]:
    """Return rows and all that they are computed from, nearest first."""
    from estimator.limits.working import names_in

    taken = {row.ref: row for row in rows}
    waiting = list(taken.values())
    while waiting:
        names = names_in(waiting.pop(0).bare)
        refs = (name.removeprefix("working.").removesuffix(".si") for name in names if name.startswith("working."))
        new = {ref: found.workings.rows[ref] for ref in refs if ref not in taken}
        taken |= new
        waiting += new.values()
    return list(taken.values())


def read_lines(judged: Judged) -> Iterator[str]:
    """What was read of the check in each phase, and what became of it."""
    for phase, words in (("before", "before work"), ("after", "after work")):
        mine = judged.phases[phase]
        value = judged.shown_in(phase)
        if not isinstance(value, str):
            u = "" if isinstance(mine.u_shown, str) else f" ± {figure(mine.u_shown, 3)}"
            yield f"{words}: {figure(value, 4)}{u}{judged.said_unit}, {mine.verdict}"


class Sources:
    """Sources by number, in the order in which they are first named."""

    def __init__(self) -> None:
        self._known: dict[str, int] = {}

    def numbers(self, text: str) -> str:
        """Return the numbers of the sources in a text, as "[1, 2]"."""
        found = [str(self._known.setdefault(one, len(self._known) + 1)) for one in filter(None, text.split("; "))]
        return f"[{', '.join(found)}]" if found else ""

    def lines(self) -> list[str]:
        return [line for one, at in self._known.items() for line in wrapped(f"[{at}] {one}", "  ", "      ")]


def page(
    rows: list[WorkingRow],
    row_lines: Callable[[WorkingRow, Sources], list[str]],
    given: Callable[[WorkingRow], str],
    room: int,
) -> Iterator[str]:
    """Yield as many steps as there is room for, how many are left, the data that all rest on, the sources by number."""
    computed = [row for row in rows if not row.given]
    data = "; ".join(given(row) for row in rows if row.given)
    lines = list(wrapped(data, "  ")) if data else []
    if len(lines) > DATA:
        lines = [*lines[: DATA - 1], "  …; all are listed without --check"]
    yield "Result first, then what it is computed from"
    sources, shown = Sources(), Sources()
    for number, row in enumerate(computed):
        mine = row_lines(row, sources)
        room -= len(mine)
        if room < len(lines) + len(sources.lines()):
            yield f"  further back: {counted(len(computed) - number, 'figure')}, listed without --check"
            break
        yield from row_lines(row, shown)
    for heading, these in (("Data", lines), ("Sources", shown.lines())):
        if these:
            yield from ("", heading, *these)
