"""The judge of workbooks is judged: right values pass, wrong ones are found, an idle engine is caught."""

import math
import re
import zipfile
from datetime import date
from pathlib import Path
from statistics import NormalDist

import engines
import pytest
import xlsxwriter
from engines import (
    ALLOWED_FUNCTIONS,
    RECALCULATE_NEVER,
    NotRecalculated,
    compare,
    needs_libreoffice,
    pages_as_png,
    pdf_text,
    poison,
    proved,
    recalculate_with_ironcalc,
    recalculate_with_libreoffice,
    render_pdf,
    stored_values,
)

SHEET = "R & D's tab"
NUMBERS = [2200.0, 1800.0, 0.0, 1.5, 1.5, -3.25]
WORDS = ["system 1", "system 2", "system 1", "Pedal circuit", "none", "system 1"]
SERIAL = (date(2026, 11, 25) - date(1899, 12, 30)).days

# Formula -> the answer by arithmetic or by Python's own library. A1:A6 and B1:B6 hold the lists above; row 7 is blank;
# A8 holds the text "2,150 psi".
CASES: dict[str, engines.Value] = {
    "ROUND(2.5,0)": 3.0,
    "ROUND(-2.5,0)": -3.0,
    "ROUND(1.005,2)": 1.01,
    "ROUND(2.675,2)": 2.68,
    "ROUND(-0.125,2)": -0.13,
    "ROUND(0.285,2)": 0.29,
    "ROUND(2245,-1)": 2250.0,
    "ROUND(1.7*89.95,2)": 152.92,
    "ROUNDUP(-2.1,0)": -3.0,
    "ROUNDDOWN(-2.9,0)": -2.0,
    "TRUNC(-2.9)": -2.0,
    "INT(-2.1)": -3.0,
    "CEILING(2.1,0.5)": 2.5,
    "FLOOR(2.6,0.5)": 2.5,
    "ABS(A6)": 3.25,
    "SIGN(A6)": -1.0,
    'INDEX(A1:A6,MATCH("pedal CIRCUIT",B1:B6,0))': 1.5,
    "INDEX(A1:B6,2,2)": "system 2",
    "MATCH(1,A1:A2,-1)": 2.0,
    "VLOOKUP(1800,A1:B6,2,FALSE)": "system 2",
    'IFERROR(INDEX(A1:A6,MATCH("absent",B1:B6,0)),"not listed")': "not listed",
    "IFERROR(A8+1,0)": 0.0,
    'SUMIFS(A1:A6,B1:B6,"system 1",A1:A6,">0")': 2200.0,
    'SUMIFS(A1:A6,A1:A6,">="&A4)': 4003.0,
    'SUMIF(B1:B6,"system 1",A1:A6)': 2196.75,
    'COUNTIFS(B1:B6,"system 1",A1:A6,"<=0")': 2.0,
    'COUNTIF(B1:B8,"SYSTEM 1")': 3.0,
    'COUNTIFS(A1:A8,"")': 1.0,
    "COUNT(A1:A8)": 6.0,
    "COUNTA(A1:A8)": 7.0,
    "COUNTBLANK(A1:A8)": 1.0,
    "SUM(A1:A8)": math.fsum(NUMBERS),
    "AVERAGE(A1:A8)": math.fsum(NUMBERS) / 6,
    "SUMSQ(A4:A6)": 2 * 1.5**2 + 3.25**2,
    'SUMPRODUCT((B1:B6="system 1")*(A1:A6>=0)*A1:A6)': 2200.0,
    "SUMPRODUCT(A1:A2,A4:A5)": 6000.0,
    "SUMPRODUCT(MMULT(A1:A2*1,A4:A4))": 6000.0,
    "SUMPRODUCT((MMULT((A4:A6=1.5)*(A1:A3>0),A5:A5)>0)*A4:A6)": 3.0,
    "SUMPRODUCT(MAX((A1:A6=SUMIF(B1:B6,B1:B6,A1:A6))*A1:A6))": 1800.0,
    "MEDIAN(A1:A3)": 1800.0,
    'SUBSTITUTE("KR-11 87-a","-","")': "KR11 87a",
    'FIND("R1","KR1R1")': 2.0,
    'IFERROR(FIND("r1","KR1R1"),0)': 0.0,
    "MAX(A1:A8)": 2200.0,
    "MAX(A7,-1)": -1.0,  # a blank cell isn't zero to MAX
    "MIN(A1:A8)": -3.25,
    "LARGE(A1:A6,2)": 1800.0,
    "SMALL(A1:A6,2)": 0.0,
    "RANK(A2,A1:A6)": 2.0,
    "ROWS(A1:A6)": 6.0,
    "POWER(1.1,-1/1.4)": 1.1 ** (-1 / 1.4),
    "1-1.5^(-1/1.4)": 1 - 1.5 ** (-1 / 1.4),
    "-2^2": 4.0,  # a spreadsheet's sign binds closer than its power
    "EXP(-2.5)": math.exp(-2.5),
    "LN(1800/2200)": math.log(1800 / 2200),
    "LOG10(750)": math.log10(750),
    "SQRT(2)": math.sqrt(2),
    "TAN(PI()/10)": math.tan(math.pi / 10),
    "NORMSDIST(0.8416)": NormalDist().cdf(0.8416),
    "NORMSDIST(-2)": NormalDist().cdf(-2),
    'TEXT(1234.567,"0.00")': "1234.57",
    'TEXT(46351,"yyyy-mm-dd")': "2026-11-25",
    'TEXT(0.075,"0.0%")': "7.5%",
    "DATE(2026,11,25)": float(SERIAL),
    "YEAR(46351)*10000+MONTH(46351)*100+DAY(46351)": 20261125.0,
    'IF(AND(A1>=2200,NOT(A2>A1)),"within limits","out of limits")': "within limits",
    'IF(OR(A6>0,A3=0),"yes","no")': "yes",
    'IF(ISNUMBER(A7),"measured","not measured")': "not measured",
    'IF(ISNUMBER(A3),"measured","not measured")': "measured",
    'IF(ISNUMBER(A8),"measured","not measured")': "not measured",
    'IF(A7="","",A7)': "",
    "A7=0": True,  # so a blank must be told from zero by ISNUMBER
    "A8>A1": True,  # text is greater than any number
    "0.1+0.2=0.3": True,  # a comparison forgives the last bits; 0.1+0.2-0.3 as a difference isn't zero everywhere
    "ISBLANK(A7)": True,
    "ISTEXT(A8)": True,
    "ISERROR(A8+1)": True,
    'EXACT("a","A")': False,
    '"a"="A"': True,
    'CHOOSE(2,"psi","kPa")': "kPa",
    'UPPER(LEFT("abc",1))&LOWER(MID("ABC",2,1))&RIGHT(TRIM(" abc "),1)': "Abc",
    "LEN(B1)": 8.0,
    "MEDIAN(A1:A8)": 1.5,
    "FIXED(1057.6,0)": "1,058",
    "FIXED(-0.125,2)": "-0.13",
    'CHAR(65)&"b"': "Ab",
    'HYPERLINK("#A1","row "&ROWS(A1:A3))': "row 3",
    "1/0": "#DIV/0!",
    'MATCH("absent",B1:B6,0)': "#N/A",
}


