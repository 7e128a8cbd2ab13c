"""What may be done with the car: the state that its checks lead to. It never calls a car safe."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from estimator.limits.judging.standing import Standing

NOTHING_MEASURED = "NOTHING MEASURED: DO NOT DRIVE"
DO_NOT_DRIVE = "DO NOT DRIVE"
ROAD_TEST = "SHOP ROAD TEST ONLY"
NO_FINDING = "no finding prohibits driving"
STATE_SLUGS: Mapping[str, str] = {
    NOTHING_MEASURED: "not-measured",
    DO_NOT_DRIVE: "do-not-drive",
    ROAD_TEST: "shop-road-test-only",
    NO_FINDING: "no-do-not-drive-finding",
}
GROUNDED = (NOTHING_MEASURED, DO_NOT_DRIVE)


@dataclass(frozen=True)
class Driving:
    """The counts behind the state, and the state in words. `mixed` counts agreed parts of another fluid family."""

    concerns: int
    mixed: int
    road_open: int
    asked: int
    made: int
    entered: int
    unexamined: int

    @property
    def behind(self) -> int:
        """How many checks and parts keep the car off the road."""
        return self.concerns + self.mixed

    @property
    def otherwise(self) -> str:
        """The state if nothing keeps the car off the road."""
        return ROAD_TEST if self.road_open > 0 else NO_FINDING

    @property
    def state(self) -> str:
        if self.entered == 0:
            return NOTHING_MEASURED
        return DO_NOT_DRIVE if self.behind > 0 else self.otherwise


def driving(standings: Sequence[Standing], mixed: int = 0) -> Driving:
    """The state that the standings lead to, with so many agreed parts of another fluid family."""
    return Driving(
        concerns=sum(item.concern for item in standings),
        mixed=mixed,
        road_open=sum(item.open for item in standings),
        asked=sum(item.asked for item in standings),
        made=sum(item.made for item in standings),
        entered=sum(item.entered for item in standings),
        unexamined=sum(item.unexamined for item in standings),
    )


def worse(state: str, than: str) -> bool:
    """Whether a state allows less than another. Words that are no state are taken for the best one.

    >>> worse(DO_NOT_DRIVE, NO_FINDING), worse(NO_FINDING, ROAD_TEST), worse(ROAD_TEST, "ready to go")
    (True, False, True)
    >>> worse(NOTHING_MEASURED, DO_NOT_DRIVE)  # neither lets the car be driven
    False
    """

    def allows(word: str) -> int:
        return 0 if word in GROUNDED else 1 if word == ROAD_TEST else 2

    return allows(state) < allows(than)
