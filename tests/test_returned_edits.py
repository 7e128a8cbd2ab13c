"""What people do to a workbook beside typing into boxes: rows, columns and tabs moved, taken out, copied in; formulas
and figures typed over. Moves are made by a spreadsheet engine, which takes references along."""

from collections.abc import Callable
from pathlib import Path

import pytest
from lxml import etree
from openpyxl.formula.translate import Translator
from returned_workbooks import (
    Engine,
    address_of,
    book_of,
    check,
    edited_in_engine,
    entries_of,
    parts_of_tabs,
    rules,
    small_record,
    with_cells,
    write,
)
from written_file import FORMULA, MAIN, VALUE, changed, to_formula, to_stored, to_value, without_formula

from estimator.workbook.layout import Layout

SEED = 3
READ = entries_of(small_record, SEED)
KEYS = book_of().by_key


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(tmp_path_factory.mktemp("returned") / "sound.xlsx", seed=SEED)


def row_of(key: str) -> int:
    return Layout(book_of()).address(key)[1]


def first_key(beginning: str, end: str = "") -> str:
    return next(key for key in KEYS if key.startswith(beginning) and key.endswith(end))


def boxes_of_row(row: int) -> set[str]:
    """The boxes of a row of the Inspection tab."""
    layout = Layout(book_of())
    return {cell.key for cell in KEYS.values() if cell.box and layout.address(cell.key)[:2] == ("Inspection", row)}


CHECK_ROW, STEP_ROW = row_of(first_key("reading.cut-out")), row_of(first_key("shared."))
MOVES: dict[str, Callable[[Engine], object]] = {
    "nothing, but opened and saved": lambda engine: None,
    "rows above all others": lambda engine: engine.model.insert_rows(engine.tabs["Inspection"], 1, 2),
    "a row among the checks": lambda engine: engine.model.insert_rows(engine.tabs["Inspection"], CHECK_ROW, 1),
    "rows among the parts": lambda engine: engine.model.insert_rows(engine.tabs["Work"], 12, 3),
    "a row among the steps": lambda engine: engine.model.insert_rows(engine.tabs["Workings"], STEP_ROW + 3, 1),
    "a row in the totals": lambda engine: engine.model.insert_rows(
        engine.tabs["Workings"], row_of("total.tax.agreed"), 1
    ),
    "a column before all others": lambda engine: engine.model.insert_columns(engine.tabs["Inspection"], 1, 1),
    "columns among the parts": lambda engine: engine.model.insert_columns(engine.tabs["Work"], 5, 2),
    "a column moved": lambda engine: engine.model.move_columns(engine.tabs["Work"], 4, 1, 3),
    "a tab renamed": lambda engine: engine.model.rename_sheet(engine.tabs["Basis"], "The shop's own rates"),
    "a tab moved to the front": lambda engine: engine.model.move_sheet(engine.tabs["Basis"], 0),
}


@pytest.mark.parametrize("move", MOVES)
def test_what_only_moved_is_found(move: str, sound: Path, tmp_path: Path) -> None:
    checked = check(edited_in_engine(sound, tmp_path / "moved.xlsx", MOVES[move]))
    assert checked.state == "sound", [finding.line() for finding in checked.integrity][:5]
    assert checked.entries.values == READ
    said = rules(checked, "note")
    assert not said.keys() - {"cell-moved", "text-changed", "look-changed"}
    # The engine leaves print areas where they were: the last rows of Parts don't print.
    assert "look-changed" in said or move != "rows among the parts"
    assert bool(said) != (move in ("nothing, but opened and saved", "a tab moved to the front"))


NUMBER = next(key for key in KEYS if Layout(book_of()).address(key) == ("Inspection", CHECK_ROW, 1))
VERDICT, RATE = first_key("verdict.cut-out"), "rate.standard.per_hour"
RATE = RATE if RATE in KEYS else first_key("rate.", ".per_hour")


