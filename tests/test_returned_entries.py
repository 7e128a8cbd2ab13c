"""What people type into boxes: read, counted, or named with the cell and with what it seems to mean."""

from datetime import date
from pathlib import Path

import pytest
from returned_workbooks import (
    AWKWARD_TEXTS,
    address_of,
    book_of,
    bytes_of,
    check,
    demo_record,
    entries_of,
    rules,
    small_record,
    with_cells,
    write,
)
from written_file import MAIN, emptied, to_formula, to_stored, to_value

from estimator.limits.sheet_arithmetic import serial
from estimator.readback.box_entries import understood
from estimator.readback.suggest_value import days_meant, numbers_meant
from estimator.readback.values import ReadCell

PRESSURES = [cell for cell in book_of().boxes() if cell.unit == "psi" and cell.box.kind == "number"]
PRESSURE, LIST, DATE, TEXT = (
    PRESSURES[0].key,
    "line.front-pads.front-axle.decision",
    "visit.before.date",
    "visit.before.by",
)


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_what_was_typed_is_read(seed: int, tmp_path: Path) -> None:
    checked = check(write(tmp_path / "filled.xlsx", seed=seed))
    assert (checked.state, rules(checked, "note")) == ("sound", {})
    assert checked.entries.values == {
        key: value for key, value in entries_of(small_record, seed).items() if value != ""
    }
    assert checked.compared > 20_000


def test_the_demo_is_read(tmp_path: Path) -> None:
    checked = check(write(tmp_path / "demo.xlsx", demo_record, 5))
    assert (checked.state, rules(checked, "note")) == ("sound", {})
    assert checked.entries.values == entries_of(demo_record, 5)


# What is typed into the box of a pressure in psi -> words of the finding and of its fix
NUMBERS = {
    "2,150 psi": "enter only 2150 or 2.15, whichever is meant; psi is beside the box",
    "2150 psi": "enter only 2150; psi is beside the box",
    "152bar": "enter only 2204.57; psi is beside the box",
    "15.2 MPa": "enter only 2204.57",
    "~2200": "enter only 2200",
    "ca. 2200": "enter only 2200",
    "'2200": "enter only 2200",
    "2 150": "enter only 2150",
    "2\u00a0150": "enter only 2150",
    "2'150": "enter only 2150",
    "2150,5": "enter only 2150.5",
    "2.150,5": "enter only 2150.5",
    "2,150.5": "enter only 2150.5",
    "1 1/4": "enter only 1.25",
    "2200-2250": "enter a number from",
    "2200/2250": "enter a number from",
    "12 mm": "enter a number from",
    "9999999 psi": "enter a number from",
    "-40 psi": "enter a number from",
    "n/a": "enter a number from",
    "OK": "enter a number from",
    "?": "enter a number from",
    " ": "enter a number from",
    "2200 2250": "enter a number from",
}


@pytest.mark.parametrize("typed", NUMBERS)
def test_the_reading_that_a_text_seems_to_mean_is_offered(typed: str) -> None:
    value, trouble = understood(ReadCell(typed), PRESSURES[0].box, "psi")
    assert (value, trouble.rule) == (typed, "entry-not-understood")
    assert NUMBERS[typed] in trouble.fix


def test_a_text_in_a_number_box_is_not_a_reading(tmp_path: Path) -> None:
    path = write(tmp_path / "a.xlsx")
    typed = dict(zip((cell.key for cell in PRESSURES), NUMBERS, strict=False))
    assert len(typed) == len(NUMBERS)
    checked = check(
        with_cells(path, tmp_path / "b.xlsx", {address_of(key): to_value(text) for key, text in typed.items()})
    )
    found = {item.key: item for item in checked.findings if item.rule == "entry-not-understood"}
    assert found.keys() == typed.keys()
    for key, text in typed.items():
        finding = found[key]
        assert (finding.tab, finding.cell, finding.severity) == (*address_of(key), "stop")
        assert NUMBERS[text] in finding.fix and finding.found == text
    assert checked.state == "unsound" and checked.entries.counts["not_understood"] == len(typed)
    verdicts = {f"reading.{item.ref}.before": item.before.verdict for item in checked.appraisal.standings}
    assert {verdicts[key] for key in typed if key in verdicts} == {"not measured"}


OTHERS = [
    (PRESSURE, -5.0, "entry-out-of-range", "allowed: a number from"),
    (PRESSURE, 1e9, "entry-out-of-range", "allowed: a number from"),
    (PRESSURE, True, "entry-not-understood", "enter a number"),
    (LIST, "agree", "entry-not-understood", "choose one of: undecided, authorized, declined"),
    (LIST, "authorized ", "entry-not-understood", 'enter "authorized"'),
    (LIST, 1.0, "entry-not-understood", "choose one of"),
    (DATE, "25.11.2026", "entry-not-understood", "enter 2026-11-25 as a date, not as a text"),
    (DATE, "2026-11-25", "entry-not-understood", "enter 2026-11-25 as a date"),
    (DATE, "Nov 25, 2026", "entry-not-understood", "enter 2026-11-25 as a date"),
    (DATE, "02/03/2026", "entry-not-understood", "enter 2026-02-03 or 2026-03-02 as a date"),
    (DATE, "yesterday", "entry-not-understood", "enter a date such as 2026-11-25"),
    (DATE, 46351.5, "entry-not-understood", "enter only 2026-11-25"),
    (DATE, 7.0, "entry-out-of-range", "allowed: 1950-01-01 to 2099-12-31"),
    (DATE, 2_958_465.0, "entry-out-of-range", "allowed: 1950-01-01 to 2099-12-31"),
    (DATE, -1.0, "entry-not-understood", "enter a date"),
    (DATE, 1e300, "entry-not-understood", "enter a date"),
]


