"""Which job lines count: asked for, called for by a finding, decided, included in another, done.

Two sets are priced side by side. *Agreed*: what the customer has agreed to, and all that is ever billed. *Proposed*:
that, and whatever was asked for or is called for and hasn't been declined: the quote.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from estimator.boxes.entries import LineBoxes
from estimator.boxes.keys import CheckRef, LineRef
from estimator.limits.judging.check_rows import CheckRow
from estimator.pricing.plan import Plan, PlannedLine

UNDECIDED, AGREED, DECLINED = "undecided", "agreed", "declined"
DECISIONS = (UNDECIDED, AGREED, DECLINED)
DONE = "done"


@dataclass(frozen=True)
class Call:
    """A rule that ties a verdict to a job line; `active` is 1 while the check has that verdict in either phase."""

    ref: str
    label: str
    check: str
    verdict: str
    line: str
    active: int

    @property
    def active_line(self) -> str:
        return self.line if self.active == 1 else ""


@dataclass(frozen=True)
class Inclusion:
    """One line includes another: while the first counts, the second doesn't."""

    ref: str
    label: str
    above: str
    below: str
    agreed: int
    proposed: int


@dataclass(frozen=True)
class Again:
    """The job lines that call for a check to be made again once they are done, and how many of them are."""

    row: CheckRow
    lines: frozenset[str]
    voids: int

    @property
    def ref(self) -> CheckRef:
        return self.row.ref

    @property
    def label(self) -> str:
        return self.row.label


@dataclass(frozen=True)
class Decided:
    """What was decided of a line, and whether it counts."""

    line: PlannedLine
    decision: str
    done_word: str
    called_by: str
    included_agreed: int
    included_proposed: int

    @property
    def asked(self) -> str:
        return "yes" if self.line.asked else ""

    @property
    def called(self) -> int:
        return int(self.called_by != "")

    @property
    def wanted(self) -> int:
        return int(self.line.asked or self.called_by != "")

    @property
    def offered(self) -> int:
        return offered(self.decision, self.line.asked, self.called_by)

    @property
    def done(self) -> int:
        return int(self.done_word == DONE)

    @property
    def agreed(self) -> int:
        return int(self.decision == AGREED and self.included_agreed == 0)

    @property
    def proposed(self) -> int:
        return int(self.offered == 1 and self.included_proposed == 0)


@dataclass(frozen=True)
class Decisions:
    calls: tuple[Call, ...]
    inclusions: tuple[Inclusion, ...]
    again: tuple[Again, ...]
    decided: tuple[Decided, ...]

    def chosen(self, case: str) -> frozenset[str]:
        """The references of the lines that count in a case."""
        return frozenset(
            item.line.ref for item in self.decided if (item.agreed if case == "agreed" else item.proposed) == 1
        )


def offered(decision: str, asked: bool, called_by: str) -> int:
    """1 for a line that is agreed to, or asked for or called for and not declined."""
    return int(decision == AGREED or (decision != DECLINED and (asked or called_by != "")))


def checks_again(plan: Plan, boxes: Mapping[LineRef, LineBoxes]) -> tuple[Again, ...]:
    """Each check with the lines that void it, and how many of those are done."""
    done = {line.label for line in plan.lines if boxes[line.ref].done == DONE}
    voiding: dict[str, set[str]] = {row.ref: set() for row in plan.checks}
    for line, row in plan.voids:
        voiding[row.ref].add(line.label)
    return tuple(Again(row, frozenset(voiding[row.ref]), len(voiding[row.ref] & done)) for row in plan.checks)


def decide(
    plan: Plan,
    boxes: Mapping[LineRef, LineBoxes],
    verdicts: Mapping[CheckRef, tuple[str, str]],
    again: tuple[Again, ...],
) -> Decisions:
    """Work out which lines count. `verdicts` holds each check's words before and after work, by its reference."""
    calls = tuple(
        Call(f"c{number}", f"call {number}", row.label, verdict, line.label, int(verdict in verdicts[row.ref]))
        for number, (row, verdict, line) in enumerate(plan.calls, 1)
    )
    called_by: dict[str, str] = {}
    for call in calls:
        if call.active:
            called_by.setdefault(call.line, call.check)
    choice = {line.ref: boxes[line.ref].decision for line in plan.lines}
    inclusions = tuple(
        Inclusion(
            f"i{number}",
            f"includes {number}",
            above.label,
            below.label,
            int(choice[above.ref] == AGREED),
            offered(choice[above.ref], above.asked, called_by.get(above.label, "")),
        )
        for number, (above, below) in enumerate(plan.supersedes, 1)
    )
    within_agreed = {item.below for item in inclusions if item.agreed}
    within_proposed = {item.below for item in inclusions if item.proposed}
    decided = tuple(
        Decided(
            line,
            choice[line.ref],
            boxes[line.ref].done,
            called_by.get(line.label, ""),
            int(line.label in within_agreed),
            int(line.label in within_proposed),
        )
        for line in plan.lines
    )
    return Decisions(calls, inclusions, again, decided)