def write_book(path: Path, cases: dict[str, object]) -> Path:
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet(SHEET)
        book.add_worksheet("Blank")
        sheet.write_column("A1", NUMBERS)
        sheet.write("A8", "2,150 psi")
        sheet.write_column("B1", WORDS)
        for row, (formula, value) in enumerate(cases.items()):
            sheet.write_formula(row, 3, "=" + formula, None, value)
    return path


def place(formula: str) -> engines.Cell:
    return SHEET, f"D{list(CASES).index(formula) + 1}"


def by_libreoffice(path: Path) -> engines.Values:
    return recalculate_with_libreoffice([path])[0]


BOTH = [
    pytest.param(recalculate_with_ironcalc, id="ironcalc"),
    pytest.param(by_libreoffice, marks=needs_libreoffice, id="soffice"),
]


@pytest.mark.parametrize("recalculate", BOTH)
def test_both_engines_give_the_answers_worked_out_by_hand(tmp_path, recalculate):
    path = write_book(tmp_path / "right.xlsx", CASES)
    recalculated = recalculate(path)
    assert len(recalculated) == len(CASES)
    assert compare(stored_values(path), recalculated, 1e-9) == []


def test_every_allowed_function_has_a_case():
    used = {name for formula in CASES for name in re.findall(r"[A-Z][A-Z0-9.]*(?=\()", formula)}
    assert used == ALLOWED_FUNCTIONS


WRONG = {
    "SUM(A1:A8)": 4001.76,
    'UPPER(LEFT("abc",1))&LOWER(MID("ABC",2,1))&RIGHT(TRIM(" abc "),1)': "abc",
    "A7=0": False,
    'IF(A7="","",A7)': 0,
    "SQRT(2)": math.sqrt(2) * (1 + 3e-9),
    "ISTEXT(A8)": 1,
    "1/0": 0,
}


@pytest.mark.parametrize("recalculate", BOTH)
def test_each_wrong_stored_value_is_found_and_nothing_else(tmp_path, recalculate):
    path = write_book(tmp_path / "wrong.xlsx", CASES | WRONG)
    found = compare(stored_values(path), recalculate(path))
    assert {(d.sheet, d.cell) for d in found} == {place(formula) for formula in WRONG}


