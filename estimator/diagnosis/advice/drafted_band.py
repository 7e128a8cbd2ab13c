"""The price band as a workbook carries it: what it was when the workbook was written, and whether that still holds."""

from __future__ import annotations

import math
from dataclasses import replace

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.advice import advise
from estimator.diagnosis.advice.band import NO_ESTIMATE
from estimator.diagnosis.advice.ranked import ranked_causes
from estimator.records import DraftedBand

REDRAFT = "As drafted: redraft after new readings."
# How far sums of rankings may differ that are the same.
ALIKE = 5e-7


def with_band(appraisal: Appraisal) -> Appraisal:
    """Return an appraisal whose record carries the band of now."""
    band = advise(appraisal).band
    found = DraftedBand(
        low=band.low,
        high=band.high,
        made=made(appraisal),
        ranking=ranking(appraisal),
        total=appraisal.proposed["total"],
    )
    return replace(appraisal, record=appraisal.record.model_copy(update={"band": found}))


def made(appraisal: Appraisal) -> int:
    """Return how many of the checks that are weighed stand."""
    steps = appraisal.diagnosis.arithmetic
    if steps is None:
        return 0
    told = [group.heard for group in steps.groups]
    return sum(len(one.readings) + len(one.looks) for one in told) + sum(
        one is not None for one in (steps.shared.pan, steps.shared.idle)
    )


def ranking(appraisal: Appraisal) -> float:
    """Return one number that moves with the ranking of causes."""
    return math.fsum(row.weighed * row.order for row in ranked_causes(appraisal.diagnosis))


def holds(appraisal: Appraisal, band: DraftedBand) -> bool:
    """Return whether what the band rested on is as it was."""
    alike = abs(ranking(appraisal) - band.ranking) < ALIKE
    return alike and made(appraisal) == band.made and appraisal.proposed["total"] == band.total


def words_of_band(band: DraftedBand, currency: str) -> str:
    """Return what the visit may come to."""
    return f"This visit may come to {band.low:,.0f} to {band.high:,.0f} {currency}, tax included. {NO_ESTIMATE}"
