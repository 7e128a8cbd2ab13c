"""Whether a workbook may go to the books: sound, decided, consented to, nothing of the wrong fluid family."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

from estimator.appraisal import Appraisal
from estimator.errors import Finding, UnreadableFile
from estimator.pricing.decisions import AGREED, DECLINED
from estimator.readback.check import check_workbook
from estimator.readback.future_dates import Dated, dates_in
from estimator.workbook.seal import SealKey

# Findings of an appraisal that keep a document from the books. What may be done with the car isn't among them.
_KEEP_OUT = ("over-consent", "no-consent", "fluid-mixed", "out-of-balance", "job-undecided", "unit-unknown")


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
    if key is None and checked.seal.startswith("sealed"):
        what = "no key given; the seal was not checked"
        return None, (Finding("seal-not-checked", "stop", what, "to check it, add --seal KEYFILE"),)
    appraisal = checked.appraisal
    kept_out = [finding for finding in checked.findings if finding.rule in _KEEP_OUT]
    kept_out += _spare_undecided(appraisal)
    if kept_out:
        return None, tuple(kept_out)
    return appraisal, tuple(finding for finding in checked.findings if finding.rule == "job-not-done")


def date_findings(appraisal: Appraisal, date: dt.date, today: dt.date) -> Iterator[Finding]:
    """Why an invoice can't have this date: it is to come, or before the work that it bills."""
    job = appraisal.record.job
    work = max((Dated(job.date, "", "", "the job"), *dates_in(appraisal)), key=lambda item: item.day)
    if date > today:
        yield Finding("date-in-future", "stop", f"invoice dated {date}; today is {today}", "give a date up to today")
    if date < work.day:
        what = f"invoice dated {date}; {work.what}: {work.day}"
        yield Finding(
            "date-before-work",
            "stop",
            what,
            "give --date on or after it, or correct that date",
            tab=work.tab,
            key=work.key,
        )


def _spare_undecided(appraisal: Appraisal) -> Iterator[Finding]:
    for line in appraisal.extra_lines:
        if line.proposed and line.boxes.decision not in (AGREED, DECLINED):
            what, fix = f"{line.title}: recommended, awaiting a decision", "record the customer's decision"
            yield Finding("job-undecided", "note", what, fix, tab="Work", key=line.key("decision"))