@pytest.mark.parametrize(("key", "typed", "rule", "fix"), OTHERS)
def test_what_a_box_does_not_take_is_named(key: str, typed: object, rule: str, fix: str) -> None:
    cell = book_of().by_key[key]
    for shift in (0, 1462):
        _, trouble = understood(ReadCell(typed), cell.box, cell.unit, shift)
        assert shift or (trouble.rule == rule and fix in trouble.fix)


def _with_formula(formula: str, value: float | str) -> object:
    def edit(cell: object) -> None:
        emptied(cell)
        to_formula(formula)(cell)
        to_stored(value)(cell)
        if str(value).startswith("#"):
            cell.set("t", "e")

    return edit


def test_a_formula_in_a_box_is_no_entry_but_what_it_gives_is_offered(tmp_path: Path) -> None:
    path = write(tmp_path / "a.xlsx")
    checked = check(with_cells(path, tmp_path / "b.xlsx", {address_of(PRESSURE): _with_formula("2100+50", 2150)}))
    (finding,) = [item for item in checked.findings if item.rule == "entry-not-understood"]
    assert finding.fix == "enter only 2150"
    assert "=2100+50" in finding.what


def test_an_error_in_a_box_explains_the_errors_that_follow(tmp_path: Path) -> None:
    path = write(tmp_path / "a.xlsx")
    after = address_of(PRESSURE.replace("reading.", "verdict."))
    edits = {address_of(PRESSURE): _with_formula("1/0", "#DIV/0!"), after: to_stored("#DIV/0!")}
    checked = check(with_cells(path, tmp_path / "b.xlsx", edits))
    (finding,) = [item for item in checked.findings if item.rule == "entry-not-understood"]
    assert "#DIV/0!" in finding.found and finding.followers >= 1
    assert "value-stale" not in rules(checked)


def test_a_fraction_that_became_a_date_is_not_a_reading(tmp_path: Path) -> None:
    path = write(tmp_path / "a.xlsx")
    style = _style_of(path, address_of(DATE))

    def edit(cell: object) -> None:
        to_value(float(serial(date(2026, 3, 16))))(cell)
        cell.set("s", style)

    checked = check(with_cells(path, tmp_path / "b.xlsx", {address_of(PRESSURE): edit}))
    (finding,) = [item for item in checked.findings if item.rule == "entry-not-understood"]
    assert "2026-03-16" in finding.what and "3/16" in finding.what


def _style_of(path: Path, place: tuple[str, str]) -> str:
    import zipfile

    from lxml import etree
    from written_file import sheet_parts

    with zipfile.ZipFile(path) as book:
        root = etree.fromstring(book.read(sheet_parts(book)[place[0]]))
    return next(cell.get("s") for cell in root.iter(MAIN + "c") if cell.get("r") == place[1])


def test_any_text_is_a_text(tmp_path: Path) -> None:
    path = write(tmp_path / "a.xlsx")
    keys = [cell.key for cell in book_of().boxes() if cell.box.kind == "text"][: len(AWKWARD_TEXTS)]
    typed = dict(zip(keys, AWKWARD_TEXTS, strict=True))
    checked = check(
        with_cells(path, tmp_path / "b.xlsx", {address_of(key): to_value(text) for key, text in typed.items()})
    )
    assert {key: checked.entries.values[key] for key in typed} == typed
    assert checked.entries.counts["not_understood"] == 0


def test_capitals_make_no_difference_to_words(tmp_path: Path) -> None:
    path = write(tmp_path / "a.xlsx")
    checked = check(with_cells(path, tmp_path / "b.xlsx", {address_of(LIST): to_value("Authorized")}))
    assert checked.entries.values[LIST] == "authorized"
    assert checked.entries.counts["not_understood"] == 0


def test_days_from_1904_are_the_same_days(tmp_path: Path) -> None:
    from written_file import changed

    path = with_cells(write(tmp_path / "a.xlsx"), tmp_path / "b.xlsx", {address_of(DATE): to_value(46351.0 - 1462)})
    since_1904 = changed(
        path,
        tmp_path / "c.xlsx",
        {"xl/workbook.xml": lambda xml: xml.replace(b"<workbookPr ", b'<workbookPr date1904="1" ')},
    )
    assert check(since_1904).entries.values[DATE] == date(2026, 11, 25)


@pytest.mark.parametrize(
    ("text", "unit", "meant"),
    [
        ("1/32 in", "in", [0.03125]),
        ("20 °C", "°F", [68.0]),
        ("1.234.567", "psi", [1234567.0]),
        ("1,234,567.5", "psi", [1234567.5]),
        ("0,350", "mm", [0.35]),
        ("1/0", "in", []),
        ("+12", "mm", [12.0]),
        ("\u221212,5", "°C", [-12.5]),
        ("12,5,3", "mm", []),
        ("", "mm", []),
        ("9" * 80, "mm", []),
        ("3 turns", "", [3.0]),
    ],
)
def test_numbers_that_a_text_may_mean(text: str, unit: str, meant: list[float]) -> None:
    assert numbers_meant(text, unit) == pytest.approx(meant)


def test_days_that_a_text_may_mean() -> None:
    assert days_meant("31/12/2026") == [date(2026, 12, 31)]
    assert days_meant("2026-02-30") == days_meant("12.12.1850") == []


def test_the_same_bytes_each_time() -> None:
    assert bytes_of(small_record, 0) == bytes_of.__wrapped__(small_record, 0)
