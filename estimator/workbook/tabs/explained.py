"""What explains the findings and what to do next: lines of the Summary between findings and pressures."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.workbook.forms import Form, live
from estimator.workbook.tabs.causes_joint import most_probable
from estimator.workbook.tabs.causes_next import NEXT, NextStep


def explained(form: Form, appraisal: Appraisal) -> None:
    """Add what the readings point to, as the tab Causes works it out; the lines are empty where it can't."""
    for row in most_probable(appraisal):
        said = f"{{top.{row.ref}.words}}"
        form.row(f"cause-{row.number}", [live(1, f'{said}&""', row.words, "b105" if row.number == 1 else "t9")], 14)
    if appraisal.diagnosis.arithmetic is not None:
        form.row("next", [live(1, f'{{{NEXT}}}&""', NextStep(appraisal).words, "b105")], 15)
