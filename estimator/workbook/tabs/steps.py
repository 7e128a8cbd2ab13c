"""The steps behind the job lines, and the grids that tie steps and checks to lines. On Workings."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from estimator.appraisal import Appraisal
from estimator.pricing.decisions import Again
from estimator.pricing.hours import Case
from estimator.pricing.job_lines import JobLine
from estimator.pricing.steps import OwnStep, SharedStep
from estimator.pricing.visit import FLAGS
from estimator.workbook.book import Block, Column, Value, block


def _steps() -> list[Column]:
    def columns(name: str) -> Callable[[OwnStep | SharedStep], Value]:
        return lambda item: getattr(item.hours.columns, name)

    return [
        Column("low", "low", "hours", value=lambda item: item.hours.low),
        Column("likely", "likely", "hours", value=lambda item: item.hours.likely),
        Column("high", "high", "hours", value=lambda item: item.hours.high),
        Column(
            "variance",
            "variance, h²",
            "number-4",
            "=(({high}-{low})/{constant.six.value})*(({high}-{low})/{constant.six.value})",
            value=columns("variance"),
        ),
    ]


def _expected() -> Column:
    formula = "=({low}+{constant.four.value}*{likely}+{high})/{constant.six.value}"
    return Column("expected", "expected", "hours", formula, value=lambda item: item.hours.columns.expected)


def _quoted() -> Column:
    formula = '=IF({setting.basis.value}="likely",{likely},{expected})'
    return Column("quoted", "quoted", "hours", formula, value=lambda item: item.hours.columns.quoted)


def _unit(column: str, of: str = "h²") -> str:
    """What a heading says of a variance; other columns are in hours, as their look says."""
    return f", {of}" if column == "variance" else ""


def own_block(appraisal: Appraisal) -> Block:
    return block(
        "own",
        "Steps done for each job",
        [
            Column("label", "step", "label"),
            Column("title", "what is done", "wrap"),
            Column("place", "at", "small"),
            Column("line", "for"),
            Column("basis", "basis", "small", value=lambda item: item.step.step.basis),
            *_steps(),
        ],
        appraisal.labor.own,
    )


def shared_block(appraisal: Appraisal) -> Block:
    span = grid_span(appraisal)
    flags, grid = f"{{flag.CASE.{span}}}", f"{{{span}}}"

    def needed(case: Case) -> Column:
        formula = f"=SUMPRODUCT({grid},{flags.replace('CASE', case)})"
        return Column(f"needed_{case}", f"{case} lines that need it", "whole", formula)

    def part(column: str, case: Case) -> Column:
        formula = f"=IF({{needed_{case}}}>0,{{{column}}}/{{needed_{case}}},0)"
        return Column(
            f"part_{column}_{case}",
            f"part of one line, {column}, {case}{_unit(column)}",
            "hours",
            formula,
            value=lambda item: getattr(item.part(case), column),
        )

    def saved(column: str) -> list[Column]:
        others = "({needed_proposed}-1)"
        drop = f"{{rate_sum}}/{{needed_proposed}}-IF({{needed_proposed}}>1,{{rate_sum}}/{others},0)"
        return [
            Column(
                f"sole_{column}",
                f"{column} of one line alone{_unit(column)}",
                "hours",
                f"=IF({{needed_proposed}}=1,{{{column}}},0)",
                value=lambda item: getattr(item.sole, column),
            ),
            Column(
                f"drop_{column}",
                f"labor less, {column}{_unit(column, of='amount × h')}",
                "money",
                f"=IF({{needed_proposed}}=0,0,{{{column}}}*({drop}))",
                value=lambda item: getattr(item.drop, column),
            ),
            Column(
                f"back_{column}",
                f"{column} left to each other line{_unit(column)}",
                "hours",
                f"=IF({{needed_proposed}}>1,{{{column}}}/{others},0)",
                value=lambda item: getattr(item.back, column),
            ),
        ]

    return block(
        "shared",
        "Steps done once a visit",
        [
            Column("label", "step", "label"),
            Column("title", "what is done", "wrap", value=lambda item: item.step.step.title),
            Column("place", "at", "small", value=lambda item: item.step.place.title),
            Column("basis", "basis", "small", value=lambda item: item.step.step.basis),
            *_steps(),
            _expected(),
            _quoted(),
            needed("agreed"),
            needed("proposed"),
            Column(
                "rate_sum",
                "their rates together",
                "money",
                f"=SUMPRODUCT({grid},{flags.replace('CASE', 'rate')})",
            ),
            part("quoted", "agreed"),
            part("variance", "agreed"),
            part("quoted", "proposed"),
            part("variance", "proposed"),
            *saved("quoted"),
            *saved("variance"),
            *grid_columns(appraisal),
        ],
        appraisal.labor.shared,
        note="To the right, 1 under each job line that needs the step.",
    )


def grid_span(appraisal: Appraisal) -> str:
    """The columns of a grid of job lines, as a template names them."""
    return f"j1..j{len(appraisal.labor.lines)}"


def grid_columns(appraisal: Appraisal) -> list[Column]:
    """A column a job line, with 1 in the rows that have it among their `lines`."""

    def mark(label: str) -> Callable[[Any], Value]:
        return lambda item: 1 if label in item.lines else None

    return [Column(f"j{line.order}", line.label, "whole", value=mark(line.label)) for line in appraisal.labor.lines]


def flag_block(appraisal: Appraisal) -> Block:
    at = "MATCH({|line},{line:label},0)"
    formulas = {
        "line": None,
        "order": None,
        "agreed": f"=INDEX({{line:agreed}},{at})",
        "proposed": f"=INDEX({{line:proposed}},{at})",
        "rate": f"={{|proposed}}*INDEX({{line:rate}},{at})",
    }

    def column(line: JobLine) -> Column:
        return Column(
            f"j{line.order}",
            line.label,
            lambda row: "label" if row.ref == "line" else "whole",
            lambda row: formulas[row.ref],
            value=lambda row: row.of(line),
        )

    return block(
        "flag",
        "Job lines side by side, for the sums above and below",
        [Column("label", "figure", "label"), *(column(line) for line in appraisal.labor.lines)],
        FLAGS,
        kind="working",
    )


def check_column(number: int) -> str:
    """The column of the grid of checks in which the check of this number stands."""
    return f"k{number}"


def voiding_block(appraisal: Appraisal) -> Block:
    """A row a job line, a column a check."""

    def mark(again: Again) -> Callable[[JobLine], Value]:
        return lambda line: None if line.label not in again.lines else 2 if line.label in again.curing else 1

    return block(
        "voiding",
        "What must be remeasured after which job",
        [
            Column("label", "line", "label"),
            *(
                Column(check_column(number), again.label, "whole", value=mark(again))
                for number, again in enumerate(appraisal.decisions.again, 1)
            ),
        ],
        appraisal.labor.lines,
        note="1 where the job voids the reading of the check, 2 where it cures what the check finds.",
    )
