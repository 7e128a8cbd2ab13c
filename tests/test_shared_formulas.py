"""Formulas shared between cells, expanded: held against openpyxl, and against LibreOffice, which does it on its own."""

from pathlib import Path

import engines
import pytest
from engines import needs_libreoffice
from hostile import SHEET, TAB, with_sheet
from openpyxl_judge import differences, judged

from estimator.errors import UnreadableFile
from estimator.readback.cells import read_workbook
from estimator.readback.equal_formulas import same_formula
from estimator.readback.formulas import SharedFormula
from estimator.workbook.placed_cells import column_letter

# Formula in C3 -> as it reads in E6, three rows down and two columns on, by the rule of ECMA-376 part 1, 18.3.1.40:
# what has no dollar sign moves along.
MOVED = {
    "A1+B$2*$C3+$D$4": "C4+D$2*$C6+$D$4",
    "LOG10(A1)": "LOG10(C4)",
    "SUM(A1:B9)": "SUM(C4:D12)",
    "SUM(A:A)": "SUM(C:C)",
    "SUM($A:B)": "SUM($A:D)",
    "SUM(3:4)": "SUM(6:7)",
    "Basis!A1&'Basis'!$A1": "Basis!C4&'Basis'!$A4",
    'IF(A1="A1 and B2","C3",C3)': 'IF(C4="A1 and B2","C3",E6)',
    "rate*A1+TRUE": "rate*C4+TRUE",
    "A1%+1.5E+3": "C4%+1.5E+3",
    "SUM(A1:INDEX(A1:A9,2))": "SUM(C4:INDEX(C4:C12,2))",
    "SUM(Basis!A1:Basis!B2)": "SUM(Basis!C4:Basis!D5)",
    "ROUND(-A1,{1,2})": "ROUND(-C4,{1,2})",
    "XFB1048573": "XFD1048576",
    "#REF!+A1": "#REF!+C4",
}
# What openpyxl 3.1.5 leaves where it was: the part before the colon in these two
OPENPYXL_DIFFERS = {"SUM(A1:INDEX(A1:A9,2))", "SUM(Basis!A1:Basis!B2)"}


@pytest.mark.parametrize("formula", MOVED)
def test_references_move_along(formula: str) -> None:
    assert SharedFormula(f"={formula}", 3, 3).at(6, 5) == f"={MOVED[formula]}"
    assert SharedFormula(f"={formula}", 3, 3).at(3, 3) == f"={formula}"


def shared_sheet(path: Path, formulas: list[str]) -> Path:
    """Each formula stands in row 3 of a column of its own; the two rows below and the next column share it."""
    escaped = [formula.replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;") for formula in formulas]
    rows = []
    for row in range(3, 6):
        cells = ""
        for number, formula in enumerate(escaped):
            first, second = column_letter(3 + 2 * number), column_letter(4 + 2 * number)
            share = f'<f t="shared" si="{number}"/>'
            own = f'<f t="shared" ref="{first}3:{second}5" si="{number}">{formula}</f>' if row == 3 else share
            cells += f'<c r="{first}{row}">{own}<v>1</v></c><c r="{second}{row}">{share}<v>1</v></c>'
        rows.append(f'<row r="{row}">{cells}</row>')
    return with_sheet("".join(rows))(path)


def test_equal_to_openpyxl(tmp_path: Path) -> None:
    formulas = [formula for formula in MOVED if formula not in OPENPYXL_DIFFERS]
    path = shared_sheet(tmp_path / "quote.xlsx", formulas)
    ours = read_workbook(path)
    assert len(ours.sheets[TAB].cells) == 6 * len(formulas)
    assert differences(ours, judged(path)) == []


@needs_libreoffice
def test_equal_to_libreoffice(tmp_path: Path) -> None:
    formulas = [formula for formula in MOVED if not formula.startswith(("XFB", "rate", "#REF"))]
    path = shared_sheet(tmp_path / "quote.xlsx", formulas)
    saved = engines._soffice([path], tmp_path / "saved", "xlsx:Calc MS Excel 2007 XML", engines.RECALCULATE_NEVER)[0]
    assert b't="shared"' not in engines.zipfile.ZipFile(saved).read(SHEET)
    ours, theirs = read_workbook(path).sheets[TAB].cells, read_workbook(saved).sheets[TAB].cells
    assert ours.keys() == theirs.keys()
    for place, cell in ours.items():
        assert same_formula(cell.formula, theirs[place].formula), place


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        ("A1", '<c r="B2"><f t="shared" si="0">A9</f></c>', "of its own"),
        ("A1", '<c r="A2"><f t="shared" si="0"/></c>', "leave the sheet"),
        ("A1", '<c r="B2"><f t="shared" si="1"/></c>', "isn't there"),
        ('"open', '<c r="B2"><f t="shared" si="0"/></c>', "taken apart"),
        ("1)", '<c r="B2"><f t="shared" si="0"/></c>', "taken apart"),
    ],
)
def test_shares_that_contradict_themselves_are_refused(first: str, second: str, words: str, tmp_path: Path) -> None:
    shared = f'<row r="1"><c r="B1"><f t="shared" ref="B1:B2" si="0">{first}</f></c></row>'
    path = with_sheet(f'{shared}<row r="2">{second}</row>')(tmp_path / "quote.xlsx")
    with pytest.raises(UnreadableFile, match=words):
        read_workbook(path)


def test_a_share_that_repeats_its_formula_is_read(tmp_path: Path) -> None:
    first = '<row r="1"><c r="B1"><f t="shared" ref="B1:B2" si="0">A1</f></c></row>'
    path = with_sheet(first + '<row r="2"><c r="B2"><f t="shared" si="0">A2</f></c></row>')(tmp_path / "quote.xlsx")
    assert read_workbook(path).sheets[TAB].cells[2, 2].formula == "=A2"
