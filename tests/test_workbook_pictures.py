"""The workbook as it prints: LibreOffice's pages hold every text that they should, whole; nothing shows as ###."""

import re
import subprocess
from collections import Counter
from dataclasses import replace

import pytest
from engines import needs_libreoffice, render_pdf
from letter_samples import appraisal_at

from estimator.workbook.book import Book, Tab
from estimator.workbook.compose import compose
from estimator.workbook.layout import Layout
from estimator.workbook.write import workbook_bytes

pytestmark = needs_libreoffice
PAGES = {"Summary": 2, "Inspection": 10, "Hours": 4, "Parts": 10, "Estimate": 2, "Journal": 1}


@pytest.fixture(scope="module", params=["before", "mineral"])
def printed(request, tmp_path_factory):
    """A Book, and the text of its pages by tab."""
    book = compose(appraisal_at(request.param))
    return book, pages_of(book, tmp_path_factory.mktemp("printed"))


def pages_of(book: Book, folder) -> dict[str, list[str]]:
    path = folder / "book.xlsx"
    path.write_bytes(workbook_bytes(book))
    pdf = render_pdf(path, folder)
    text = subprocess.run(["pdftotext", "-raw", pdf, "-"], capture_output=True, text=True, check=True).stdout
    found: dict[str, list[str]] = {tab.name: [] for tab in book.tabs}
    for page in text.split("\f")[:-1]:
        name = next(
            name for name in found if re.search(rf"^{re.escape(book.document)} revision \d+ ?\n?{name}\b", page, re.M)
        )
        found[name].append(page)
    return found


def words(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", text)


def meant_to_print(book: Book, tab: Tab) -> Counter[str]:
    """Every word of the texts within the part of a tab that prints."""
    layout = Layout(book)
    last = layout.placed[tab.page.until or tab.blocks[-1].name].end_row
    width = tab.page.columns or max(len(part.columns) for part in tab.blocks)
    found: Counter[str] = Counter()
    for text in layout.texts(tab):
        if text.row <= last and text.column <= width:
            found.update(words(text.text))
    for part in (tab.head, *tab.blocks):
        for row, column, cell, _ in layout.formulas(layout.placed[part.name]):
            if isinstance(cell.value, str) and row <= last and column <= width:
                found.update(words(cell.value))
    return found


def lost(book: Book, tab: Tab, pages: list[str]) -> Counter[str]:
    """Words that should be on paper and are not, or less often."""
    return meant_to_print(book, tab) - Counter(words(" ".join(pages)))


def test_nothing_is_clipped_and_no_number_shows_as_hashes(printed):
    book, pages = printed
    for tab in book.tabs:
        if tab.name == "Record":
            continue  # for the program: packed rows, wider than any page
        hashes = [line for page in pages[tab.name] for line in page.splitlines() if "###" in line]
        assert not hashes, (tab.name, hashes[:3])
        assert not lost(book, tab, pages[tab.name]), tab.name


def test_how_many_pages_each_tab_takes(printed):
    _, pages = printed
    assert {name: len(pages[name]) for name, most in PAGES.items() if not 1 <= len(pages[name]) <= most} == {}


def test_each_page_says_what_it_is_and_what_may_be_done(printed):
    book, pages = printed
    for tab in book.tabs:
        for number, page in enumerate(pages[tab.name], 1):
            assert f"{book.document} revision {book.revision}" in page.replace("\n", " "), (tab.name, number)
            assert re.search(r"page \d+ ?of \d+", page)
    headings = ("before work", "after work", "gauge", "initials")
    assert all(word in page for page in pages["Inspection"] for word in headings)
    assert all("Release the pressure first" in page for page in pages["Inspection"])


def test_a_check_stands_on_one_page_with_how_it_is_made(printed):
    book, pages = printed
    (reading,) = [part for tab in book.tabs for part in tab.blocks if part.name == "reading"]
    text = [" ".join(page.split()) for page in pages["Inspection"]]
    for row in reading.rows:
        label, how = (" ".join(str(item).split()) for item in (row.cells[0].value, row.lines.below[0].text))
        assert any(label in page and how in page for page in text), label


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


@pytest.mark.parametrize(
    ("tab", "column", "width"), [("Inspection", 1, 3), ("Journal", 1, 5), ("Estimate", 10, 2), ("Basis", 3, 6)]
)
def test_a_column_that_is_too_narrow_is_seen(tab, column, width, tmp_path):
    book = compose(appraisal_at("before"))

    def narrow(item: Tab) -> Tab:
        widths = (*item.widths[:column], width, *item.widths[column + 1 :])
        return replace(item, widths=widths) if item.name == tab else item

    narrowed = Book(book.document, book.revision, tuple(map(narrow, book.tabs)))
    pages = pages_of(narrowed, tmp_path)
    (changed,) = [item for item in narrowed.tabs if item.name == tab]
    assert lost(narrowed, changed, pages[tab]) or any("###" in page for page in pages[tab])
