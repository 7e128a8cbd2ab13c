"""Where each check stands: what was found, what voids it, its latest word on driving."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.boxes.keys import CheckRef
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.verdict_words import (
    BAD,
    COULD_NOT,
    COULD_NOT_CHECK,
    GOOD,
    NOT_BELIEVABLE,
    NOT_CHECKED,
    NOT_MEASURED,
)
from estimator.records import EarlierReading

VOID = "remeasure"
UNMADE = (NOT_MEASURED, NOT_CHECKED, VOID)


@dataclass(frozen=True)
class Found:
    """What was found in a phase: the verdict, the word that concerns driving. Numbers are 1 for yes, 0 for no: whether
    the gauge was in date, whether a box holds anything, whether it contradicts another reading."""

    verdict: str
    drive: str
    in_date: int = 1
    entered: int = 1
    contradicted: int = 0

    @property
    def made(self) -> int:
        return int(self.verdict not in UNMADE)

    @property
    def bad(self) -> int:
        return int(self.drive in BAD)


@dataclass(frozen=True)
class Past:
    """What the log of earlier readings holds of a check: how many bad ones of each phase, and of lines of "measured
    again"; how many that contradicted others; and whether it holds any."""

    before: int = 0
    after: int = 0
    again: int = 0
    contradicted: int = 0
    any: int = 0

    @classmethod
    def of(cls, log: Sequence[EarlierReading]) -> Past:
        """What the log's readings of one check come to."""
        bad = [item.phase for item in log if item.counts_as == "bad"]
        at_odds = sum(item.counts_as == "contradicts" for item in log)
        return cls(bad.count("before"), bad.count("after"), bad.count("again"), at_odds, int(len(log) > 0))


@dataclass(frozen=True)
class Thirds:
    """The lines of "measured again" about a check: how many count as readings, how many of these are bad, how many
    are by another gauge than the better reading's, how many of those agree with it."""

    read: int = 0
    bad: int = 0
    other: int = 0
    agree: int = 0


@dataclass(frozen=True, kw_only=True)
class Standing:
    """Where a check stands. Numbers are 1 for yes, 0 for no.

    `voids` counts the jobs done that call for it again, `cures` those of them that put right what it finds; `since`
    and `cures_since` the same since the last readings.
    """

    row: CheckRow
    why: str
    before: Found
    after: Found
    voids: int = 0
    cures: int = 0
    since: int = 0
    cures_since: int = 0
    past: Past = Past()
    thirds: Thirds = Thirds()
    order: int = 0

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
        return self.before.made

    @property
    def made_after(self) -> int:
        return self.after.made

    @property
    def entered(self) -> int:
        """Whether anything was ever read or seen of it."""
        return int(self.before.entered + self.after.entered + self.past.any > 0)

    @property
    def asked(self) -> int:
        if self.asked_when == "always":
            return 1
        if self.row.check.unasked:
            return int(self.entered == 1 and self.latest != VOID)  # nobody asks for it again
        return int(self.entered == 1 or (self.asked_when == "after work" and self.voids > 0))

    @property
    def stands_before(self) -> int:
        """Whether the reading before work still counts: any job voids a good one, only its cure voids a bad one."""
        return int(self.voids == 0 or (self.before.bad == 1 and self.cures == 0))

    @property
    def stands_after(self) -> int:
        """The same of the reading after work, for jobs done since."""
        return int(self.since == 0 or (self.after.bad == 1 and self.cures_since == 0))

    @property
    def latest(self) -> str:
        """The latest word that concerns driving."""
        if self.made_after:
            return self.after.drive if self.stands_after else VOID
        return self.before.drive if self.stands_before else VOID

    @property
    def in_date(self) -> int:
        return self.after.in_date if self.made_after else self.before.in_date

    @property
    def good(self) -> int:
        return self.latest_good * self.in_date

    @property
    def latest_good(self) -> int:
        return int(self.latest in GOOD)

    @property
    def latest_bad(self) -> int:
        return int(self.latest in BAD)

    @property
    def uncured_before(self) -> int:
        """Whether a bad reading before work isn't the latest and no job done cures it, the log's readings among them."""
        return int(self.before.bad * self.made_after + self.past.before > 0 and self.cures == 0)

    @property
    def uncured_after(self) -> int:
        return int(self.past.after + self.past.again > 0 and self.cures_since == 0)

    @property
    def became_good(self) -> int:
        """Whether a bad reading became good with no job done in between that cures it."""
        return self.latest_good * max(self.uncured_before, self.uncured_after)

    @property
    def confirmed(self) -> int:
        """Whether every further reading by another gauge agrees with the better one, and there is such a reading."""
        return int(self.thirds.agree > 0 and self.thirds.agree == self.thirds.other and self.past.again == 0)

    @property
    def unexplained(self) -> int:
        """Whether readings before and after stand against each other: then the worse decides."""
        return int((self.became_good == 1 and self.confirmed == 0) or self.thirds.bad > 0)

    @property
    def calls(self) -> str:
        """The verdict that counts for what is recommended: of the latest reading, of the one before work where the latest
        doesn't do away with it; none once a job done voids it."""
        if self.latest == VOID:
            return ""
        again = self.safety == "yes" and self.unexplained == 1 and self.row.check.kind == "number"
        return self.after.verdict if self.made_after and not again else self.before.verdict

    @property
    def contradicted(self) -> int:
        """Whether the reading that counts contradicts another, or took the place of one that did and wasn't measured
        again."""
        before = self.before.contradicted == 1 and self.voids == 0
        return int(self.after.contradicted == 1 or before or (self.past.contradicted > 0 and self.thirds.read == 0))

    @property
    def contested(self) -> int:
        return int(self.unexplained + self.contradicted > 0)

    @property
    def failed(self) -> int:
        """Whether a check on the road was made and failed: nothing but its cure or a good reading ends that. One that
        wasn't made is open."""
        uncured = self.before.bad == 1 and self.cures == 0
        return int(self.latest_bad == 1 or (uncured and self.latest_good == 0))

    @property
    def wrong(self) -> int:
        """Whether it isn't as it must be: on the road failed, else anything but good."""
        return self.failed if self.road == "yes" else 1 - self.good

    @property
    def concern(self) -> int:
        """Whether it keeps the car off the road."""
        return int(self.safety == "yes" and self.asked == 1 and self.wrong + self.contested > 0)

    @property
    def open(self) -> int:
        """Whether it is a check on the road that is still to be made."""
        on_the_road = self.road == "yes" and self.safety == "yes" and self.asked == 1
        return int(on_the_road and self.good == 0 and self.concern == 0)

    @property
    def decides(self) -> str:
        """The phase whose reading decides: the worse one where nothing cured or confirmed away the one before work."""
        worse_before = self.before.bad == 1 and self.after.bad == 0 and self.cures == 0 and self.confirmed == 0
        return "after" if self.made_after == 1 and not worse_before else "before"

    @property
    def gave_up(self) -> int:
        return int(self.latest in (COULD_NOT, COULD_NOT_CHECK))

    @property
    def made(self) -> int:
        """Whether it counts among the checks made: one that could not be made doesn't."""
        return self.asked * (1 - self.gave_up) * (1 - self.unmade)

    @property
    def unmade(self) -> int:
        return int(self.latest in (*UNMADE, NOT_BELIEVABLE))

    @property
    def unexamined(self) -> int:
        """Whether it is a check of safety that nobody was asked to make and nobody made."""
        return int(self.safety == "yes" and self.asked == 0 and self.asked_when == "on demand")
