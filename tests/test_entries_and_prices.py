"""Rows of entries.csv, and suppliers' price lists as CSV and as xlsx."""

import datetime as dt
from decimal import Decimal

import openpyxl
import pytest

from estimator.errors import EXIT_MISSING, InputError
from estimator.intake.entries_csv import EntryRow, load_entries
from estimator.intake.labor_tables import load_labor_tables, packaged_tables
from estimator.intake.price_list import NotPlaced, PriceChange, apply_price_list
from estimator.records import PriceList

TABLES = load_labor_tables(packaged_tables())
COLUMNS = PriceList(part_id="Item", unit_cost="Net price", core_deposit="Core", priced_on="Valid from")
ON = dt.date(2026, 11, 25)


def entries(tmp_path, text):
    path = tmp_path / "entries.csv"
    path.write_text(text, encoding="utf-8")
    return load_entries(path)


def test_values_are_numbers_dates_and_texts_as_they_look(tmp_path):
    rows = entries(
        tmp_path,
        "key,value,unit,note\n"
        "# a remark,,,\n"
        "reading.cut-out.system-1.before,2150,psi,gauge A\n"
        "reading.pad-thickness.front-left.before,-0.50,mm,\n"
        "consent.1.date,2026-11-25,,\n"
        "reading.accumulator-serial.accumulator-1.before,0047,,\n"
        'decision.front-pads.front-axle,authorized,,"by telephone, at ten"\n'
        "reading.cut-in.system-1.before,,psi,\n",
    ).rows
    assert rows == (
        EntryRow(3, "reading.cut-out.system-1.before", 2150.0, "psi", "gauge A", "2150"),
        EntryRow(4, "reading.pad-thickness.front-left.before", -0.5, "mm", "", "-0.50"),
        EntryRow(5, "consent.1.date", dt.date(2026, 11, 25), "", "", "2026-11-25"),
        EntryRow(6, "reading.accumulator-serial.accumulator-1.before", "0047", "", "", "0047"),
        EntryRow(7, "decision.front-pads.front-axle", "authorized", "", "by telephone, at ten", "authorized"),
        EntryRow(8, "reading.cut-in.system-1.before", None, "psi", "", ""),
    )


def test_columns_may_be_few_but_not_others(tmp_path):
    assert entries(tmp_path, "value,key\n5,a.b\n").rows == (EntryRow(2, "a.b", 5.0, "", "", "5"),)
    with pytest.raises(InputError, match=r'unknown column "vlaue" \(did you mean "value"\?\)'):
        entries(tmp_path, "key,vlaue\na.b,5\n")


@pytest.mark.parametrize(
    ("row", "place", "words"),
    [
        ('a.b,"2,150",psi,', 'line 2, column "value"', "comma in its number"),
        ('a.b,"118,50",,', 'line 2, column "value"', "comma in its number"),
        ('a.b,"2,150 psi",,', 'line 2, column "value"', "comma in its number"),
        ("a.b,ring\x07,,", 'line 2, column "value"', "control character"),
        ("a.b,1e999,,", 'line 2, column "value"', "too large to be true"),
        ("a.b,2026-02-30,,", 'line 2, column "value"', "no day of the calendar"),
        ("a.b,5,PSI,", 'line 2, column "unit"', 'did you mean "psi"?'),
        ("A B,5,psi,", 'line 2, column "key"', "Enter a key"),
        (",5,psi,", 'line 2, column "key"', "Enter a key"),
        ("a.b,1,,\na.b,2,,", 'line 3, column "key"', "stands twice"),
    ],
)
def test_rows_are_refused_in_words(tmp_path, row, place, words):
    file = entries(tmp_path, f"key,value,unit,note\n{row}\n")
    ((line, problem),) = file.problems
    assert problem.place == place and words in problem.line() and place.startswith(f"line {line},")
    assert line not in [row.line_no for row in file.rows]


def test_a_row_that_lacks_a_column_is_told_and_hides_no_other(tmp_path):
    file = entries(tmp_path, "key,value,unit,note\na.b,1\na.c,1,psi,\nbad key,2,,\n")
    assert [(line, problem.place) for line, problem in file.problems] == [(2, "line 2"), (4, 'line 4, column "key"')]
    assert "2 fields" in file.problems[0][1].found and [row.key for row in file.rows] == ["a.c"]


# --- price lists ------------------------------------------------------------------------------------------------------

