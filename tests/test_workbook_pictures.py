"""The workbook as documents: LibreOffice's pages on both papers, and what can be reckoned of pages and first screens.

The measures are those of the grid on which the forms are drawn: 668 px of columns, 697 pt of rows, a screen of 480 px.
"""

import re
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from engines import needs_libreoffice, render_pdf
from letter_samples import appraisal_at
from written_file import MAIN, with_markup

from estimator.workbook.book import Book, Cell, Row, Tab
from estimator.workbook.compose import compose
from estimator.workbook.form_styles import form_look
from estimator.workbook.layout import Layout
from estimator.workbook.write import workbook_bytes

PAGES = {"Summary": 1, "Inspection": 5, "After work": 6, "Estimate": 2, "Work": 2, "Journal": 1}
MOST_PAGES, MOST_FORMULAS, MOST_BOXES, MOST_BYTES = 16, 18_000, 1_200, 660_000  # with causes; 500,000 bytes are wanted
SMALLEST, SMALLEST_READING = 9, 11  # points
PRINTED, MARGIN, PAGE = 668, 560, 697  # pixels of columns, pixels beside them, points of rows
FROZEN, SCREEN = 120, 480  # pixels
# The number that a file gives each paper (ECMA-376 part 1, 18.3.1.63), and its size in points.
PAPERS = {"letter": (1, (612, 792)), "A4": (9, (595, 842))}
# A row of each tab that is to be seen without scrolling.
FIRST_SCREEN = {
    "Summary": "finding-6",
    "Inspection": "7",
    "After work": "14",
    "Estimate": "why-5",
    "Work": "job 8",
    "Journal": "balance",
}


@dataclass(frozen=True)
class Printed:
    """A Book, its PDF, and the text of its pages by tab."""

    book: Book
    pdf: Path
    pages: dict[str, list[str]]


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
        name = next(name for name in found if f"{book.document} r{book.revision} · {name}" in page)
        found[name].append(page)
    return Printed(book, pdf, found)


def run(*command) -> str:
    return subprocess.run([*map(str, command)], capture_output=True, text=True, check=True).stdout


@pytest.fixture(scope="module", params=["letter", "A4"])
def printed(request, tmp_path_factory):
    shown = print_out(compose(appraisal_at("before")), tmp_path_factory.mktemp("printed"), request.param)
    sizes = run("pdfinfo", "-l", "999", shown.pdf)
    assert {
        tuple(sorted(map(round, map(float, size)))) for size in re.findall(r"size: +([0-9.]+) x ([0-9.]+)", sizes)
    } == {PAPERS[request.param][1]}
    return shown


@needs_libreoffice
def test_each_document_has_its_pages_and_the_rest_none(printed):
    counts = {name: len(pages) for name, pages in printed.pages.items()}
    assert sum(counts.values()) <= MOST_PAGES
    for name, count in counts.items():
        assert count <= PAGES.get(name, 0), counts
    assert all(counts[name] for name in PAGES)


@needs_libreoffice
def test_what_stands_on_a_page_is_on_paper(printed):
    """Every text of the printed rows, and no ###."""
    for tab in forms(printed.book):
        on_paper = squeezed(" ".join(printed.pages[tab.name]))
        assert "###" not in on_paper
        for row, cell, column in cells_of(tab):
            if printed_row(tab, row) and column <= tab.page.columns and isinstance(cell.value, str):
                for line in filter(None, map(squeezed, cell.value.split("\n"))):
                    wrapped = line[:9] if form_look_of(cell).get("text_wrap") else line
                    assert wrapped in on_paper, (tab.name, row.ref, cell.value)


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


@pytest.fixture(scope="module", params=["before", "road"])
def book(request):
    return compose(appraisal_at(request.param))


def forms(book: Book) -> list[Tab]:
    return [tab for tab in book.tabs if tab.head.kind == "form"]


def cells_of(tab: Tab) -> Iterator[tuple[Row, Cell, int]]:
    for part in (tab.head, *tab.blocks):
        for row in part.rows:
            yield from ((row, cell, column) for cell, column in zip(row.cells, row.at, strict=True))


def printed_rows(tab: Tab) -> list[Row]:
    """The rows of a tab that are printed, in their order."""
    found = []
    for part in (tab.head, *tab.blocks):
        found += [row for row in part.rows if not row.face.folded]
        if part.name == tab.page.until:
            break
    return found


def printed_row(tab: Tab, row: Row) -> bool:
    return any(row is other for other in printed_rows(tab))


def form_look_of(cell: Cell) -> dict:
    return form_look(cell.look, boxed=cell.box is not None, line="", column=1, last=9)


def test_a_workbook_has_few_formulas_few_boxes_and_few_bytes(book):
    assert sum(1 for cell in book.cells() if cell.formula is not None) <= MOST_FORMULAS
    assert sum(1 for _ in book.boxes()) <= MOST_BOXES
    assert len(workbook_bytes(book)) <= MOST_BYTES


