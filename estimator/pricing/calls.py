"""What calls for each job: causes that the readings point to, and findings that none of these explains."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from estimator.boxes.keys import CheckRef, LineRef
from estimator.diagnosis.causes.calling import SHARED, Caller, Callers
from estimator.diagnosis.causes.result import Cause
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.verdict_words import FAULT, OUTSIDE
from estimator.pricing.plan import Plan, PlannedLine

PAST, POINTED = "was ", "readings point to"
CAUSE, CURED = "cause", "cured by it"
OR = " or "
# So many checks are named in a reason.
NAMED = 3


@dataclass(frozen=True)
class Call:
    """What ties a reason to a job line: readings that point to a cause, or the verdict of a finding.

    `check` are the reason's words, `findings` the rows of the inspection behind it. `active` is 1 while it calls; `past` is 1
    of readings before work that called, or that the job cures: a line that was decided on keeps them as its reason. `said` is
    the verdict of a finding.
    """

    ref: str
    check: str
    verdict: str
    line: str
    active: int
    past: int = 0
    findings: tuple[CheckRef, ...] = ()
    said: str = ""
    cause: Cause | None = None

    @property
    def label(self) -> str:
        return f"call {self.ref.removeprefix('c')}"

    @property
    def active_line(self) -> str:
        return self.line if self.active == 1 else f"{PAST}{self.line}" if self.past == 1 else ""


@dataclass(frozen=True)
class Cured:
    """A job line that some cause calls, with the rows that it cures and hypotheses foretell."""

    line: PlannedLine
    rows: tuple[CheckRow, ...]


def because(words: str) -> str:
    """Return a reason with what begins it.

    >>> because("hold, system 1"), because("readings point to a weak pump: hold")
    ('because of hold, system 1', 'because readings point to a weak pump: hold')
    """
    return f"because {words}" if words.startswith(POINTED) else f"because of {words}"


def short_title(row: CheckRow) -> str:
    """What a check is called in a list."""
    return row.check.brief or row.check.title


def cured_lines(plan: Plan, callers: Callers) -> tuple[Cured, ...]:
    """Return the lines that causes call, each once, with what they cure."""
    lines = {line.ref: line for line in plan.lines}
    wanted: dict[LineRef, set[str]] = {}
    for item in callers.all:
        for ref in item.cause.lines:
            wanted.setdefault(ref, set()).update(item.moves)
    cures: dict[LineRef, list[CheckRow]] = {ref: [] for ref in wanted}
    for line, row in plan.cures:
        check = callers.check_of.get(row.ref, "")
        if check in wanted.get(line.ref, ()) and check not in SHARED:
            cures[line.ref].append(row)
    return tuple(Cured(lines[ref], tuple(rows)) for ref, rows in cures.items() if rows)


def listed(rows: Mapping[CheckRef, CheckRow], refs: Iterable[tuple[CheckRef, bool]]) -> str:
    """Return what the first checks that are wanted are called, each once."""
    named: dict[str, bool] = {}
    for ref, wanted in refs:
        title = short_title(rows[ref])
        named[title] = named.get(title, False) or wanted
    return ", ".join([title for title, wanted in named.items() if wanted][:NAMED])


def calls_of(plan: Plan, standings: Iterable[Standing], callers: Callers) -> tuple[Call, ...]:
    """Return every call: of causes first, then what jobs cure, then of findings."""
    by_ref = {item.ref: item for item in standings}
    rows = {row.ref: row for row in plan.checks}
    labels = {line.ref: line.label for line in plan.lines}

    def of_cause(item: Caller, line: LineRef) -> Call:
        refs = [(callers.refs[check][0], check in item.explains) for check in item.moves]
        found = tuple(ref for check in item.explains for ref in callers.refs[check])
        words = f"{POINTED} {item.cause.pointed_to}: {listed(rows, refs)}" if found else ""
        return Call("", words, CAUSE, labels[line], int(len(found) > 0), 0, found, cause=item.cause)

    def of_cured(item: Cured) -> Call:
        refs = [(row.ref, by_ref[row.ref].before.verdict in (OUTSIDE, FAULT)) for row in item.rows]
        bad = tuple(ref for ref, was in refs if was)
        return Call("", listed(rows, refs), CURED, item.line.label, 0, int(len(bad) > 0), bad)

    def of_finding(row: CheckRow, verdicts: tuple[str, ...], line: PlannedLine) -> Call:
        item = by_ref[row.ref]
        now = heard = item.before.verdict in verdicts or item.after.verdict in verdicts
        if row.ref in callers.words:
            now = callers.words[row.ref] in verdicts and not callers.explained(row.ref)
        said = item.after.verdict if item.after.verdict in verdicts else item.before.verdict
        past = int(heard and not now)
        return Call("", row.label, OR.join(verdicts), line.label, int(now), past, (row.ref,), said)

    def all_calls() -> Iterator[Call]:
        yield from (of_cause(item, line) for item in callers.all for line in item.cause.lines)
        yield from map(of_cured, cured_lines(plan, callers))
        yield from (of_finding(*item) for item in plan.calls)

    return tuple(replace(item, ref=f"c{number}") for number, item in enumerate(all_calls(), 1))
