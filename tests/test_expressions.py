"""The evaluator of expressions against two spreadsheet engines, and against what spreadsheets are documented to do."""

from __future__ import annotations

import math
import random
import re
from pathlib import Path

import pytest
import xlsxwriter

from estimator.limits.expressions import parse
from estimator.limits.row_table import Row
from estimator.limits.sheet_functions import FUNCTIONS, LAZY, SheetError
from tests.engines import ALLOWED_FUNCTIONS, needs_libreoffice, recalculate_with_ironcalc, recalculate_with_libreoffice
from tests.limit_cars import demo
from tests.limit_cars import worked_out as limits_of

CELLS = {
    "half": 0.5,
    "two": 2.0,
    "minus": -2.5,
    "zero": 0.0,
    "big": 1.2e7,
    "warm": 293.15,
    "words": "rear axle",
    "none": "",
}
SHEET = "Sheet1"
NUMERIC = ("ABS", "EXP", "INT", "LN", "LOG10", "NORMSDIST", "SIGN", "SQRT", "TAN", "TRUNC")
ROUNDING = ("ROUND", "ROUNDDOWN", "ROUNDUP")
LISTS = ("AVERAGE", "COUNT", "COUNTA", "MAX", "MIN", "SUM", "SUMSQ")


def worked_out(text: str) -> float | str | bool:
    return parse(text).value(CELLS)


class Written:
    """Expressions written at random: numbers and conditions, three deep, with words in some of the cells."""

    def __init__(self, seed: int) -> None:
        self.draw = random.Random(seed)

    def number(self, depth: int = 3) -> str:
        if depth == 0 or self.draw.random() < 0.15:
            return self.draw.choice([f"{{{self.draw.choice(list(CELLS))}}}", "0", "1", "3.25", "PI()"])
        kind = self.draw.randrange(8)
        if kind <= 2:
            sign = self.draw.choice("+-*/")
            return f"({self.number(depth - 1)}{sign}{self.number(depth - 1)})"
        if kind == 3:
            name = self.draw.choice(NUMERIC)
            # ironcalc takes e to a great power for endless, not for an error.
            return f"EXP(-ABS({self.number(depth - 1)}))" if name == "EXP" else f"{name}({self.number(depth - 1)})"
        if kind == 4:
            return f"{self.draw.choice(ROUNDING)}({self.number(depth - 1)},{self.draw.choice('012')})"
        if kind == 5:
            several = ",".join(self.number(depth - 1) for _ in range(self.draw.randint(1, 3)))
            return f"{self.draw.choice(LISTS)}({several})"
        if kind == 6:
            return f"IF({self.condition(depth - 1)},{self.number(depth - 1)},{self.number(depth - 1)})"
        return self.draw.choice(
            [
                f"IFERROR({self.number(depth - 1)},7)",
                f"-{self.number(depth - 1)}",
                f"{self.number(0)}^2*{self.number(0)}",
            ]
        )

    def condition(self, depth: int) -> str:
        kind = self.draw.randrange(5)
        if depth <= 0 or kind <= 1:
            sign = self.draw.choice(("<", "<=", ">", ">=", "=", "<>"))
            return f"{self.number(depth - 1 if depth > 0 else 0)}{sign}{self.number(0)}"
        if kind == 2:
            several = ",".join(self.condition(depth - 1) for _ in range(self.draw.randint(1, 3)))
            return f"{self.draw.choice(('AND', 'OR'))}({several})"
        if kind == 3:
            return f"NOT({self.condition(depth - 1)})"
        return f"{self.draw.choice(('ISNUMBER', 'ISTEXT', 'ISERROR'))}({self.number(depth - 1)})"


