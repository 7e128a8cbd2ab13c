"""The workbook as it prints, on both papers: LibreOffice's pages hold every text and number that they should, whole and
as their looks show them; nothing shows as ###; each page says what it is; ink is dark on light without color."""

import datetime as dt
import re
import subprocess
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_DOWN, ROUND_HALF_UP, Decimal
from pathlib import Path

import pytest
from agreement import floor
from engines import needs_libreoffice, pages_as_png, render_pdf
from letter_samples import appraisal_at
from written_file import MAIN, with_markup

from estimator.workbook.book import Block, Book, Cell, Row, Tab
from estimator.workbook.compose import compose
from estimator.workbook.layout import Layout
from estimator.workbook.styles import lines_needed, look
from estimator.workbook.write import workbook_bytes

pytestmark = needs_libreoffice
# One page of the Summary is kept for every check that may keep the car off the road beyond the first twelve: each is
# named, also those that come up after drafting.
PAGES = {"Summary": 4, "Inspection": 10, "Hours": 4, "Parts": 11, "Estimate": 2, "Journal": 1}
EPOCH = dt.date(1899, 12, 30)
# The number that a file gives each paper (ECMA-376 part 1, 18.3.1.63), and its size in points.
PAPERS = {"letter": (1, (612, 792)), "A4": (9, (595, 842))}


@dataclass(frozen=True)
class Printed:
    """A Book, its PDF, and the text of its pages by tab."""

    book: Book
    pdf: Path
    pages: dict[str, list[str]]


@pytest.fixture(
    scope="module",
    params=[("before", "letter"), ("mineral", "A4")],  # another under tests/long/
    ids=lambda param: " on ".join(param),
)
def printed(request, tmp_path_factory):
    return printed_at(*request.param, tmp_path_factory.mktemp("printed"))


def printed_at(stage: str, paper: str, folder: Path) -> Printed:
    shown = print_out(compose(appraisal_at(stage)), folder, paper)
    sizes = run("pdfinfo", "-l", "999", shown.pdf)
    assert {
        tuple(sorted(map(round, map(float, size)))) for size in re.findall(r"size: +([0-9.]+) x ([0-9.]+)", sizes)
    } == {PAPERS[paper][1]}
    return shown


def run(*command) -> str:
    return subprocess.run([*map(str, command)], capture_output=True, text=True, check=True).stdout


def print_out(book: Book, folder: Path, paper: str = "letter") -> Printed:
    """The Book printed; a file of ours leaves the paper to the printer, so a copy names it."""
    path, named = folder / "book.xlsx", folder / "named.xlsx"
    path.write_bytes(workbook_bytes(book))

    def on_paper(root) -> None:
        root.find(MAIN + "pageSetup").set("paperSize", str(PAPERS[paper][0]))

    with_markup(path, named, {tab.name: on_paper for tab in book.tabs})
    pdf = render_pdf(named, folder)
    found: dict[str, list[str]] = {tab.name: [] for tab in book.tabs}
    for page in filter(str.strip, run("pdftotext", "-raw", pdf, "-").split("\f")):
        name = next(
            name for name in found if re.search(rf"^{re.escape(book.document)} ?revision \d+ ?\n?{name}\b", page, re.M)
        )
        found[name].append(page)
    return Printed(book, pdf, found)


