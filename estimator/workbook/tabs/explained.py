"""What explains the findings, and what to do next: two lines of the Summary between findings and pressures."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.workbook.forms import Form

ROWS = ("cause", "next-step")


def explained(form: Form, appraisal: Appraisal) -> None:
    """Add the lines to the Summary; they are empty while no cause is known."""
    for ref in ROWS:
        form.row(ref, [], 15)
