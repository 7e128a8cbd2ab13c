"""From an appraisal to the Book: all tabs, in the order of the work."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.workbook.book import Book
from estimator.workbook.tabs.basis import basis
from estimator.workbook.tabs.estimate import estimate
from estimator.workbook.tabs.hours import hours
from estimator.workbook.tabs.inspection import inspection
from estimator.workbook.tabs.journal import journal
from estimator.workbook.tabs.limits import limits
from estimator.workbook.tabs.parts import parts
from estimator.workbook.tabs.record import record_tab
from estimator.workbook.tabs.summary import summary

_TABS = (summary, inspection, limits, hours, parts, estimate, journal, basis)


def compose(appraisal: Appraisal) -> Book:
    """Every cell of the workbook that an appraisal leads to."""
    job = appraisal.record.job
    tabs = tuple(make(appraisal) for make in _TABS)
    book = Book(job.document, job.revision, tabs)
    return Book(job.document, job.revision, (*tabs, record_tab(appraisal, book)))
