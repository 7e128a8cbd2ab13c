"""What an estimate's figures rest on and what may still change them: deposits, alternatives, estimated disposal."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.advice import advise
from estimator.diagnosis.advice.band import NO_ESTIMATE
from estimator.money import money_text
from estimator.pricing.disposal import drained_liters
from estimator.pricing.offers import either_or


def quote_notes(appraisal: Appraisal) -> Iterator[str]:
    """Return what to tell of an estimate beside its total, a sentence each."""
    currency = appraisal.record.shop.shop.currency
    parts = [(part.title, part.core_proposed) for part in appraisal.parts]
    parts += [(part.boxes.description, part.core_proposed) for part in appraisal.extra_parts]
    deposits: dict[str, Decimal] = {}
    for title, core in parts:
        if core:
            deposits[title] = deposits.get(title, Decimal(0)) + core
    if deposits:
        each = "; ".join(f"{title} {money_text(core)}" for title, core in deposits.items())
        total = money_text(appraisal.proposed["core"])
        yield f"core deposits of {total} {currency} included, refundable with the old parts: {each}"
    titles = {line.ref: line.line.title for line in appraisal.labor.lines}
    for ref, others in either_or(appraisal.plan, appraisal.labor.lines).items():
        yield f"alternatives: {titles[ref]}, or {' or '.join(others)}; the total counts the first"
    yield from _disposal(appraisal)
    band = advise(appraisal).band
    by = (
        "by the readings"
        if appraisal.diagnosis.ranked
        else "by concern and how often each cause is seen, before any reading"
    )
    yield f"this visit may come to {band.low:,.0f} to {band.high:,.0f} {currency} with tax, {by}. {NO_ESTIMATE}"


def _disposal(appraisal: Appraisal) -> Iterator[str]:
    liters, car = appraisal.entries.disposal["drained"].liters, appraisal.record.car
    estimated = drained_liters(appraisal.plan, appraisal.decisions.chosen("proposed"), car)
    if not isinstance(liters, float) or not liters or liters != float(estimated):
        return
    held = (
        f"the circuits hold {car.fluid.capacity}"
        if car.fluid.capacity
        else "invented: the car file has no [fluid] capacity"
    )
    yield f"fluid disposal estimated for {estimated} L ({held}); enter what is drained"
