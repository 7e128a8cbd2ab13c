"""Formulas that are one in spite of how they are written, and those that only look like it."""

import re
from pathlib import Path

import engines
import pytest
import xlsxwriter
from engines import needs_libreoffice
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.formula.tokenizer import Token, Tokenizer

from estimator.readback.cells import read_workbook
from estimator.readback.equal_formulas import normal_form, same_formula

SAME = [
    ("=SUM(A1:A3)", "=sum(a1:a3)"),
    ("=IF(A1>0.50,FALSE,TRUE)", "=IF(A1>.5,FALSE(),TRUE())"),
    ("=VLOOKUP(A1,B1:C9,2,false)", "=VLOOKUP(A1,B1:C9,2,FALSE( ))"),
    ("='Basis'!A1", "=Basis!A1"),
    ("='Basis'!$A$1", "=$Basis.$A$1"),
    ("='Brake lines'!A1", "=$'Brake lines'.A1"),
    ("='It''s'!A1", "='IT''S'!a1"),
    ("=SUM(Basis!A1:Basis!A3)", "=SUM(Basis!A1:A3)"),
    ("=_xlfn.STDEV.S(A1:A3)", "=STDEV.S(A1:A3)"),
    ("=_xlfn._xlws.SORT(A1:A3)", "=SORT(A1:A3)"),
    ("= SUM( A1 ,\n 2 )", "=SUM(A1,2)"),
    ("=1E+3+1000", "=1000+1E+003"),
    ("=0.0000001*A1", "=1.0E-7*A1"),
    ("=100000000000000000000", "=1E+020"),
    ("=00.0+0", "=0+0."),
    ("=SUM((A1:B2  B1:C3))", "=SUM((A1:B2 B1:C3))"),
    ("=T[[#This Row],[Part]]", "=t[[#this row],[part]]"),
    ('=a1&"a1"', '=A1&"a1"'),
]
DIFFERENT = [
    ("=A1+B1", "=A1-B1"),
    ("=A1", "=A2"),
    ("=A1", "=$A$1"),
    ("=A1", "=Basis!A1"),
    ("=Basis!A1", "=Basis2!A1"),
    ("=Basis.A1", "=Basis!A1"),  # without "$" it may be a name
    ("=SUM(A1:A3)", "=SUM(A1,A3)"),
    ("=SUM(A1:B2 B1:C3)", "=SUM(A1:B2B1:C3)"),
    ("=SUM(A1:B2 B1:C3)", "=SUM(A1:B2,B1:C3)"),
    ('="a b"', '="ab"'),
    ('="Within limit"', '="within limits"'),
    ('="0.50"', '="0.5"'),
    ("=0.5", "=0.05"),
    ("=50", "=5"),
    ("=1E3", "=1E-3"),
    ("=0.1234567890123456", "=0.1234567890123457"),
    ("=2", '="2"'),
    ("=TRUE", '="TRUE"'),
    ("=TRUE", "=FALSE"),
    ("=XTRUE()", "=XTRUE"),
    ("=A1>=B1", "=A1>B1"),
    ("=A1<>B1", "=A1=B1"),
    ("=-A1", "=A1"),
    ("=A1%", "=A1"),
    ("=(A1+B1)*2", "=A1+B1*2"),
    ("=((A1))", "=(A1)"),
    ("={1,2}", "={1;2}"),
    ("=#N/A", "=#REF!"),
    ("=SUM(A1,,2)", "=SUM(A1,2)"),
    ("='maß'!A1", "=MASS!A1"),
    ("=[1]Basis!A1", "=[2]Basis!A1"),
    ("=T[Part]", "=T[Parts]"),
    ("=LOG10(A1)", "=LOG1(A1)"),
    ("=SUM(A1)", "=SUM (A1)"),
    ("=_xlfn", "="),
    ('="open', '="open '),
    ("=A1", "A1"),
    ("=A1:B2:C3", "=A1:C3"),
]


@pytest.mark.parametrize(("one", "other"), SAME)
def test_the_same_in_spite_of_how_it_is_written(one: str, other: str) -> None:
    assert same_formula(one, other) and same_formula(other, one)


@pytest.mark.parametrize(("one", "other"), DIFFERENT)
def test_not_the_same_however_alike(one: str, other: str) -> None:
    assert not same_formula(one, other) and not same_formula(other, one)
    assert same_formula(one, one)


@pytest.mark.parametrize("formula", ["=" + "'" * 8001, '="' + "a" * 8000, "=" + "[" * 8000, "=1" + "E1" * 4000])
def test_what_can_not_be_taken_apart_is_the_same_as_itself_alone(formula: str) -> None:
    assert same_formula(formula, formula)
    assert not same_formula(formula, formula + " ")


def test_endless_formulas_are_not_taken_apart() -> None:
    assert not same_formula("=" + "1+" * 9000 + "1", "= " + "1+" * 9000 + "1")