def test_numbers_in_formulas_have_no_more_digits_than_programs_keep(book):
    """15: LibreOffice writes no more, and a formula that it saved must be the one that was drafted."""
    for cell in book.cells():
        for number in re.findall(r"[0-9]+\.?[0-9]*", re.sub(r'"[^"]*"', "", cell.formula or "")):
            assert len(number.replace(".", "").lstrip("0")) <= 15, (cell.key, cell.formula)


def test_no_formula_gives_a_text_that_programs_strip(book):
    """LibreOffice drops a space at the beginning of a stored text, and the reader finds another value."""
    assert not [
        cell.key
        for cell in book.cells()
        if cell.formula and isinstance(cell.value, str) and cell.value != cell.value.strip(" ")
    ]


def test_type_is_large_enough(book):
    for tab in forms(book):
        for row, cell, _ in cells_of(tab):
            size = form_look_of(cell)["font_size"]
            assert size >= SMALLEST, (tab.name, row.ref, cell.look)
            if cell.box is not None and cell.key.startswith("reading.") and cell.key.endswith((".before", ".after")):
                assert size >= SMALLEST_READING
                assert row.face.height >= 28.3  # 10 mm


def test_pages_are_as_large_as_the_grid(book):
    """Columns as wide as the paper at full size; pages, between hand-set breaks, no higher than letter takes."""
    for tab in forms(book):
        assert sum(tab.widths[: tab.page.columns]) == PRINTED, tab.name
        assert sum(tab.widths[tab.page.columns + 1 :]) <= MARGIN, tab.name
        height = 0.0
        for row in printed_rows(tab):
            height = row.face.height if row.face.page else height + row.face.height
            assert tab.name == "Work" or height <= PAGE, (tab.name, row.ref, height)


def test_first_screens_answer_the_question(book):
    for tab in forms(book):
        rows = [row for part in (tab.head, *tab.blocks) for row in part.rows if not row.face.folded]
        assert sum(row.face.height for row in rows[: tab.page.frozen]) / 0.75 <= FROZEN, tab.name
        height = 0.0
        for row in rows:
            height += row.face.height / 0.75
            if row.ref == FIRST_SCREEN[tab.name]:
                assert height <= SCREEN, (tab.name, height)
                break
        else:
            assert tab.name == "Work", tab.name  # a visit with fewer jobs


def test_pages_print_at_their_own_size(tmp_path):
    """Scale 100, no fit to the page, breaks set by hand, an area: what stands beside it is for the screen."""
    path = tmp_path / "book.xlsx"
    made = compose(appraisal_at("before"))
    path.write_bytes(workbook_bytes(made))
    seen = {}

    def look_at(name: str):
        def look(root) -> None:
            setup = root.find(MAIN + "pageSetup")
            fit = root.find(f"{MAIN}sheetPr/{MAIN}pageSetUpPr")
            seen[name] = (setup.get("scale", "100"), fit is None or fit.get("fitToPage") != "1")

        return look

    with_markup(path, tmp_path / "same.xlsx", {tab.name: look_at(tab.name) for tab in forms(made)})
    assert seen == {tab.name: ("100", True) for tab in forms(made)}


def test_marks_look_where_their_figures_stand(tmp_path):
    """Verdicts and totals stand on other tabs: a reference without its tab leads to an empty cell of the form."""
    path = tmp_path / "book.xlsx"
    path.write_bytes(workbook_bytes(compose(appraisal_at("before"))))
    seen = []

    def look(root) -> None:
        seen.extend(item.text for item in root.iter(MAIN + "formula"))

    with_markup(path, tmp_path / "same.xlsx", {"Inspection": look, "After work": look, "Estimate": look})
    references = [of for formula in seen for of in re.findall(r"([A-Za-z]+!)?\$[A-Z]+\$[0-9]+", formula)]
    assert len(references) > 100 and all(references)


def test_links_lead_to_the_rows_of_what_grounds_the_car():
    made = compose(appraisal_at("before"))
    layout, summary = Layout(made), made.tabs[0]
    named = 0
    for row, cell, _ in cells_of(summary):
        if row.ref.startswith("finding-") and cell.look == "link" and cell.formula and cell.value:
            number = row.ref.removeprefix("finding-")
            tab = made.by_key[f"concern.{number}.tab"].value
            at = made.by_key[f"concern.{number}.row"].value
            there = next(tab_ for tab_ in made.tabs if tab_.name == tab)
            rows = [row_ for part in (there.head, *there.blocks) for row_ in part.rows]
            assert cell.value == f"{tab} {rows[at - 1].cells[0].value}"
            named += 1
    assert named > 3
    assert {name for tab in made.tabs for _, name in tab.links} <= {tab.name for tab in made.tabs}
    assert layout.book is made