def test_compare_tolerances_types_and_gaps():
    def differs(stored, recalculated, tolerance=1e-9):
        return bool(compare({("S", "A1"): stored}, {("S", "A1"): recalculated}, tolerance))

    assert not differs(2.0e9, 2.0e9 + 1)
    assert differs(2.0e9, 2.0e9 + 3)
    assert not differs(0.0, 5e-10)
    assert differs(0.0, 5e-10, 1e-12)
    assert not differs(12.001, 12.004, lambda cell: 0.005)
    for stored, recalculated in [("psi", "psi "), ("psi", "PSI"), ("2", 2.0), (True, 1.0), ("", 0.0), (None, None)]:
        assert differs(stored, recalculated)
    assert compare({("S", "A1"): 1.0}, {("S", "A2"): 1.0}) == [("S", "A1", 1.0, None), ("S", "A2", None, 1.0)]


def test_the_poisoned_copy_holds_no_true_value_and_the_same_inputs(tmp_path):
    path, copy = write_book(tmp_path / "right.xlsx", CASES), tmp_path / "copy.xlsx"
    poisoned = poison(path, copy)
    assert poisoned.stored == stored_values(path) and len(poisoned.stored) == len(CASES)
    assert [sheet for sheet, _ in poisoned.canaries] == [SHEET, "Blank"]
    values = stored_values(copy)
    assert set(values) == {*poisoned.stored, *poisoned.canaries}
    assert set(values.values()) == {engines.POISON_NUMBER, engines.POISON_TEXT}
    with zipfile.ZipFile(path) as before, zipfile.ZipFile(copy) as after:
        assert before.namelist() == after.namelist()
        assert before.read("xl/sharedStrings.xml") == after.read("xl/sharedStrings.xml")


def test_values_as_they_were_stored_prove_nothing(tmp_path):
    path, copy = write_book(tmp_path / "right.xlsx", CASES), tmp_path / "copy.xlsx"
    poisoned = poison(path, copy)
    with pytest.raises(NotRecalculated, match=r"canary .* gave 987654321\.125"):
        proved(stored_values(copy), poisoned, "no engine")
    with pytest.raises(NotRecalculated, match=r"canary .* gave None"):
        proved(stored_values(path), poisoned, "no engine")


def test_an_engine_that_worked_out_only_the_canary_is_caught(tmp_path):
    copy = tmp_path / "copy.xlsx"
    poisoned = poison(write_book(tmp_path / "right.xlsx", CASES), copy)
    values = stored_values(copy) | dict.fromkeys(poisoned.canaries, engines.CANARY_ANSWER)
    with pytest.raises(NotRecalculated, match=f"{len(CASES)} formula cells kept their false value"):
        proved(values, poisoned, "half an engine")


def test_what_is_typed_into_ironcalc_is_worked_out_anew(tmp_path):
    path = write_book(
        tmp_path / "typed.xlsx", {"SUM(A1:A2)": 0, "ISTEXT(A8)": False, "ISBLANK(A8)": False, "A8&B1": ""}
    )
    book = engines.Ironcalc(path)
    first = list(book.values().values())
    assert first == [sum(NUMBERS[:2]), True, False, "2,150 psi" + WORDS[0]]
    book.type((SHEET, "A1"), 1.5)
    book.type((SHEET, "A8"), "=1+1")
    assert list(book.values().values()) == [1.5 + NUMBERS[1], True, False, "=1+1" + WORDS[0]]
    book.type((SHEET, "A8"), None)
    assert list(book.values().values()) == [1.5 + NUMBERS[1], False, True, WORDS[0]]


@needs_libreoffice
def test_libreoffice_told_not_to_recalculate_is_caught(tmp_path):
    path = write_book(tmp_path / "right.xlsx", CASES)
    with pytest.raises(NotRecalculated, match="LibreOffice: canary"):
        recalculate_with_libreoffice([path], RECALCULATE_NEVER)


@needs_libreoffice
def test_a_batch_keeps_its_order(tmp_path):
    paths = [write_book(tmp_path / f"{n}.xlsx", {f"{n}+1": n + 1.0}) for n in range(3)]
    assert [list(values.values()) for values in recalculate_with_libreoffice(paths)] == [[1.0], [2.0], [3.0]]


@needs_libreoffice
def test_pictures_and_text_of_the_tabs(tmp_path):
    path = write_book(tmp_path / "right.xlsx", {'LOWER("CUT-IN")&" pressure"': "cut-in pressure"})
    pdf = render_pdf(path, tmp_path)
    assert "cut-in pressure" in pdf_text(pdf) and "2,150 psi" in pdf_text(pdf)
    pages = pages_as_png(pdf, tmp_path)
    assert pages and all(page.read_bytes().startswith(b"\x89PNG") for page in pages)
    with xlsxwriter.Workbook(tmp_path / "long.xlsx") as book:
        book.add_worksheet().write_column("A1", range(200))
    assert len(pages_as_png(render_pdf(tmp_path / "long.xlsx", tmp_path), tmp_path)) > 1
    assert len(pages_as_png(render_pdf(tmp_path / "long.xlsx", tmp_path, page_a_sheet=True), tmp_path)) == 1