TEXTS = [f'IFERROR({Written(seed).number()},"an error")' for seed in range(1200)]


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every expression as a formula below the cells that it names."""
    path = tmp_path_factory.mktemp("expressions") / "book.xlsx"
    at = {name: f"$A${row}" for row, name in enumerate(CELLS, 1)}
    with xlsxwriter.Workbook(str(path)) as book:
        page = book.add_worksheet(SHEET)
        for row, value in enumerate(CELLS.values()):
            if value == "":
                page.write_formula(row, 0, '=""', value="")
            else:
                page.write(row, 0, value)
        for row, text in enumerate(TEXTS):
            page.write_formula(row, 1, "=" + re.sub(r"\{(\w+)\}", lambda match: at[match[1]], text), value=0)
    return path


def differences(values: dict) -> dict[str, tuple[object, object]]:
    found = {text: (worked_out(text), values[SHEET, f"B{row}"]) for row, text in enumerate(TEXTS, 1)}
    return {text: pair for text, pair in found.items() if not same(*pair)}


def same(ours: object, theirs: object) -> bool:
    if isinstance(ours, str) or isinstance(theirs, str):
        return ours == theirs
    return math.isclose(ours, theirs, rel_tol=1e-9, abs_tol=1e-9)


def test_ironcalc_agrees(sheet: Path) -> None:
    assert differences(recalculate_with_ironcalc(sheet)) == {}


@needs_libreoffice
def test_libreoffice_agrees(sheet: Path) -> None:
    assert differences(recalculate_with_libreoffice([sheet])[0]) == {}


def test_the_expressions_written_call_every_function_and_most_give_a_number() -> None:
    called = set(re.findall(r"([A-Z][A-Z0-9]*)\(", " ".join(TEXTS)))
    assert called == (FUNCTIONS.keys() | LAZY.keys()) - {"POWER"}
    assert sum(isinstance(worked_out(text), float) for text in TEXTS) > 600


def test_only_functions_that_both_engines_have() -> None:
    assert FUNCTIONS.keys() | LAZY.keys() <= ALLOWED_FUNCTIONS


# ISO/IEC 29500-1, 18.17.2.2 (operators) and 18.17.7 (functions); order of a sign before ^ as 18.17.2.2 has it. From memory.
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("-{two}^2", 4.0),
        ("2^3^2", 64.0),
        ("2^-1", 0.5),
        ("1-2-3", -4.0),
        ("8/4/2", 1.0),
        ("1+2*3", 7.0),
        ("(1+2)*3=9", True),
        ("1+1>1*1", True),
        ("POWER({two},-1)", 0.5),
        ("{words}>{big}", True),
        ('"Rear Axle"={words}', True),
        ('"a ""word"""', 'a "word"'),
        ("MAX({words},{minus})", -2.5),
        ("MAX({words})", 0.0),
        ("MIN({none},{two})", 2.0),
        ("SUM({words},{two},{half})", 2.5),
        ("COUNT({words},{none},{two},3)", 2.0),
        ("COUNTA({words},{none},{two})", 3.0),
        ("AND({words},{two}>1)", True),
        ("ROUND({minus},0)", -3.0),
        ("INT(-0.5)", -1.0),
        ("TRUNC({minus})", -2.0),
        ("ROUNDUP(2.01,1)", 2.1),
        ("ROUNDDOWN({minus},0)", -2.0),
        ("0.1+0.2=0.3", True),
        ("INT((0.1+0.2)*10)", 3.0),
        ("IF(1,{two},{words}+1)", 2.0),
        ("IF(0,1)", False),
        ("TRUNC({zero})", 0.0),
    ],
)
def test_documented(text: str, value: object) -> None:
    assert worked_out(text) == value and type(worked_out(text)) is type(value)


@pytest.mark.parametrize(
    "text",
    [
        "{words}+1",
        "{none}*2",
        "-{words}",
        "1/{zero}",
        "SQRT({minus})",
        "LN({zero})",
        "EXP({big})",
        "POWER({minus},{half})",
        "POWER({zero},-1)",
        "{big}^99",
        "1E300*1E300",
        'MAX("2")',
        'IF("yes",1,2)',
        "AND({words})",
        "OR(1,1/{zero})",
        "ABS({none})",
        "AVERAGE({words})",
    ],
)
def test_an_error_of_the_sheet_is_caught_by_iferror_alone(text: str) -> None:
    with pytest.raises(SheetError):
        worked_out(text)
    assert worked_out(f'IFERROR({text},"not known")') == "not known"
    assert worked_out(f"ISERROR({text})") is True


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("SECH({two})", "no function SECH"),
        ("SQRT({two},{two})", "SQRT takes 1 to 1 arguments, not 2"),
        ("IF({two})", "IF takes 2 to 3"),
        ("PI(1)", "PI takes 0 to 0"),
        ("({two}", "a ')' is missing"),
        ("{two})", "one too many"),
        ("{two}+", "ends too soon"),
        ("{two}**2", "stands where a value should"),
        ("MAX(,1)", "stands where a value should"),
        ("SQRT", "a '(' is missing"),
        ("{two} & 1", "means nothing"),
        ("{two};1", "means nothing"),
        ("", "ends too soon"),
    ],
)
def test_what_is_no_expression_is_refused_when_it_is_read(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=re.escape(why)):
        parse(text)


def test_names_are_told_apart_in_one_shape() -> None:
    assert parse("{a}-{b}").value({"a": 5.0, "b": 2.0}) == 3.0
    assert parse("{b}-{a}").value({"a": 5.0, "b": 2.0}) == -3.0
    assert parse("{a}-{a}").value({"a": 5.0}) == 0.0


def test_a_row_that_names_nothing_or_stands_twice_is_refused() -> None:
    scope = limits_of(demo()).workings.scope("system-1")
    with pytest.raises(ValueError, match=r"system-1\.new names working\.system-1\.nothing\.si,"):
        scope.add([Row("new", "n", "new", "{nothing}+1", "1")])
    with pytest.raises(ValueError, match="stands twice"):
        scope.add([Row("cold", "n", "new", "1", "1")])
    with pytest.raises(ValueError, match="shows an error"):
        scope.add([Row("new", "n", "new", "1/0", "1", plain=True)])