def words(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", text)


def printing(book: Book, tab: Tab) -> Iterator[Cell]:
    """The cells within the part of a tab that prints."""
    layout = Layout(book)
    last = layout.placed[tab.page.until or tab.blocks[-1].name].end_row
    width = tab.page.columns or max(len(part.columns) for part in tab.blocks)
    for part in (tab.head, *tab.blocks):
        empty = {
            cell.key
            for row in part.rows
            if part.blanked and not column_of(part, row, part.faded_by).value
            for cell in row.cells
        }
        for row, column, cell, _ in layout.formulas(layout.placed[part.name]):
            if row <= last and column <= width and cell.key not in empty:
                yield cell


def column_of(part: Block, row: Row, name: str) -> Cell:
    return row.cells[[column.name for column in part.columns].index(name)]


def meant_to_print(book: Book, tab: Tab) -> Counter[str]:
    """Every word of the texts within the part of a tab that prints."""
    layout = Layout(book)
    last = layout.placed[tab.page.until or tab.blocks[-1].name].end_row
    width = tab.page.columns or max(len(part.columns) for part in tab.blocks)
    found: Counter[str] = Counter()
    for text in layout.texts(tab):
        if text.row <= last and text.column <= width:
            found.update(words(text.text))
    for cell in printing(book, tab):
        if isinstance(cell.value, str):
            found.update(words(cell.value))
    return found


def as_shown(cell: Cell, tie: str = ROUND_HALF_UP) -> str:
    """A number or date as its look shows it; "" for what isn't shown, and for texts. `tie`: where a 5 alone is left."""
    value, shape = cell.value, look(cell.look, boxed=cell.box is not None).get("num_format", "")
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, bool | str) or value is None:
        return ""
    if shape == "0;-0;" and not value:
        return ""
    if shape == "yyyy-mm-dd":
        return (EPOCH + dt.timedelta(value)).isoformat()
    decimals = len(shape.partition(".")[2].partition("E")[0].partition(";")[0].rstrip("%"))
    value = 0.0 if abs(value) <= floor(cell) else float(value)  # less than what cancels out in a spreadsheet
    number = Decimal(repr(value)) * (100 if shape.endswith("%") else 1)
    if "E" in shape:
        size = number.adjusted() if number else 0
        return f"{float(number.quantize(Decimal(1).scaleb(size - decimals), tie)):.{decimals}E}"
    text = f"{number.quantize(Decimal(1).scaleb(-decimals), tie):{',' if ',' in shape else ''}f}"
    return (text.removeprefix("-") if not float(text.replace(",", "")) else text) + ("%" if shape.endswith("%") else "")


def lost(book: Book, tab: Tab, pages: list[str]) -> Counter[str]:
    """Words and numbers that should be on paper and are not, or less often."""
    page = " ".join(pages)
    there = Counter(page.split())
    numbers = Counter(next((t for t in ties(cell) if t in there), as_shown(cell)) for cell in printing(book, tab))
    del numbers[""]
    return (meant_to_print(book, tab) - Counter(words(page))) + (numbers - there)


def ties(cell: Cell) -> tuple[str, str]:
    """Both ways to round a number: which one a program takes where a 5 alone is left, its binary digits decide."""
    return as_shown(cell), as_shown(cell, ROUND_HALF_DOWN)


def unsaid(book: Book, tab: Tab, pages: list[str]) -> Iterator[str]:
    """What a page should say of itself and doesn't."""
    for number, page in enumerate(pages, 1):
        if not re.search(rf"{re.escape(book.document)} ?revision {book.revision}\b", page.replace("\n", " ")):
            yield f"{tab.name} {number}: document and revision"
        if not re.search(r"page ?\d+ ?of ?\d+", page):
            yield f"{tab.name} {number}: page x of y"
        if tab.name == "Inspection":
            wanted = ("before work", "after work", "gauge", "initials", "Release the pressure first")
            yield from (f"{tab.name} {number}: {word}" for word in wanted if word not in page)


def too_many(pages: dict[str, list[str]]) -> dict[str, int]:
    return {name: len(pages[name]) for name, most in PAGES.items() if not 1 <= len(pages[name]) <= most}


def test_nothing_is_clipped_and_no_number_shows_as_hashes(printed):
    for tab in printed.book.tabs:
        if tab.name == "Record":
            continue  # for the program: packed rows, wider than any page
        pages = printed.pages[tab.name]
        hashes = [line for page in pages for line in page.splitlines() if "###" in line]
        assert not hashes, (tab.name, hashes[:3])
        assert not lost(printed.book, tab, pages), tab.name


def test_what_nobody_chooses_is_blank_on_paper(printed):
    """Places that are kept for more lines of the Estimate show nothing, neither their name nor zeros."""
    offers = next(part for tab in printed.book.tabs for part in tab.blocks if part.name == "offer")
    used = [str(row.cells[0].value) for row in offers.rows if column_of(offers, row, "line_at").value]
    page = " ".join(" ".join(printed.pages["Estimate"]).split())
    assert used and len(used) < len(offers.rows)
    assert [str(row.cells[0].value) for row in offers.rows if f"{row.cells[0].value} " in page] == used


def test_how_many_pages_each_tab_takes(printed):
    assert too_many(printed.pages) == {}


def test_each_page_says_what_it_is_and_what_may_be_done(printed):
    for tab in printed.book.tabs:
        assert list(unsaid(printed.book, tab, printed.pages[tab.name])) == []


