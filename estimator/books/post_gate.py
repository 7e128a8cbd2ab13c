"""Whether a workbook may go to the books: sound, decided, consented to, nothing of the wrong fluid family."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from estimator.appraisal import Appraisal
from estimator.errors import Finding, UnreadableFile
from estimator.pricing.decisions import AGREED, DECLINED
from estimator.pricing.extra_lines import ExtraWork
from estimator.readback.check import check_workbook
from estimator.workbook.seal import SealKey

# Findings of an appraisal that keep a document from the books. What may be done with the car isn't among them.
_KEEP_OUT = ("over-consent", "no-consent", "fluid-mixed", "out-of-balance", "job-undecided")


def checked_for_books(path: Path, key: SealKey | None = None) -> tuple[Appraisal | None, tuple[Finding, ...]]:
    """The appraisal of a workbook that may be posted, else None; and what is to be said of it.

    Nothing is raised for a file that can't be read.
    """
    try:
        checked = check_workbook(path, key)
    except UnreadableFile as refusal:
        return None, (Finding(refusal.rule, "stop", refusal.what, refusal.fix),)
    if checked.state != "sound" or checked.appraisal is None:
        return None, tuple(finding for finding in checked.integrity if finding.severity != "note")
    appraisal = checked.appraisal
    kept_out = [finding for finding in checked.findings if finding.rule in _KEEP_OUT]
    kept_out += _spare_undecided(appraisal)
    if kept_out:
        return None, tuple(kept_out)
    return appraisal, tuple(finding for finding in checked.findings if finding.rule == "job-not-done")


def _spare_undecided(appraisal: Appraisal) -> Iterator[Finding]:
    for line in appraisal.extra_lines:
        if line.proposed and line.boxes.decision not in (AGREED, DECLINED):
            what, tab = (
                f"{line.title}: recommended, awaiting a decision",
                "Hours" if isinstance(line, ExtraWork) else "Parts",
            )
            fix = "record the customer's decision"
            yield Finding("job-undecided", "note", what, fix, tab=tab, key=line.key("decision"))