@pytest.mark.parametrize(
    ("move", "down", "right", "tab"),
    [
        ("a row among the checks", 1, 0, "Inspection"),
        ("a column before all others", 0, 1, "Inspection"),
        ("a tab renamed", 0, 0, "Inspection"),
    ],
)
def test_what_was_altered_is_found_where_it_moved_to(
    move: str, down: int, right: int, tab: str, sound: Path, tmp_path: Path
) -> None:
    edits = {address_of(VERDICT): to_formula("0*1"), address_of(RATE): to_value(1.0)}
    altered = with_cells(sound, tmp_path / "altered.xlsx", edits)
    checked = check(edited_in_engine(altered, tmp_path / "moved.xlsx", MOVES[move]))
    found = {item.key: item for item in checked.integrity if item.severity == "stop"}
    assert {key: item.rule for key, item in found.items()} == {VERDICT: "formula-changed", RATE: "input-changed"}
    letters, number = address_of(VERDICT)[1][: -len(str(row_of(VERDICT)))], row_of(VERDICT)
    assert found[VERDICT].cell == f"{chr(ord(letters) + right)}{number + down}"
    assert found[VERDICT].tab == tab
    assert found[RATE].tab == ("The shop's own rates" if move == "a tab renamed" else "Basis")
    assert found[RATE].followers > 20, "values that follow from the rate are counted, not listed"


def test_a_deleted_row_is_named_with_its_boxes(sound: Path, tmp_path: Path) -> None:
    lost = boxes_of_row(CHECK_ROW)
    out = edited_in_engine(
        sound, tmp_path / "less.xlsx", lambda engine: engine.model.delete_rows(engine.tabs["Inspection"], CHECK_ROW, 1)
    )
    checked = check(out)
    (finding,) = [item for item in checked.integrity if item.rule == "cell-moved"]
    assert (
        finding.severity == "stop"
        and str(KEYS[NUMBER].value) in finding.what
        and f"{len(lost)} entry boxes" in finding.what
    )
    assert checked.entries.counts["not_found"] == len(lost)
    assert rules(checked) == {"cell-moved": 1}, "what broke with the row is not listed again"
    assert checked.entries.values == {key: value for key, value in READ.items() if key not in lost}


def test_a_deleted_column_is_named_with_its_boxes(sound: Path, tmp_path: Path) -> None:
    column = Layout(book_of()).address(first_key("reading.cut-out", ".before"))[2]
    out = edited_in_engine(
        sound, tmp_path / "less.xlsx", lambda engine: engine.model.delete_columns(engine.tabs["Inspection"], column, 1)
    )
    checked = check(out)
    lost = {
        cell.key
        for cell in KEYS.values()
        if cell.box and Layout(book_of()).address(cell.key)[::2] == ("Inspection", column)
    }
    assert len(lost) > 30 and lost <= set(checked.entries.not_found)
    assert any(item.rule == "cell-moved" and "columns of" in item.what for item in checked.integrity)
    assert checked.state == "unsound"


def test_the_first_row_of_a_block_deleted(sound: Path, tmp_path: Path) -> None:
    row = STEP_ROW
    checked = check(
        edited_in_engine(sound, tmp_path / "less.xlsx", lambda e: e.model.delete_rows(e.tabs["Workings"], row, 2))
    )
    assert checked.state == "unsound" and rules(checked) == {"cell-moved": 1}
    assert checked.entries.values == READ


# --- sorted, doubled, pasted ------------------------------------------------------------------------------------------