def test_it_prints_in_the_letters_whose_widths_it_is_made_for(printed):
    """Carlito has the widths of Calibri, which the workbook names; with other letters the pages prove nothing."""
    if "Carlito" not in run("fc-match", "Calibri"):
        pytest.skip("Carlito isn't installed; .ci/run installs it")
    fonts = run("pdffonts", printed.pdf)
    assert "Carlito" in fonts and not re.search("DejaVuSans(?!Mono)|LiberationSans", fonts)


def test_ink_is_dark_on_light_without_color(printed, tmp_path):
    """Every page of the tabs that people read, in grey: mostly paper, some ink, hardly anything between but edges."""
    from PIL import Image

    count = sum(len(printed.pages[name]) for name in ("Summary", "Inspection"))
    for path in pages_as_png(printed.pdf, tmp_path, dpi=50, last=count):
        shades = Image.open(path).convert("L").histogram()
        assert sum(shades[225:]) > 0.75 * sum(shades), path.name
        assert sum(shades[:128]) > 0.004 * sum(shades), path.name


def test_a_check_stands_on_one_page_with_how_it_is_made(printed):
    (reading,) = [part for tab in printed.book.tabs for part in tab.blocks if part.name == "reading"]
    text = [" ".join(page.split()) for page in printed.pages["Inspection"]]
    for row in reading.rows:
        label, how = (" ".join(str(item).split()) for item in (row.cells[0].value, row.lines.below[0].text))
        assert any(label in page and how in page for page in text), label


@pytest.mark.parametrize("stage", ["before", "road", "mineral"])
def test_no_text_is_taller_than_its_box(stage):
    """Where rows have a height of their own, every text in a box of the demo fits, lines of 1.2 times its size."""
    for tab in compose(appraisal_at(stage)).tabs:
        for part in tab.blocks:
            for row in part.rows if part.row_height else ():
                for cell, width in zip(row.cells, tab.widths, strict=False):
                    if isinstance(cell.value, str) and cell.box is not None:
                        lines = lines_needed(cell.look, cell.value, width, boxed=True)
                        assert lines * 1.2 * look(cell.look, boxed=True)["font_size"] <= part.row_height, cell.key


@pytest.mark.parametrize("paper", [279.4, 297.0])
def test_boxes_are_made_for_gloves(paper):
    """At least 24 pt high, and 30 mm wide on letter and A4 across, with margins of 0.4 in."""
    book = compose(appraisal_at("before"))
    (tab,) = [tab for tab in book.tabs if tab.name == "Inspection"]
    reading = tab.blocks[0]
    assert reading.row_height >= 24
    for name in ("before", "after"):
        at = [column.name for column in reading.columns].index(name)
        assert tab.widths[at] / sum(tab.widths) * (paper - 2 * 0.4 * 25.4) >= 30


# Tab -> the column that is made too narrow in it, and how wide it is then.
NARROW = {"Inspection": (1, 3), "Journal": (1, 5), "Estimate": (10, 2), "Basis": (3, 6)}


def spoiled(tab: Tab) -> Tab:
    """With a narrow column; with pages too many on two tabs, and without heading or cautions there."""
    if tab.name in NARROW:
        column, width = NARROW[tab.name]
        tab = replace(tab, widths=(*tab.widths[:column], width, *tab.widths[column + 1 :]))
    if tab.name == "Inspection":
        return replace(tab, page=replace(tab.page, rows_a_page=2, header=""))
    return replace(tab, cautions=(), page=replace(tab.page, until="")) if tab.name == "Estimate" else tab


def test_what_is_spoiled_is_seen(tmp_path):
    """Narrow columns, pages too many, lost headings: all in one workbook, as printing takes long."""
    book = compose(appraisal_at("before"))
    book = Book(book.document, book.revision, tuple(map(spoiled, book.tabs)))
    pages = print_out(book, tmp_path).pages
    tabs = {tab.name: tab for tab in book.tabs}
    for name in NARROW:
        assert lost(book, tabs[name], pages[name]) or any("###" in page for page in pages[name]), name
    assert set(too_many(pages)) >= {"Inspection", "Estimate"}
    unsaid_there = list(unsaid(book, tabs["Inspection"], pages["Inspection"]))
    assert len(unsaid_there) >= len(pages["Inspection"]) - 1


def test_a_lost_number_is_seen(printed):
    (inspection,) = [tab for tab in printed.book.tabs if tab.name == "Inspection"]
    money = next(as_shown(cell) for cell in printing(printed.book, inspection) if as_shown(cell))
    without = [" ".join(word for word in page.split() if word != money) for page in printed.pages["Inspection"]]
    assert money in lost(printed.book, inspection, without)