REFERENCES = st.from_regex(r"(Basis!)?\$?[A-D]\$?[1-9]", fullmatch=True)
ATOMS = REFERENCES | st.sampled_from(["1", "0.5", "12E2", '"a b"', '"A1"', "TRUE", "rate", "#N/A"])
FORMULAS = st.recursive(
    ATOMS,
    lambda inner: st.one_of(
        st.tuples(inner, st.sampled_from(["+", "-", "*", "/", "^", "&", "<=", "<>", "=", ">"]), inner).map("".join),
        st.tuples(st.sampled_from(["SUM(", "IF(", "("]), inner, st.sampled_from([",", ""]), inner).map(
            lambda parts: (
                f"{parts[0]}{parts[1]}{parts[2] or '+'}{parts[3]})"
                if parts[0] == "("
                else "".join(parts[:2]) + f",{parts[3]})"
            )
        ),
        inner.map(lambda formula: f"-{formula}"),
        inner.map(lambda formula: f"({formula})%"),
    ),
    max_leaves=8,
)


def judged(formula: str) -> list[tuple[str, str]]:
    """openpyxl's tokens: kind and text."""
    return [(token.type, token.value) for token in Tokenizer(formula).items if token.type != Token.WSPACE]


@given(FORMULAS, FORMULAS)
def test_two_formulas_are_the_same_only_if_openpyxl_takes_them_apart_alike(one: str, other: str) -> None:
    one, other = f"={one}", f"={other}"
    same = [(kind, _number(text)) for kind, text in judged(one)] == [
        (kind, _number(text)) for kind, text in judged(other)
    ]
    assert same_formula(one, other) == same


def _number(text: str) -> str:
    return str(float(text)) if re.fullmatch(r"[\d.]+(E\d+)?", text) else text


@given(FORMULAS, st.randoms(use_true_random=False))
def test_blanks_and_capitals_between_tokens_change_nothing(formula: str, random: object) -> None:
    tokens = [token.value for token in Tokenizer(f"={formula}").items]
    written = [token if token.startswith(('"', "#")) or random.random() < 0.5 else token.lower() for token in tokens]
    spaced = "=" + "".join(token + random.choice(["", " ", "\n", "  "]) for token in written)
    assert same_formula(f"={formula}", spaced)
    assert normal_form(f"={formula}") is not None


@given(FORMULAS, st.data())
def test_a_letter_more_or_less_is_another_formula_unless_it_says_the_same(formula: str, data: st.DataObject) -> None:
    """Replace one token by another of its kind: never the same."""
    tokens = [token.value for token in Tokenizer(f"={formula}").items]
    place = data.draw(st.integers(0, len(tokens) - 1))
    others = {
        "+": "-",
        "-": "+",
        "*": "/",
        "1": "2",
        "0.5": "0.51",
        "12E2": "12E3",
        "TRUE": "FALSE",
        "rate": "rates",
        '"A1"': '"a1"',
    }
    old = tokens[place]
    new = others.get(old, re.sub(r"[1-9](?=\)?$)", lambda digit: str(int(digit[0]) % 9 + 1), old))
    if new != old:
        tokens[place] = new
        assert not same_formula(f"={formula}", "=" + "".join(tokens))


@needs_libreoffice
def test_all_that_libreoffice_rewrites_is_the_same(tmp_path: Path) -> None:
    formulas = """
        =IF(A1>0.50,FALSE,TRUE) | =sum(a1:a3) | ='Basis'!A1+1.50 | =SUM(Basis!A1:Basis!A3) | =SUM( A1 , 2 ) | =1E+3
        | =1E20
        | =_xlfn.STDEV.S(A1:A3) | =SUM(A:A) | =SUM($1:$3) | =SUM(A1:B2 B1:C3) | ="a""b"&A1 | =-A1^2 | =A1% | =IF(A1,,1)
        | =SUM({1,2;3,4}) | =rate+1 | =VLOOKUP(A1,A1:B3,2,FALSE) | =COUNTIFS(A1:A3,">0.50") | =0.0000001*A1 | =+A1
        | =((A1))
        | =TEXT(A1,"0.00") | ='Brake lines'!A1 | =IFERROR(A1/0,#N/A) | =SUM(A1:INDEX(A1:A3,2))"""
    formulas = [formula.strip() for formula in formulas.split("|")]
    path = tmp_path / "quote.xlsx"
    book = xlsxwriter.Workbook(path)
    tab = book.add_worksheet("Inspection")
    for name in ("Basis", "Brake lines"):
        book.add_worksheet(name).write_number("A1", 1)
    book.define_name("rate", "=Basis!$A$1")
    for row, formula in enumerate(formulas):
        tab.write_formula(row, 5, formula, None, 1)
    book.close()
    opened = engines._soffice([path], tmp_path / "ods", "ods", engines.RECALCULATE_NEVER)
    for saved in (
        engines._soffice([path], tmp_path / "xlsx", "xlsx:Calc MS Excel 2007 XML", engines.RECALCULATE_NEVER)[0],
        engines._soffice(opened, tmp_path / "again", "xlsx:Calc MS Excel 2007 XML", engines.RECALCULATE_NEVER)[0],
    ):
        cells = read_workbook(saved).sheets["Inspection"].cells
        written = {formula: cells[row, 6].formula for row, formula in enumerate(formulas, 1)}
        assert sum(formula != text for formula, text in written.items()) > 5
        assert [(formula, text) for formula, text in written.items() if not same_formula(formula, text)] == []