def rearranged(path: Path, out: Path, tab: str, order: dict[int, int]) -> Path:
    """A copy with the rows of a tab in another order, as sorting leaves them: each row's own references go along with
    it, those of other rows stay. order: row -> row it goes to."""

    def change(xml: bytes) -> bytes:
        root = etree.fromstring(xml)
        rows = {int(row.get("r")): row for row in root.iter(MAIN + "row")}
        content = {number: list(rows[number]) for number in order}
        for old, new in order.items():
            for cell in content[old]:
                letters = cell.get("r").rstrip("0123456789")
                formula = cell.find(FORMULA)
                if formula is not None:
                    moved = Translator("=" + formula.text, cell.get("r")).translate_formula(f"{letters}{new}")
                    formula.text = moved.removeprefix("=")
                cell.set("r", f"{letters}{new}")
            rows[new][:] = content[old]
        return etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)

    return changed(path, out, {parts_of_tabs(path)[tab]: change})


def test_a_sorted_block_gives_its_entries_and_says_so(sound: Path, tmp_path: Path) -> None:
    place = Layout(book_of()).placed["part"]
    rows = list(place.row_of.values())
    order = dict(zip(rows, reversed(rows), strict=True))
    checked = check(rearranged(sound, tmp_path / "sorted.xlsx", "Workings", order))
    assert checked.entries.values == READ
    (finding,) = [item for item in checked.integrity if item.severity == "stop"]
    assert finding.rule == "cell-moved" and "were sorted" in finding.what and "formulas not checked" in finding.what
    assert checked.state == "unsound"


def test_a_sorted_block_hides_no_value_typed_over_a_formula(sound: Path, tmp_path: Path) -> None:
    rows = list(Layout(book_of()).placed["part"].row_of.values())
    over = first_key("part.", ".tax")
    altered = with_cells(sound, tmp_path / "altered.xlsx", {address_of(over): to_value(0.01)})
    order = dict(zip(rows, reversed(rows), strict=True))
    checked = check(rearranged(altered, tmp_path / "sorted.xlsx", "Workings", order))
    assert {item.key for item in checked.integrity if item.rule == "formula-replaced"} == {over}


def test_a_doubled_reference_is_refused_on_both_rows(sound: Path, tmp_path: Path) -> None:
    row, height = row_of(VERDICT), 1
    empty = edited_in_engine(
        sound, tmp_path / "a.xlsx", lambda engine: engine.model.insert_rows(engine.tabs["Inspection"], row + height, 1)
    )

    def copy_in(xml: bytes) -> bytes:
        root = etree.fromstring(xml)
        rows = {int(item.get("r")): item for item in root.iter(MAIN + "row")}
        new = rows.get(row + height)
        if new is None:
            new = etree.Element(MAIN + "row", r=str(row + height))
            rows[row + height - 1].addnext(new)
        new[:] = [etree.fromstring(etree.tostring(cell)) for cell in rows[row]]
        for cell in new:
            cell.set("r", cell.get("r").rstrip("0123456789") + str(row + height))
        return etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)

    checked = check(changed(empty, tmp_path / "b.xlsx", {parts_of_tabs(empty)["Inspection"]: copy_in}))
    mine = boxes_of_row(row)
    typed = {key for key, value in READ.items() if key in mine and value != ""}
    assert not mine & checked.entries.values.keys()
    assert {item.key for item in checked.integrity if item.rule == "entry-not-understood"} == typed and typed
    twice = [item for item in checked.integrity if item.rule == "cell-moved" and item.severity == "stop"]
    assert [f"A{row}, A{row + height}" in item.what for item in twice] == [True]
    assert checked.state == "unsound"


def test_a_tab_pasted_as_values_is_one_finding(sound: Path, tmp_path: Path) -> None:
    def as_values(xml: bytes) -> bytes:
        root = etree.fromstring(xml)
        for formula in list(root.iter(FORMULA)):
            formula.getparent().remove(formula)
        return etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)

    checked = check(changed(sound, tmp_path / "values.xlsx", {parts_of_tabs(sound)["Workings"]: as_values}))
    (finding,) = [item for item in checked.integrity if item.severity == "stop"]
    assert finding.rule == "formula-replaced" and finding.tab == "Workings" and finding.followers > 1000
    assert "all of them the computed values" in finding.what
    assert checked.entries.values == READ


