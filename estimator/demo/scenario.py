"""The whole job on the invented scenario: files, workbook, readings, decisions, work, road, books."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from estimator.appraisal import Appraisal
from estimator.appraise import drafted
from estimator.books.from_appraisal import posting_of
from estimator.books.post import post
from estimator.books.post_gate import checked_for_books
from estimator.demo.start_files import demo_file, write_start_files
from estimator.errors import Refused
from estimator.files import refuse_existing, write_whole
from estimator.intake.entries_csv import load_entries
from estimator.intake.load_job import load_job
from estimator.letters.render import letter_html
from estimator.pricing.first_entries import first_entries
from estimator.readback.check import check_workbook
from estimator.readback.price_changes import PriceChange, price_changes
from estimator.readback.rebuild import filled
from estimator.readback.write_verified import write_verified

WHO = "Marsh Delaney (invented for the demo)"
# When the demo's documents are posted, so that its files come out the same each time.
POSTED_AT = "2026-11-28T09:00:00+00:00"
STEPS = (
    (
        "before",
        "measured before work",
        "mechanic, advisor",
        "Inspection: the verdict beside each reading, one too close to limit, one unable to measure; Work: what the "
        "findings recommend",
    ),
    (
        "decisions",
        "decided, and authorized in stages",
        "advisor, customer",
        "Estimate: the work, the reasons, the cost, what was declined and by whom",
    ),
    (
        "after",
        "work completed, remeasured",
        "mechanic",
        "Inspection: both readings side by side; only road checks are open",
    ),
    ("road", "road test completed", "everyone", "Summary: the most favorable status the program gives"),
)
LETTERS = {
    "before": "in a browser, on a phone or printed: driving status, findings, what each job costs",
    "road": "readings before and after the work, and what was authorized",
}


@dataclass(frozen=True)
class Stop:
    """One stop of the tour: a file, what it is, who would open it, what to look for, how the quote followed."""

    path: Path
    what: str
    who: str
    look: str
    changes: tuple[PriceChange, ...] = ()


def run_demo(folder: Path, *, force: bool = False) -> Iterator[Stop]:
    """Run the main job into a folder, yielding each stop of the tour as it is written.

    Raises CannotWrite where a file is there already (unless `force`) or can't be written.
    """
    entries = {name: folder / f"{name}.csv" for name, *_ in STEPS}
    for path in entries.values():
        refuse_existing(path, force=force)
    write_start_files(folder, force=force)
    for name, path in entries.items():
        write_whole(path, demo_file(f"{name}.csv"))
    what = "the job, with shop.toml, car.toml and labor_tables beside it; entries of each step in CSV files"
    yield Stop(folder / "job.toml", what, "advisor", "the comment beside each field")
    record = load_job(folder / "job.toml")
    stem = f"{record.job.document}-r{record.job.revision}"
    path = folder / f"{stem}.xlsx"
    appraisal = drafted(record, first_entries(record))
    write_verified(appraisal, path, force=force)
    yield Stop(
        path,
        f"drafted: {_said(appraisal)}",
        "mechanic",
        "the empty Inspection tab: entry boxes, limits, how to make each check",
    )
    for name, what, who, look in STEPS:
        checked = check_workbook(path)
        before, appraisal = appraisal, filled(checked, load_entries(entries[name]))
        path = folder / f"{stem}-{name}.xlsx"
        write_verified(appraisal, path, force=force)
        yield Stop(path, f"{what}: {_said(appraisal)}", who, look, price_changes(before, appraisal))
        if name in LETTERS:
            letter = path.with_suffix(".html")
            refuse_existing(letter, force=force)
            write_whole(letter, letter_html(appraisal).encode("utf-8"))
            yield Stop(letter, "the letter about it", "customer", LETTERS[name])
    ready, findings = checked_for_books(path)
    if ready is None:
        raise Refused("the demo's last workbook isn't ready for the books", findings)
    day = dt.datetime.fromisoformat(POSTED_AT).date()
    result = post([posting_of(ready, day)], folder / "books", WHO, now=POSTED_AT, today=day)
    journal = next((name for name in result.files if name.startswith("journal")), "register.sqlite")
    status = result.documents[0].status.replace("-", " ")
    look = "debits equal credits, to the cent; the month report and the UBL document beside it"
    yield Stop(folder / "books" / journal, f"{status}: balanced lines, once each", "bookkeeper", look)


def _said(appraisal: Appraisal) -> str:
    currency = appraisal.record.shop.shop.currency
    agreed, proposed = appraisal.agreed["total"], appraisal.proposed["total"]
    return f"{appraisal.driving.state}; recommended {proposed} {currency}, authorized {agreed} {currency}"
