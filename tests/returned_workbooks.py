"""Workbooks that come back: drafted for the tests, filled in, and edited as people and programs edit them.

The small one has the demo's car and a few of its jobs; the demo's own is whole.
"""

import functools
import random
import zipfile
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path

import ironcalc
from boxes_by_key import appraise_boxes, first_boxes
from lxml import etree
from written_file import MAIN, Edit, _cell, sheet_parts, with_markup

from estimator.intake.load_job import load_job
from estimator.readback.check import Checked, check_workbook
from estimator.records import EntryValue, JobRecord
from estimator.workbook.book import Book, Cell
from estimator.workbook.compose import compose
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import column_letter
from estimator.workbook.write import workbook_bytes

ROOT = Path(__file__).resolve().parent.parent
FEW_JOBS = ("pressure-test-diagnostic", "accumulator-exchange", "front-pads", "complete-fluid-renewal", "road-test")
# The engine takes texts that begin with = or + for formulas as it moves them, which is a fault of its own.
PLAIN_TEXTS = ("seen", "R & D <3>", "at 12", "שלום", "e\u0301 combining", "two\nlines")
AWKWARD_TEXTS = ("=1+1", "+44 1632", "-4 °C", "@home", "'quoted'", "12", "#N/A", "TRUE", "2026-11-25", " led ")


@functools.cache
def demo_record() -> JobRecord:
    return load_job(ROOT / "estimator/demo/files/job.toml", ROOT / "labor_tables")


@functools.cache
def small_record() -> JobRecord:
    """The demo's record with a few of its jobs, for tests that check many workbooks."""
    whole = demo_record()
    tables = whole.tables
    jobs = [job for job in tables.jobs if job.job_id in FEW_JOBS]
    few = {
        "jobs": tuple(
            job.model_copy(update={"supersedes": tuple(name for name in job.supersedes if name in FEW_JOBS)})
            for job in jobs
        ),
        "job_steps": tuple(item for item in tables.job_steps if item[0] in FEW_JOBS),
        "job_parts": tuple(item for item in tables.job_parts if item.job_id in FEW_JOBS),
        "calls": tuple(item for item in tables.calls if item.job_id in FEW_JOBS),
        "job_checks": tuple(item for item in tables.job_checks if item[0] in FEW_JOBS),
    }
    return whole.model_copy(update={"tables": tables.model_copy(update=few)})


@functools.cache
def book_of(record: Callable[[], JobRecord] = small_record, seed: int = 0) -> Book:
    """The Book of a record: as drafted, or with random entries of a seed in its boxes."""
    return compose(appraise_boxes(record(), entries_of(record, seed)))


@functools.cache
def entries_of(record: Callable[[], JobRecord] = small_record, seed: int = 0) -> Mapping[str, EntryValue]:
    first = first_boxes(record())
    return random_entries(book_of(record), first, random.Random(seed)) if seed else first


@functools.cache
def bytes_of(record: Callable[[], JobRecord] = small_record, seed: int = 0) -> bytes:
    return workbook_bytes(book_of(record, seed))


def write(path: Path, record: Callable[[], JobRecord] = small_record, seed: int = 0) -> Path:
    path.write_bytes(bytes_of(record, seed))
    return path


def random_entries(
    book: Book,
    first: Mapping[str, EntryValue],
    rng: random.Random,
    share: float = 0.5,
    texts: Sequence[str] = PLAIN_TEXTS,
) -> dict[str, EntryValue]:
    """Entries for a share of the boxes of a Book, each as its box allows."""
    entries = dict(first)
    for cell in book.boxes():
        box = cell.box
        if rng.random() > share:
            continue
        if box.kind == "list":
            entries[cell.key] = rng.choice(box.allowed)
        elif box.kind == "number":
            entries[cell.key] = round(rng.uniform(box.low, box.high), rng.choice((0, 1, 2)))
        elif box.kind == "date":
            entries[cell.key] = date(2026, rng.randint(1, 12), rng.randint(1, 28))
        else:
            entries[cell.key] = rng.choice(texts)
    return entries


def address_of(key: str, book: Book | None = None) -> tuple[str, str]:
    """Tab and address of a key as drafted."""
    tab, row, column = Layout(book or book_of()).address(key)
    return tab, f"{column_letter(column)}{row}"


def cells_by_address(book: Book) -> dict[tuple[str, str], Cell]:
    layout = Layout(book)
    found = {}
    for key, cell in book.by_key.items():
        tab, row, column = layout.address(key)
        found[tab, f"{column_letter(column)}{row}"] = cell
    return found


def with_cells(path: Path, out: Path, edits: Mapping[tuple[str, str], Edit]) -> Path:
    """A copy with several cells changed, each by an edit of written_file; all other stored values stay."""
    by_tab: dict[str, dict[str, Edit]] = {}
    for (tab, address), edit in edits.items():
        by_tab.setdefault(tab, {})[address] = edit

    def change(mine: Mapping[str, Edit]) -> Edit:
        def change_sheet(root: etree._Element) -> None:
            data = root.find(MAIN + "sheetData")
            present = {cell.get("r"): cell for cell in data.iter(MAIN + "c")}
            for address, edit in mine.items():
                edit(present[address] if address in present else _cell(data, address))

        return change_sheet

    return with_markup(path, out, {tab: change(mine) for tab, mine in by_tab.items()})


class Engine:
    """A workbook open in a spreadsheet engine, which moves references along as rows, columns and tabs are moved."""

    def __init__(self, path: Path) -> None:
        self.model = ironcalc.create_user_model_from_xlsx(str(path), "en", "UTC", "en")
        self.model.pause_evaluation()
        self.refresh()

    def refresh(self) -> None:
        self.tabs = {item["name"]: number for number, item in enumerate(self.model.get_worksheets_properties())}

    def type(self, tab: str, address: str, text: str) -> None:
        """Type into a cell, as a person does: numbers, dates and formulas are understood."""
        letters = address.rstrip("0123456789")
        column = ironcalc.column_number_from_name(letters)
        self.model.set_user_input(self.tabs[tab], int(address[len(letters) :]), column, text)

    def save(self, path: Path) -> Path:
        self.model.resume_evaluation()
        self.model.evaluate()
        path.unlink(missing_ok=True)
        self.model.save_to_xlsx(str(path))
        return path


def edited_in_engine(path: Path, out: Path, edit: Callable[[Engine], object]) -> Path:
    """A copy that was opened, edited, worked out and saved by an engine."""
    engine = Engine(path)
    edit(engine)
    return engine.save(out)


def check(path: Path) -> Checked:
    checked = check_workbook(path)
    counts = checked.entries.counts if checked.entries else {"boxes": 0}
    assert sum(count for name, count in counts.items() if name != "boxes") == counts["boxes"], "no entry is dropped"
    return checked


def rules(checked: Checked, least: str = "warn") -> dict[str, int]:
    """How often each rule about the workbook itself was broken, of this severity and graver."""
    order = ("note", "warn", "stop")
    found: dict[str, int] = {}
    for finding in checked.integrity:
        if order.index(finding.severity) >= order.index(least):
            found[finding.rule] = found.get(finding.rule, 0) + 1
    return found


def parts_of_tabs(path: Path) -> dict[str, str]:
    """Tab -> the part that holds its cells."""
    with zipfile.ZipFile(path) as book:
        return sheet_parts(book)
