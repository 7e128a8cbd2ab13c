"""The log of consents, stage by stage, and what it leaves of a document's total."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.boxes.entries import ConsentBoxes, Day, Number
from estimator.money import ZERO, from_float, half_up, percent_of
from estimator.pricing.consent import STAGES, Consented, weigh
from estimator.records import ConsentRule

DECLINING = "safety work declined"
STAGE_WORDS = (*STAGES, DECLINING)
WAY_WORDS = ("signature", "e-mail", "text message", "telephone", "in person")


@dataclass(frozen=True)
class Consent:
    """One line of the log. What isn't typed is empty; a declining has no amount that counts."""

    number: int
    stage: str
    amount: Number
    date: Day
    who: str
    way: str
    taken_by: str

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"authorization {self.number}"

    @property
    def told(self) -> int:
        """Whether stage, date and name stand there."""
        return int(self.who != "" and self.stage != "" and not isinstance(self.date, str))

    @property
    def declines(self) -> bool:
        return self.told == 1 and self.stage == DECLINING

    @property
    def counted(self) -> Decimal:
        if self.told == 0 or self.declines or not isinstance(self.amount, float) or self.amount < 0:
            return ZERO
        return half_up(from_float(self.amount))


def consents(boxes: Mapping[str, ConsentBoxes], count: int) -> tuple[Consent, ...]:
    """The log as the boxes hold it."""
    found = []
    for place in range(1, count + 1):
        mine = boxes[str(place)]
        found.append(
            Consent(
                place,
                mine.stage,
                mine.amount,
                mine.date,
                mine.who,
                mine.way,
                mine.taken_by,
            )
        )
    return tuple(found)


@dataclass(frozen=True)
class ConsentRow:
    """A figure of the consent reckoning, as the Estimate tab shows it."""

    ref: str
    label: str
    value: Decimal


def consent_rows(
    totals: Mapping[str, Decimal], log: Sequence[Consent], rule: ConsentRule
) -> tuple[Consented, tuple[ConsentRow, ...]]:
    """Set the agreed total against the log."""
    found = weigh(totals, [item.counted for item in log], rule)
    share = percent_of(found.consented, rule.percent)
    ruled = {"flat": rule.flat, "none": ZERO}.get(rule.rule, share)
    greater = max(rule.flat, share) if rule.rule == "greater-of" else ruled
    chosen = min(rule.flat, share) if rule.rule == "lesser-of" else greater
    rows = (
        ConsentRow("compared", "authorized work, as the rule compares it", found.compared),
        ConsentRow("consented", "authorized amount, all stages", found.consented),
        ConsentRow("share", "allowed percentage of it", share),
        ConsentRow("ruled", "by a plain rule", ruled),
        ConsentRow("greater", "or the greater of two", greater),
        ConsentRow("chosen", "or the lesser of two", chosen),
        ConsentRow("excess", "allowed above the authorized amount", found.excess),
        ConsentRow("over", "over what is allowed", found.over),
        ConsentRow("further", "further authorization needed", found.further),
    )
    return found, rows
