"""What calls for each job: causes that the readings point to, and findings that none of these explains."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from estimator.boxes.keys import CheckRef, LineRef
from estimator.diagnosis.causes.calling import Caller, Callers
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.verdict_words import FAULT, OUTSIDE
from estimator.pricing.plan import Plan, PlannedLine

POINTED = "readings point to"
BEFORE_WORK = "readings before work"


@dataclass(frozen=True)
class Call:
    """What ties a reason to a job line: readings that point to a cause, or the verdicts of a finding.

    `check` are the reason's words, `verdicts` one or two (of a cause its key), `findings` the rows of the inspection behind
    it, `signs` those of a cause that are named, each with a comma before. `active` is 1 while it calls.
    """

    ref: str
    check: str
    verdicts: tuple[str, ...]
    line: str
    active: int
    findings: tuple[CheckRef, ...] = ()
    said: str = ""
    signs: str = ""
    caller: Caller | None = None

    @property
    def label(self) -> str:
        return f"call {self.ref.removeprefix('c')}"

    @property
    def verdict(self) -> str:
        return self.verdicts[0]

    @property
    def also(self) -> str:
        """The other verdict, or the same."""
        return self.verdicts[-1]

    @property
    def likely(self) -> int | str:
        """Of a cause, whether it is probable enough and its job isn't done."""
        return self.caller.likely if self.caller else ""

    @property
    def active_line(self) -> str:
        return self.line if self.active == 1 else ""


def because(words: str) -> str:
    """Return a reason with what begins it.

    >>> because("hold, system 1"), because("readings point to a weak pump")
    ('because of hold, system 1', 'because readings point to a weak pump')
    """
    return f"because {words}" if words.startswith(POINTED) else f"because of {words}"


def sign(row: CheckRow) -> str:
    """What a check is called as a sign of a cause."""
    return row.check.brief or row.check.title


def calls_of(plan: Plan, standings: Iterable[Standing], callers: Callers) -> tuple[Call, ...]:
    """Return every call: of causes first, then of findings."""
    by_ref = {item.ref: item for item in standings}
    rows = {row.ref: row for row in plan.checks}
    labels = {line.ref: line.label for line in plan.lines}

    def of_cause(item: Caller, line: LineRef) -> Call:
        found = tuple(ref for check in item.explains for ref in callers.refs[check] if ref in callers.explained)
        groups = callers.explained_in if item.group not in callers.explained_in else (item.group,)
        here = {check for group in groups for check in callers.explained_in[group]} if found else set()
        refs = [callers.refs[check][0] for check in item.named if check in here]
        signs = "".join(f", {sign(rows[ref])}" for ref in refs if ref in callers.explained)
        words = f"{POINTED} {item.cause.pointed_to}"
        return Call("", words, (item.key,), labels[line], int(len(found) > 0), found, signs=signs, caller=item)

    def of_finding(row: CheckRow, verdicts: tuple[str, ...], line: PlannedLine) -> Call:
        item = by_ref[row.ref]
        now = item.before.verdict in verdicts or item.after.verdict in verdicts
        if row.ref in callers.words:
            now = callers.words[row.ref] in verdicts and row.ref not in callers.explained
        said = item.after.verdict if item.after.verdict in verdicts else item.before.verdict
        return Call("", row.label, verdicts, line.label, int(now), (row.ref,), said)

    def all_calls() -> Iterator[Call]:
        yield from (of_cause(item, line) for item in callers.all for line in item.cause.lines)
        yield from (of_finding(*item) for item in plan.calls)

    return tuple(replace(item, ref=f"c{number}") for number, item in enumerate(all_calls(), 1))


def past_findings(plan: Plan, standings: Iterable[Standing], calls: Iterable[Call]) -> dict[str, tuple[CheckRef, ...]]:
    """Return, by the label of a line, what was found before work or after it that called for the line, or that a cause of the
    line moves and the job cures: the reason that a line keeps once it is decided on."""
    by_ref = {item.ref: item for item in standings}
    cures = {(line.label, row.ref) for line, row in plan.cures}
    found: dict[str, dict[CheckRef, None]] = {}
    for call in calls:
        refs = found.setdefault(call.line, {})
        if call.caller is None:
            (ref,) = call.findings
            verdicts = {by_ref[ref].before.verdict, by_ref[ref].after.verdict}
            refs |= dict.fromkeys(call.findings if verdicts & {*call.verdicts} else ())
            continue
        for item in by_ref.values():
            check = f"{item.row.check.id}.{item.row.place.id}"
            cured = (call.line, item.ref) in cures and check in call.caller.moves and item.row.place.kind != "car"
            if cured and item.before.verdict in (OUTSIDE, FAULT):
                refs[item.ref] = None
    return {line: tuple(refs) for line, refs in found.items() if refs}
