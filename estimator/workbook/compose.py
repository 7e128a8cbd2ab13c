"""From an appraisal to the Book: all tabs, in the order of the work."""

from __future__ import annotations

from dataclasses import replace

from estimator import __version__
from estimator.appraisal import Appraisal
from estimator.limits.judging.verdict_words import PHASES
from estimator.records import JobRecord
from estimator.workbook.book import Book, Properties
from estimator.workbook.seal import SealKey
from estimator.workbook.tabs.basis import basis
from estimator.workbook.tabs.causes import causes
from estimator.workbook.tabs.common import car_words
from estimator.workbook.tabs.estimate import estimate
from estimator.workbook.tabs.form_rows import FormPlace
from estimator.workbook.tabs.inspection import after_work, inspection
from estimator.workbook.tabs.journal import journal
from estimator.workbook.tabs.limits import limits
from estimator.workbook.tabs.record import Packed, packed_record, record_tab
from estimator.workbook.tabs.summary import summary
from estimator.workbook.tabs.work import work
from estimator.workbook.tabs.workings import workings


def compose(appraisal: Appraisal, key: SealKey | None = None) -> Book:
    """Every cell of the workbook that an appraisal leads to, sealed where a key is given."""
    book = working_tabs(appraisal)
    return with_record(book, appraisal.record, appraisal.driving.state, packed_record(appraisal.record, book, key))


def working_tabs(appraisal: Appraisal) -> Book:
    """All tabs but the one for the program."""
    job, car, shop = appraisal.record.job, appraisal.record.car.car, appraisal.record.shop.shop
    properties = Properties(
        title=f"{job.document} revision {job.revision}: {car_words(car)}",
        subject="Inspection and repair of stored-pressure brakes",
        shop=shop.name,
        program=f"estimator {__version__}",
        day=job.date,
    )
    forms = (inspection(appraisal), after_work(appraisal))
    places = {phase: FormPlace.of(tab) for phase, tab in zip(PHASES, forms, strict=True)}
    rest = tuple(make(appraisal) for make in (estimate, work, journal, limits, basis))
    tabs = (summary(appraisal), *forms, *rest, workings(appraisal, places), *causes(appraisal))
    return Book(job.document, job.revision, tabs, properties)


def with_record(book: Book, record: JobRecord, state: str, packed: Packed) -> Book:
    """The Book with the tab for the program after the others."""
    return replace(book, tabs=(*book.tabs, record_tab(record, state, packed)))
