"""What the readings point to, the next step, and what the visit may come to: for the customer, without a per cent."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.advice import Advice
from estimator.diagnosis.advice.advise import READ_AGAIN, REPAIR, TEST, Step
from estimator.diagnosis.advice.band import NO_ESTIMATE, tens
from estimator.diagnosis.causes.words import pointing as of_causes
from estimator.letters.formats import capital, sign_of


@dataclass(frozen=True)
class Pointing:
    """A sentence about causes ("" where nothing is pointed to), one about the next step, one about the band."""

    causes: str
    step: str
    band: str


def pointing(appraisal: Appraisal, advice: Advice) -> Pointing:
    """Return the sentences of the letter; "point to", never "is"."""
    currency = appraisal.record.shop.shop.currency
    causes = " ".join(f"{capital(words)}." for words in of_causes(appraisal.diagnosis))
    low, high = (_whole(value, currency) for value in (advice.band.low, advice.band.high))
    band = f"With tax, this visit may come to between {low} and {high}, depending on the cause. {NO_ESTIMATE}"
    return Pointing(causes, _next(advice.next, currency), band)


def _next(step: Step | None, currency: str) -> str:
    if step is None:
        return ""
    title = step.title.removeprefix("Remeasure: ")
    if step.kind == READ_AGAIN:
        return f"Next we remeasure: {title}."
    cost = f" (about {_whole(tens(step.cost), currency)} before tax)" if step.cost else ""
    if step.kind == TEST:
        return f"This test tells more: {title}{cost}."
    return f"Next step: {title}{cost}." if step.kind == REPAIR else ""


def _whole(value: Decimal, currency: str) -> str:
    """An amount of a band, which isn't known to the cent."""
    return f"{sign_of(currency)}{value:,.0f}"
