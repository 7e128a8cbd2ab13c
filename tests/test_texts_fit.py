"""Every text of a printed page has room: measured with Carlito's own widths, whose are Calibri's, in columns as they are on
paper; no word is cut, no number has decimals that say nothing."""

import re
import subprocess
from functools import cache

import pytest
from boxes_by_key import appraise_boxes
from letter_samples import appraisal_at, entries_at
from PIL import ImageFont
from test_workbook_pictures import cells_of, form_look_of, printed_row

from estimator.limits.judging.verdict_words import LOOK_WORDS
from estimator.workbook.book import Book, Cell, Row, Tab
from estimator.workbook.compose import compose

FORTY = "Wilhelmina Featherstonehaugh-Ollerenshaw"
# Of lines of type, the share of their height without ink above and below; pixels of a cell beside its text.
LINE, BLANK, PAD = 1.2, 5.0, 4.0


def _font(style: str) -> str:
    found = subprocess.run(["fc-match", "-f", "%{file}", f"Carlito:style={style}"], capture_output=True, text=True)
    return found.stdout


FONTS = {bold: _font("Bold" if bold else "Regular") for bold in (False, True)}
pytestmark = pytest.mark.skipif("Carlito" not in FONTS[False], reason="Carlito is not installed; .ci/run installs it")


@cache
def font(bold: bool) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(FONTS[bold], 1000)


def width(text: str, look: dict) -> float:
    return font(bool(look.get("bold"))).getlength(text) / 1000 * look["font_size"] * 96 / 72


def long_names() -> Book:
    """Names of forty letters, all that a page can name."""
    record, entries = entries_at("before")
    job, car, shop = record.job, record.car, record.shop
    who = job.customer.model_copy(update={"name": FORTY, "address": (FORTY, FORTY)})
    job = job.model_copy(update={"customer": who, "complaint": f"{FORTY} " * 5, "odometer": "1,234,567 mi"})
    named = car.car.model_copy(
        update={"name": FORTY, "plate": "TAR 5127-9944", "chassis_number": "VLC-0268-1963-0004471"}
    )
    of = shop.shop.model_copy(update={"name": FORTY.replace("Wil", "Lan")})
    record = record.model_copy(
        update={
            "job": job,
            "car": car.model_copy(update={"car": named}),
            "shop": shop.model_copy(update={"shop": of}),
        }
    )
    return compose(appraise_boxes(record, entries))


def many_findings() -> Book:
    """Every look a fault."""
    record, entries = entries_at("before")
    looks = [row.ref for row in appraisal_at("before").plan.checks if row.check.kind == "look"]
    return compose(appraise_boxes(record, {**entries, **{f"reading.{ref}.before": LOOK_WORDS[1] for ref in looks}}))


BOOKS = {
    **{
        stage: lambda stage=stage: compose(appraisal_at(stage)) for stage in ("drafted", "decisions", "road", "mineral")
    },
    "long names": long_names,
    "many findings": many_findings,
}


@pytest.fixture(scope="module", params=BOOKS)
def book(request) -> Book:
    return BOOKS[request.param]()


def texts(book: Book):
    """Each printed text with its row, its look, and the pixels that it has."""
    for tab in book.tabs:
        if tab.head.kind != "form":
            continue
        for row, cell, column in cells_of(tab):
            if (
                printed_row(tab, row)
                and column <= tab.page.columns
                and isinstance(cell.value, str)
                and cell.value
                and not cell.box
            ):
                look = form_look_of(cell)
                yield tab, row, cell, look, room(tab, row, cell, column, look)


def room(tab: Tab, row: Row, cell: Cell, column: int, look: dict) -> float:
    """The pixels of its column and of the empty ones that it may run over."""
    taken = {at for other, at in zip(row.cells, row.at, strict=True) if other.box or other.value not in ("", None)}
    if look.get("text_wrap") or look.get("align") == "center":
        return tab.widths[column - 1]
    step = -1 if look.get("align") == "right" else 1
    last, at = column, column + step
    while 1 <= at <= tab.page.columns and at not in taken:
        last, at = at, at + step
    first, end = sorted((column, last))
    return sum(tab.widths[first - 1 : end])


def lines(text: str, look: dict, pixels: float) -> int:
    count = 0
    for part in text.split("\n"):
        line, count = "", count + 1
        for word in part.split():
            longer = f"{line} {word}" if line else word
            if line and width(longer, look) > pixels:
                line, count = word, count + 1
            else:
                line = longer
    return count


def test_no_text_is_cut(book):
    cut = []
    for tab, row, cell, look, pixels in texts(book):
        free = pixels - PAD - 9 * look.get("indent", 0)
        if look.get("text_wrap"):
            needed = lines(cell.value, look, free) * look["font_size"] * LINE
            if needed > row.face.height + BLANK:
                cut.append((tab.name, row.ref, cell.value, needed, row.face.height))
        elif width(cell.value, look) > free:
            cut.append((tab.name, row.ref, cell.value, width(cell.value, look), free))
        assert "…" not in cell.value, (tab.name, row.ref, cell.value)
    assert not cut


def test_numbers_in_texts_have_no_decimals_that_say_nothing(book):
    for tab, row, cell, _, _ in texts(book):
        if cell.formula and cell.look in ("limit", "verdict", "t95"):
            words = re.sub(r"core deposit [\d.,]+", "", cell.value)
            assert not re.search(r"\d\.\d*0(?!\d)(?!%)", words), (tab.name, row.ref, cell.value)
