"""Jobs of which a place needs one at most: which of them is advised, and counts while none was chosen."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.boxes.keys import LineRef
from estimator.pricing.plan import Plan, PlannedLine


@dataclass(frozen=True)
class Rivals:
    """A line of a group: the others, those that neither include it nor are included, the lines whose findings call for it,
    and its place: what it claims, findings being equal."""

    others: tuple[PlannedLine, ...]
    apart: tuple[PlannedLine, ...]
    calls: tuple[PlannedLine, ...]
    place: float


def rivals_of(plan: Plan) -> dict[LineRef, Rivals]:
    """Return the lines of which a place needs one at most, with the others of their group.

    Of those that are wanted one is advised: one that findings call for before one that was only requested, then one that
    includes others of them, then the first in the table of jobs.
    """
    groups: dict[tuple[str, str], list[PlannedLine]] = {}
    for line in plan.lines:
        if line.job.either_or_group:
            groups.setdefault((line.job.either_or_group, line.place.id), []).append(line)
    within = {(above.ref, below.ref) for above, below in plan.supersedes}
    found: dict[LineRef, Rivals] = {}
    for group in groups.values():
        calls = {line.ref: (line, *(item for item in group if (line.ref, item.ref) in within)) for line in group}
        alone = {ref: len(lines) == 1 for ref, lines in calls.items()}
        places = {ref: (len(group) - at) / 10 for at, ref in enumerate(sorted(calls, key=alone.__getitem__))}
        for line in group if len(group) > 1 else ():
            others = tuple(other for other in group if other is not line)
            apart = (other for other in others if not {(other.ref, line.ref), (line.ref, other.ref)} & within)
            found[line.ref] = Rivals(others, tuple(apart), calls[line.ref], places[line.ref])
    return found