ROWS = [
    ["Item", "Name", "Net price", "Core", "Valid from"],
    ["brake-fluid-glycol", "fluid", 15.1, None, dt.date(2026, 11, 2)],
    ["ACCUMULATOR-REBUILT-GLYCOL", "capitals and blanks don't matter", 186, 75.5, None],
    ["pump-rebuilt-glycol", "unchanged", 512, 150, None],
    ["no-such-part", "unknown", 10, None, None],
    ["sight-glass", "no price", None, None, None],
    ["hose-clip", "free of charge", 0, None, None],
    ["pipe-nut", "words", "on request", None, None],
    ["brake-fluid-glycol", "again", 16, None, None],
    [None, None, None, None, None],
    ["pipe-clip", "bad date", 1.05, None, "next week"],
]


def as_xlsx(path, rows):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    book.save(path)
    return path


def as_csv(path, rows):
    lines = [",".join("" if cell is None else str(cell) for cell in row) for row in rows]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8-sig")
    return path


@pytest.mark.parametrize("write", [as_xlsx, as_csv])
def test_a_list_changes_what_it_names_and_reports_the_rest(tmp_path, write):
    path = write(tmp_path / f"list.{write.__name__[3:]}", ROWS)
    tables, report = apply_price_list(TABLES, path, COLUMNS, ON)
    part = {part.part_id: part for part in tables.parts}
    assert part["brake-fluid-glycol"].unit_cost == Decimal("15.1")
    assert part["brake-fluid-glycol"].priced_on == dt.date(2026, 11, 2)
    assert part["accumulator-rebuilt-glycol"].core_deposit == Decimal("75.5")
    assert part["accumulator-rebuilt-glycol"].priced_on == ON
    assert part["pipe-clip"] == next(part for part in TABLES.parts if part.part_id == "pipe-clip")
    assert report.changes == (
        PriceChange("brake-fluid-glycol", "unit_cost", "13.80", "15.1"),
        PriceChange("accumulator-rebuilt-glycol", "core_deposit", "60.00", "75.5"),
    )
    assert [row.line for row in report.not_placed] == [5, 6, 7, 8, 9, 11]
    assert report.not_placed[0] == NotPlaced(5, "no-such-part", "no part has this id")
    assert "no price" in report.not_placed[1].why and "can't be true" in report.not_placed[2].why
    assert '"on request"' in report.not_placed[3].why and "line 2" in report.not_placed[4].why
    assert '"next week"' in report.not_placed[5].why
    untouched = {part.part_id for part in TABLES.parts} - {
        "brake-fluid-glycol",
        "accumulator-rebuilt-glycol",
        "pump-rebuilt-glycol",
    }
    assert all(part[name] == old for old in TABLES.parts if (name := old.part_id) in untouched)


def test_a_binary_fraction_of_a_spreadsheet_is_the_number_that_was_typed(tmp_path):
    path = as_xlsx(tmp_path / "list.xlsx", [["Item", "Net price"], ["hose-clip", 0.1 + 0.2]])
    tables, _ = apply_price_list(TABLES, path, PriceList(part_id="Item", unit_cost="Net price"), ON)
    assert next(part.unit_cost for part in tables.parts if part.part_id == "hose-clip") == Decimal("0.3")


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("list.pdf", b"%PDF", "Use xlsx or CSV"),
        ("list.xlsx", b"not a workbook", "can't be read as a table"),
        ("list.csv", b"", "can't be read as a table"),
        ("list.csv", b"Item,Net price\nhose-clip,1.20,3\n", "can't be read as a table"),
        ("list.csv", b"Item,Price\nhose-clip,1.20\n", 'no column "Net price"'),
        ("list.csv", b"Item;Net price\nhose-clip;1,20\n", "commas between columns"),
        ("list.csv", b"Item,Net price\nhose-clip,\xff\n", "isn't UTF-8"),
    ],
)
def test_lists_that_cannot_be_read_are_refused(tmp_path, name, content, words):
    (tmp_path / name).write_bytes(content)
    with pytest.raises(InputError) as refused:
        apply_price_list(TABLES, tmp_path / name, PriceList(part_id="Item", unit_cost="Net price"), ON)
    assert words in str(refused.value)


def test_a_missing_list_is_said_to_be_missing(tmp_path):
    with pytest.raises(InputError) as refused:
        apply_price_list(TABLES, tmp_path / "list.csv", COLUMNS, ON)
    assert refused.value.exit_status == EXIT_MISSING
