"""Which job lines count: asked for, called for by a finding, decided, included in another, done.

Two sets are priced side by side. *Agreed*: what the customer has agreed to, and all that is ever billed. *Proposed*:
that, and whatever was asked for or is called for and hasn't been declined: the quote.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from estimator.boxes import keys
from estimator.boxes.entries import LineBoxes
from estimator.boxes.keys import CheckRef, LineRef
from estimator.limits.judging.check_rows import CheckRow
from estimator.pricing.calls import BEFORE_WORK, Call
from estimator.pricing.plan import Plan, PlannedLine
from estimator.pricing.rivals import rivals_of

UNDECIDED, AGREED, DECLINED = "undecided", "authorized", "declined"
DECISIONS = (UNDECIDED, AGREED, DECLINED)
DONE, SINCE = "completed", "completed since last readings"
DONE_WORDS = (DONE, SINCE)
UNTOUCHED = "nothing on brakes"
AUTHORIZED, CALLED = 10, 1  # what counts for a claim, beside the place in its group, which is less than 1


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
    """The job lines after which a check is made again, those that cure what it finds, and how many of them are done.

    `since` counts those done since the last readings. What an extra or sublet line touched counts as done, and cures
    nothing.
    """

    row: CheckRow
    lines: frozenset[str]
    curing: frozenset[str]
    voids: int
    cures: int
    since: int
    cures_since: int
    cures_touched: int

    @property
    def ref(self) -> CheckRef:
        return self.row.ref

    @property
    def label(self) -> str:
        return self.row.label


@dataclass(frozen=True)
class LineWork:
    """What was done of a line: the word in its box, whether it was done in an earlier round of readings, and whether an
    extra or sublet line touched the same."""

    done_word: str
    earlier: int
    touched: int

    @property
    def done(self) -> int:
        """Whether it is done, in this round of readings or an earlier one."""
        return int(self.done_word.casefold() in DONE_WORDS)

    @property
    def done_now(self) -> int:
        """Whether it was done in this round, so that readings before it are void."""
        return int(self.done == 1 and self.earlier == 0)

    @property
    def done_since(self) -> int:
        """Whether it was done since the last readings, so that those after work are void too."""
        return int(self.done_word.casefold() == SINCE and self.earlier == 0)


@dataclass(frozen=True)
class Decided:
    """What was decided of a line, and whether it counts. `past` is 1 where findings called for it at any time."""

    line: PlannedLine
    decision: str
    work: LineWork
    call: Call | None
    past: int
    included_agreed: int
    included_proposed: int
    settled: int
    claim: float

    @property
    def called_by(self) -> str:
        return self.call.check if self.call else ""

    @property
    def asked(self) -> str:
        return "yes" if self.line.asked else ""

    @property
    def called(self) -> int:
        return int(self.called_by != "")

    @property
    def recommended_by(self) -> str:
        """Why it is or was recommended; "" for a line that nothing called for."""
        return self.called_by or (BEFORE_WORK if self.past else "")

    @property
    def wanted(self) -> int:
        return int(self.line.asked or self.called_by != "" or self.done_word != "")

    @property
    def offered(self) -> int:
        return offered(self.decision, self.wanted == 1 and self.settled == 0)

    @property
    def declined(self) -> int:
        """1 where the customer declined it, and not because another of its group is done."""
        return int(self.decision == DECLINED and self.settled == 0)

    @property
    def done_word(self) -> str:
        return self.work.done_word

    @property
    def done(self) -> int:
        return self.work.done

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


def offered(decision: str, wanted: bool) -> int:
    """1 for a line that is agreed to, or wanted and not declined."""
    return int(decision == AGREED or (decision != DECLINED and wanted))


def claim(decision: str, wanted: bool, called: bool, place: float) -> float:
    """Return how strong the claim of a line is; the strongest of a group counts.

    >>> claim("undecided", True, True, 0.2), claim("authorized", False, False, 0.1), claim("declined", True, True, 0.2)
    (1.2, 10, 0)
    """
    if decision == AGREED:
        return AUTHORIZED
    return CALLED * called + place if wanted and decision != DECLINED else 0


def line_work(
    plan: Plan, boxes: Mapping[LineRef, LineBoxes], earlier: Iterable[str], touched: Iterable[str]
) -> dict[LineRef, LineWork]:
    """What was done of each line. earlier: what the keys of lines begin with that were done in an earlier round; touched:
    the ids of the jobs whose readings an extra or sublet line makes void."""
    earlier, touched = frozenset(earlier), {word.casefold() for word in touched}
    return {
        line.ref: LineWork(
            boxes[line.ref].done, int(keys.row("line", line.ref) in earlier), int(line.job.job_id in touched)
        )
        for line in plan.lines
    }


def checks_again(plan: Plan, work: Mapping[LineRef, LineWork]) -> tuple[Again, ...]:
    """Each check with the lines that void it, and how many of those are done."""
    done, since, touched = (
        {line.label for line in plan.lines if getattr(work[line.ref], flag)}
        for flag in ("done_now", "done_since", "touched")
    )
    voiding, curing = (_by_check(plan.checks, pairs) for pairs in (plan.voids, plan.cures))

    def again(row: CheckRow) -> Again:
        lines, cures = voiding[row.ref], curing[row.ref]
        voids = len(lines & done) + len(lines & touched)
        return Again(
            row, lines, cures, voids, len(cures & done), len(lines & since), len(cures & since), len(cures & touched)
        )

    return tuple(again(row) for row in plan.checks)


def _by_check(
    rows: Iterable[CheckRow], pairs: Iterable[tuple[PlannedLine, CheckRow]]
) -> dict[CheckRef, frozenset[str]]:
    found: dict[CheckRef, set[str]] = {row.ref: set() for row in rows}
    for line, row in pairs:
        found[row.ref].add(line.label)
    return {ref: frozenset(labels) for ref, labels in found.items()}


def decide(
    plan: Plan,
    boxes: Mapping[LineRef, LineBoxes],
    calls: tuple[Call, ...],
    past: Collection[str],
    again: tuple[Again, ...],
    work: Mapping[LineRef, LineWork],
) -> Decisions:
    """Work out which lines count. past: the labels of those that findings called for, before work or after it."""
    choice = {line.ref: boxes[line.ref].decision for line in plan.lines}
    called: dict[str, Call] = {}
    for call in calls:
        if call.active:
            called.setdefault(call.line, call)
    wanted = {line.ref: line.asked or line.label in called or work[line.ref].done_word != "" for line in plan.lines}
    rivals = rivals_of(plan)

    claims = {
        ref: claim(choice[ref], wanted[ref], any(line.label in called for line in mine.calls), mine.place)
        for ref, mine in rivals.items()
    }

    def set_aside(ref: LineRef) -> bool:
        """Whether another of its group was authorized, or is the advised one."""
        most = max((claims[other.ref] for other in rivals[ref].others), default=0) if ref in rivals else 0
        return choice[ref] != AGREED and most > claims.get(ref, 0)

    settled = {line.ref: int(set_aside(line.ref)) for line in plan.lines}

    def is_offered(line: PlannedLine) -> int:
        return offered(choice[line.ref], wanted[line.ref] and settled[line.ref] == 0)

    inclusions = tuple(
        Inclusion(
            f"i{number}",
            f"includes {number}",
            above.label,
            below.label,
            int(choice[above.ref] == AGREED),
            is_offered(above),
        )
        for number, (above, below) in enumerate(plan.supersedes, 1)
    )
    within_agreed = {item.below for item in inclusions if item.agreed}
    within_proposed = {item.below for item in inclusions if item.proposed}
    decided = tuple(
        Decided(
            line,
            choice[line.ref],
            work[line.ref],
            called.get(line.label),
            int(line.label in past),
            int(line.label in within_agreed),
            int(line.label in within_proposed),
            settled[line.ref],
            claims.get(line.ref, 0),
        )
        for line in plan.lines
    )
    return Decisions(calls, inclusions, again, decided)
