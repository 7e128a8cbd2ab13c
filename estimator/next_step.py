"""What is to be done next on a car, and by whom: the first thing that stands between it and the books."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.findings import ADVISOR, BOOKKEEPER, MECHANIC
from estimator.limits.judging.driving import GROUNDED
from estimator.limits.judging.standing import Standing
from estimator.pricing.consent import consent_findings
from estimator.pricing.decisions import UNDECIDED
from estimator.pricing.job_lines import JobLine

BEFORE, DECISIONS, WORK, AFTER, ROAD, POSTING = "before", "decisions", "work", "after", "road", "posting"
STAGE_WORDS = {
    BEFORE: "readings before work",
    DECISIONS: "decisions and authorization",
    WORK: "work",
    AFTER: "readings after work",
    ROAD: "road test",
    POSTING: "posting",
}


@dataclass(frozen=True)
class NextStep:
    """A stage, what is to be done, and who does it."""

    stage: str
    words: str
    who: str


def next_step(appraisal: Appraisal) -> NextStep:
    """Return the next step of a visit."""
    return next(_steps(appraisal))


def undone(appraisal: Appraisal) -> list[JobLine]:
    """The authorized lines that aren't completed, those of the road test left out."""
    road = road_lines(appraisal)
    return [line for line in appraisal.labor.lines if line.agreed and not line.decided.done and line.ref not in road]


def road_lines(appraisal: Appraisal) -> set[str]:
    """The lines that call for no other check again than those made on the road."""
    voided: dict[str, list[bool]] = {}
    for line, row in appraisal.plan.voids:
        voided.setdefault(line.ref, []).append(row.check.road)
    return {ref for ref, road in voided.items() if all(road)}


def undecided(appraisal: Appraisal) -> int:
    """How many recommended lines await the customer's decision."""
    lines = [line for line in appraisal.labor.lines if line.proposed and not line.agreed]
    return len(lines) + sum(1 for line in appraisal.extra_lines if line.proposed and not line.agreed)


def at_standstill(appraisal: Appraisal) -> list[Standing]:
    """The requested checks that are made with the car at a stand."""
    return [item for item in appraisal.standings if item.asked and item.road == "no"]


def _steps(appraisal: Appraisal) -> Iterator[NextStep]:
    decided = any(line.decided.decision != UNDECIDED for line in appraisal.labor.lines)
    static, undone_lines = at_standstill(appraisal), undone(appraisal)
    unread = [item for item in static if not (item.made_before or item.made_after)]
    if len(unread) == len(static) or (unread and not decided):
        yield NextStep(BEFORE, f"measure before work: {_many(len(unread), 'check')} to make", MECHANIC)
    if waiting := undecided(appraisal):
        yield NextStep(DECISIONS, f"record the customer's decision on {_many(waiting, 'line')}", ADVISOR)
    amounts, shop = [item.counted for item in appraisal.consents], appraisal.record.shop
    if appraisal.agreed["total"] > 0 and any(
        item.severity != "note"
        for item in consent_findings(appraisal.agreed, amounts, shop.consent, shop.shop.currency)
    ):
        yield NextStep(DECISIONS, "record the authorization for the authorized work", ADVISOR)
    if undone_lines:
        yield NextStep(WORK, f"complete {_many(len(undone_lines), 'authorized job')} and mark them", MECHANIC)
    again = [item for item in static if item.concern or item.unmade]
    faults = [item for item in again if item.latest_bad or item.contested or item.gave_up]
    if faults and appraisal.driving.state in GROUNDED:
        what = f"{_many(len(faults), 'fault')} without authorized work: remeasure, or leave the car where it is"
        yield NextStep(AFTER, what, ADVISOR)
    if again:
        yield NextStep(AFTER, f"measure after work: {_many(len(again), 'check')} to make", MECHANIC)
    if appraisal.mixed:
        yield NextStep(DECISIONS, "replace parts for the wrong fluid family", ADVISOR)
    if appraisal.driving.state in GROUNDED:
        yield NextStep(ROAD, "a road check failed: find the cause, do the work, remeasure", MECHANIC)
    if any(item.open or (item.road == "yes" and item.asked and item.unmade) for item in appraisal.standings):
        yield NextStep(ROAD, "road test, by the shop only", MECHANIC)
    yield NextStep(POSTING, "write the letter and post the invoice", BOOKKEEPER)


def _many(number: int, one: str) -> str:
    return f"{number} {one}" if number == 1 else f"{number} {one}s"
