"""What explains the findings and what to do next: lines of the Summary between findings and pressures."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.drafted_band import ALIKE, REDRAFT, holds, words_of_band
from estimator.records import DraftedBand
from estimator.workbook.forms import Form, Placed, live
from estimator.workbook.tabs.causes_joint import most_probable
from estimator.workbook.tabs.causes_next import NEXT, NextStep


def explained(form: Form, appraisal: Appraisal) -> None:
    """Add what the readings point to, as the tab Causes works it out; the lines are empty where it can't."""
    for row in most_probable(appraisal):
        said = f"{{top.{row.ref}.words}}"
        formula = f'IF({said}="","","Cause: "&{said})'
        form.row(
            f"cause-{row.number}",
            [live(1, formula, row.words and f"Cause: {row.words}", "b105" if row.number == 1 else "t9")],
            14 if row.number == 1 else 12,
        )
    if appraisal.diagnosis.arithmetic is not None:
        form.row("next", [live(1, f'{{{NEXT}}}&""', NextStep(appraisal).words, "b105")], 14)
    if appraisal.record.band is not None:
        form.row("band", [_band(appraisal, appraisal.record.band)], 12)


def _band(appraisal: Appraisal, band: DraftedBand) -> Placed:
    """What the visit may come to, and whether that is older than the readings."""
    said = words_of_band(band, appraisal.record.shop.shop.currency)
    same = f"ABS({{total.total.proposed}}-{band.total})<0.005"
    if appraisal.diagnosis.arithmetic is not None:
        alike = f"ABS(SUMPRODUCT({{cause:weighed}},{{cause:order}})-{band.ranking:.12g})<{ALIKE:.7f}"
        same = f"{same},{{advice.made.value}}={band.made},{alike}"
    words_now = said if holds(appraisal, band) else f"{said} {REDRAFT}"
    return live(1, f'"{said}"&IF(AND({same}),""," {REDRAFT}")', words_now, "t9")
