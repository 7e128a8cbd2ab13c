"""Ranges that cover drafted cells are a stop, wherever they begin; comparing has a budget."""

from collections.abc import Callable
from pathlib import Path

import pytest
from lxml import etree
from returned_workbooks import address_of, book_of, cells_by_address, check, with_cells, write
from written_file import MAIN, _cell, to_formula, with_markup

from estimator.errors import Finding, UnreadableFile

TAB = "Estimate"


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(tmp_path_factory.mktemp("sound") / "sound.xlsx", seed=1)


def total() -> str:
    """The row of a cell of the Estimate that holds a formula."""
    key = next(key for key, cell in book_of().by_key.items() if cell.formula and address_of(key)[0] == TAB)
    return address_of(key)[1].lstrip("ABCDEFGHIJ")


def with_formula(anchor: str, **attributes: str) -> Callable[[etree._Element], None]:
    """An edit of a tab: a formula with these attributes stands at the anchor."""

    def change(root: etree._Element) -> None:
        data = root.find(MAIN + "sheetData")
        present = {cell.get("r"): cell for cell in data.iter(MAIN + "c")}
        cell = present.get(anchor)
        cell = _cell(data, anchor) if cell is None else cell
        to_formula("0")(cell)
        for name, value in attributes.items():
            cell.find(MAIN + "f").set(name, value)

    return change


def merged(area: str) -> Callable[[etree._Element], None]:
    def change(root: etree._Element) -> None:
        cells = etree.SubElement(root, MAIN + "mergeCells")
        etree.SubElement(cells, MAIN + "mergeCell", ref=area)

    return change


def found(path: Path) -> list[Finding]:
    return [item for item in check(path).integrity if item.rule == "range-over-cells"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda row: with_formula(f"AZ{row}", t="array", ref=f"A{row}:AZ{row}"), "an array formula at AZ"),
        (lambda row: with_formula("AZ500", t="array", ref=f"A{row}:B{row}"), "an array formula at AZ500"),
        (lambda row: with_formula("AZ1", t="dataTable", ref=f"A1:AZ{row}", r1="AZ2"), "a data table at AZ1"),
        (lambda row: merged(f"A{row}:C{row}"), "are merged"),
        (lambda row: merged("A1:XFD20"), "are merged"),
    ],
    ids=["array from beside", "array from below", "data table", "merge", "merge of all columns"],
)
def test_a_range_over_drafted_cells_is_a_stop(
    change: Callable[[str], Callable[[etree._Element], None]], words: str, sound: Path, tmp_path: Path
) -> None:
    path = with_markup(sound, tmp_path / "a.xlsx", {TAB: change(total())})
    checked = check(path)
    stops = [item for item in checked.integrity if item.rule == "range-over-cells"]
    assert len(stops) == 1 and stops[0].severity == "stop" and stops[0].tab == TAB, checked.integrity
    assert words in stops[0].what and "it covers" in stops[0].what and stops[0].cell
    assert checked.state == "unsound"


@pytest.mark.parametrize("change", [with_formula("AZ1", t="array", ref="AZ1:BB4"), merged("AZ1:BB4")])
def test_a_range_beside_the_drafted_cells_is_none(
    change: Callable[[etree._Element], None], sound: Path, tmp_path: Path
) -> None:
    path = with_markup(sound, tmp_path / "a.xlsx", {TAB: change})
    assert found(path) == [] and check(path).state == "sound"


def test_formulas_that_take_too_long_to_compare_are_refused(tmp_path: Path) -> None:
    sound = write(tmp_path / "sound.xlsx")
    places = [place for place, cell in cells_by_address(book_of()).items() if cell.formula]
    long = "+".join(["(1+1)*1.50"] * 700)
    path = with_cells(sound, tmp_path / "a.xlsx", {place: to_formula(f"{place[1]}+{long}") for place in places[:3000]})
    with pytest.raises(UnreadableFile) as caught:
        check(path)
    assert caught.value.rule == "over-size", caught.value.what
