"""What may be done with the car: each check's latest word, and the three states that follow. It never calls a car safe."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from estimator.boxes.keys import CheckRef
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.verdict_words import (
    AGAIN,
    BAD,
    COULD_NOT,
    COULD_NOT_CHECK,
    GOOD,
    NOT_CHECKED,
    NOT_MEASURED,
)

DO_NOT_DRIVE = "DO NOT DRIVE"
ROAD_TEST = "shop road test only"
NO_FINDING = "no do-not-drive finding in the checks made"
UNMADE = (NOT_MEASURED, NOT_CHECKED)


@dataclass(frozen=True)
class Found:
    """What was found in a phase: the verdict, the word that concerns driving, whether the gauge was in date (1 or 0)."""

    verdict: str
    drive: str
    in_date: int = 1


@dataclass(frozen=True, kw_only=True)
class Standing:
    """Where a check stands. Numbers are 1 for yes, 0 for no; `voids` counts the jobs done that call for it again."""

    row: CheckRow
    why: str
    before: Found
    after: Found
    voids: int
    order: int

    @property
    def ref(self) -> CheckRef:
        return self.row.ref

    @property
    def label(self) -> str:
        return self.row.label

    @property
    def safety(self) -> str:
        return "yes" if self.row.check.safety else "no"

    @property
    def road(self) -> str:
        return "yes" if self.row.check.road else "no"

    @property
    def asked_when(self) -> str:
        return self.row.check.asked

    def found(self, phase: str) -> Found:
        """What was found in a phase."""
        return self.before if phase == "before" else self.after

    @property
    def made_before(self) -> int:
        return int(self.before.verdict not in UNMADE)

    @property
    def made_after(self) -> int:
        return int(self.after.verdict not in UNMADE)

    @property
    def asked(self) -> int:
        if self.asked_when == "always":
            return 1
        if self.asked_when == "after work":
            return int(self.voids > 0)
        return int(self.made_before + self.made_after > 0)

    @property
    def latest(self) -> str:
        if self.made_after:
            return self.after.drive
        return self.before.drive if self.voids == 0 else "not measured after work"

    @property
    def in_date(self) -> int:
        return self.after.in_date if self.made_after else self.before.in_date

    @property
    def good(self) -> int:
        return int(self.latest in GOOD and self.in_date == 1)

    @property
    def bad_before(self) -> int:
        return int(self.before.verdict in BAD)

    @property
    def good_after(self) -> int:
        return int(self.after.drive in GOOD)

    @property
    def again(self) -> int:
        """Whether a second reading is said to explain a change."""
        return int(self.why.casefold() == AGAIN)

    @property
    def unexplained(self) -> int:
        """A bad reading that became good with no job done and no second reading said to explain it."""
        became_good = self.bad_before == 1 and self.good_after == 1
        return int(became_good and self.voids == 0 and self.again == 0)

    @property
    def concern(self) -> int:
        return int(self.safety == "yes" and self.asked == 1 and (self.good == 0 or self.unexplained == 1))

    @property
    def gave_up(self) -> int:
        return int(self.latest in (COULD_NOT, COULD_NOT_CHECK))

    @property
    def made(self) -> int:
        """Whether it counts among the checks made: one that could not be made doesn't."""
        return int(self.asked * (1 - self.gave_up) == 1 and self.latest not in (*UNMADE, "not measured after work"))


@dataclass(frozen=True)
class Driving:
    """The counts behind the state, and the state in words."""

    static_concerns: int
    road_concerns: int
    asked: int
    made: int

    @property
    def state(self) -> str:
        if self.static_concerns > 0:
            return DO_NOT_DRIVE
        return ROAD_TEST if self.road_concerns > 0 else NO_FINDING


def driving(standings: Sequence[Standing]) -> Driving:
    """The state that the standings lead to."""
    return Driving(
        static_concerns=sum(item.concern for item in standings if item.road == "no"),
        road_concerns=sum(item.concern for item in standings if item.road == "yes"),
        asked=sum(item.asked for item in standings),
        made=sum(item.made for item in standings),
    )


def worse(state: str, than: str) -> bool:
    """Whether a state allows less than another. Words that are no state are taken for the best one.

    >>> worse(DO_NOT_DRIVE, NO_FINDING), worse(NO_FINDING, ROAD_TEST), worse(ROAD_TEST, "ready to go")
    (True, False, True)
    """
    order = tuple(STATE_SLUGS)
    return order.index(state) < (order.index(than) if than in order else len(order) - 1)


# From the state that allows least to the one that allows most.
STATE_SLUGS: Mapping[str, str] = {
    DO_NOT_DRIVE: "do-not-drive",
    ROAD_TEST: "shop-road-test-only",
    NO_FINDING: "no-do-not-drive-finding",
}
