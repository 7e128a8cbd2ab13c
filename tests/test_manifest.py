"""What a workbook carries of its own draft: as JSON and back it gives the same cell, text and formula at each place,
whatever is typed into the boxes."""

import json
from collections.abc import Callable

import pytest
from boxes_by_key import appraise_boxes
from returned_workbooks import book_of, demo_record, entries_of, small_record

from estimator.records import JobRecord
from estimator.workbook.book import Book
from estimator.workbook.compose import working_tabs
from estimator.workbook.layout import Layout
from estimator.workbook.manifest import constant, drafted_book, manifest


def laid_out(book: Book) -> list[tuple[object, ...]]:
    """Everything that lies on the tabs of a Book, but for looks and values of boxes and formulas."""
    layout = Layout(book)
    found: list[tuple[object, ...]] = [(tab.name, text) for tab in book.tabs for text in map(str, _texts(layout, tab))]
    for place in layout.placed.values():
        for row, column, cell, formula in layout.formulas(place):
            kept = None if cell.box or cell.formula else constant(cell.value)
            box = cell.box and (cell.box.kind, cell.box.allowed, cell.box.low, cell.box.high, cell.unit)
            found.append((place.tab.name, row, column, cell.key, formula, kept, box))
    return found


def _texts(layout: Layout, tab: object) -> list[tuple[object, ...]]:
    return [(text.key, text.row, text.column, text.text) for text in layout.texts(tab)]


@pytest.mark.parametrize("record", [small_record, demo_record])
def test_it_comes_back_as_it_went(record: Callable[[], JobRecord]) -> None:
    book = working_tabs(appraise_boxes(record(), entries_of(record)))
    data = json.loads(json.dumps(manifest(book)))
    again = drafted_book(data, book.document, book.revision)
    assert laid_out(again) == laid_out(book)
    assert manifest(again) == data == manifest(book)


def test_entries_change_nothing_of_it() -> None:
    assert manifest(working_tabs(appraise_boxes(small_record(), entries_of(small_record, 7)))) == manifest(
        working_tabs(appraise_boxes(small_record(), {}))
    )


@pytest.mark.parametrize(
    "data",
    [{}, [], None, 7, {"tabs": 7, "boxes": []}, {"tabs": [{}], "boxes": []}, {"tabs": [{"name": "x"}], "boxes": [[1]]}],
)
def test_what_is_no_manifest_is_refused(data: object) -> None:
    with pytest.raises(ValueError, match="whole one"):
        drafted_book(data, "x", 1)


def test_a_manifest_with_a_part_missing_is_refused_or_whole() -> None:
    """Any field left out is noticed: none is there for nothing."""
    data = json.loads(json.dumps(manifest(book_of())))
    for field in ("name", "title", "cautions", "head", "blocks"):
        broken = json.loads(json.dumps(data))
        del broken["tabs"][1][field]
        with pytest.raises(ValueError, match="whole one"):
            drafted_book(broken, "x", 1)
    table = next(number for number, tab in enumerate(data["tabs"]) if tab["blocks"][0]["kind"] != "form")
    for tab in (1, table):
        for field in data["tabs"][tab]["blocks"][0]:
            broken = json.loads(json.dumps(data))
            del broken["tabs"][tab]["blocks"][0][field]
            with pytest.raises(ValueError, match="whole one"):
                drafted_book(broken, "x", 1)