# --- typed over -------------------------------------------------------------------------------------------------------


def test_an_altered_constant_is_the_cause_of_all_that_follows(sound: Path, tmp_path: Path) -> None:
    altered = with_cells(sound, tmp_path / "a.xlsx", {address_of(RATE): to_value(999.0)})
    checked = check(edited_in_engine(altered, tmp_path / "b.xlsx", lambda engine: None))
    (finding,) = [item for item in checked.integrity if item.severity == "stop"]
    assert (finding.rule, finding.key, finding.found) == ("input-changed", RATE, "999")
    assert finding.followers > 20


def test_a_value_typed_over_a_formula(sound: Path, tmp_path: Path) -> None:
    key = "total.total.agreed"
    checked = check(with_cells(sound, tmp_path / "a.xlsx", {address_of(key): without_formula}))
    (finding,) = [item for item in checked.integrity if item.severity == "stop"]
    assert (finding.rule, finding.key, finding.expected[0]) == ("formula-replaced", key, "=")


def test_a_stale_value_with_no_cause_stands_by_itself(sound: Path, tmp_path: Path) -> None:
    checked = check(with_cells(sound, tmp_path / "a.xlsx", {address_of("total.total.agreed"): to_stored(1.0)}))
    (finding,) = [item for item in checked.integrity if item.severity == "stop"]
    assert (finding.rule, finding.key, finding.found) == ("value-stale", "total.total.agreed", "1")


def test_a_text_changed(sound: Path, tmp_path: Path) -> None:
    checked = check(with_cells(sound, tmp_path / "a.xlsx", {("Summary", "A1"): to_value("My own workshop")}))
    (finding,) = [item for item in checked.integrity if item.severity == "stop"]
    assert (finding.rule, finding.tab, finding.cell, finding.found) == (
        "text-changed",
        "Summary",
        "A1",
        "My own workshop",
    )


def test_a_printed_reference_typed_over_loses_nothing(sound: Path, tmp_path: Path) -> None:
    key = NUMBER
    checked = check(with_cells(sound, tmp_path / "a.xlsx", {address_of(key): to_value("the big pump")}))
    assert checked.entries.values == READ
    assert [item.key for item in checked.integrity if item.severity == "stop"] == [key]


def test_a_truth_value_is_not_a_number(sound: Path, tmp_path: Path) -> None:
    one = next(cell.key for cell in KEYS.values() if cell.formula is None and cell.box is None and cell.value == 1)

    def true(cell: etree._Element) -> None:
        to_value(1)(cell)
        cell.set("t", "b")

    checked = check(with_cells(sound, tmp_path / "a.xlsx", {address_of(one): true}))
    assert [item.key for item in checked.integrity if item.severity == "stop"] == [one]


def test_an_array_formula_is_another_formula(sound: Path, tmp_path: Path) -> None:
    def array(cell: etree._Element) -> None:
        cell.find(FORMULA).set("t", "array")
        cell.find(FORMULA).set("ref", cell.get("r"))

    checked = check(with_cells(sound, tmp_path / "a.xlsx", {address_of("total.total.agreed"): array}))
    assert [item.rule for item in checked.integrity if item.severity == "stop"] == ["formula-changed"]


def test_values_that_no_program_worked_out_are_said_once(sound: Path, tmp_path: Path) -> None:
    def without(xml: bytes) -> bytes:
        root = etree.fromstring(xml)
        for formula in root.iter(FORMULA):
            cell = formula.getparent()
            cell.remove(cell.find(VALUE))
            cell.attrib.pop("t", None)
        return etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)

    checked = check(changed(sound, tmp_path / "a.xlsx", dict.fromkeys(parts_of_tabs(sound).values(), without)))
    (finding,) = [item for item in checked.integrity if item.severity != "note"]
    assert finding.rule == "values-absent" and finding.followers > 5_000
