"""A workbook with the formulas of the docstring of `estimator/pricing/hours.py`, to be worked out by other engines."""

from pathlib import Path

import xlsxwriter
from xlsxwriter.utility import xl_col_to_name

from estimator.pricing.hours import Z_P80

SHEET = "Hours"
TRIPLE = ("likely", "expected", "variance")

# Name of a column -> its formula. {x} is the cell of column x in the same row, {block.x} the column x of a block,
# {visit.x} and {basis.x} single cells. A column without a formula holds what was put in.
STEPS = {
    "visit_step": "", "low": "", "likely": "", "high": "",
    "expected": "({low}+{basis.weight}*{likely}+{high})/{basis.divisor}",
    "variance": "(({high}-{low})/{basis.divisor})^2",
    "needed": "SUMIFS({row.counts},{row.visit_step},{visit_step})",
    "rate_sum": "SUMIFS({row.counted_rate},{row.visit_step},{visit_step})",
    **{f"counted_{x}": f"IF({{needed}}>0,{{{x}}},0)" for x in TRIPLE},
    "several_variance": "IF({needed}>1,{variance},0)",
}  # fmt: skip
OF_STEP = "INDEX({{step.{}}},MATCH({{visit_step}},{{step.visit_step}},0))"
OF_LINE = "INDEX({{line.{}}},MATCH({{line}},{{line.line}},0))"
ROWS = {
    "line": "", "visit_step": "",
    **{x: OF_STEP.format(x) for x in TRIPLE},
    "counts": OF_LINE.format("chosen"),
    "counted_rate": "{counts}*" + OF_LINE.format("rate"),
    "others": OF_STEP.format("needed") + "-{counts}",
    **{f"share_{x}": f"IF({{counts}}>0,{{{x}}}/{OF_STEP.format('needed')},0)" for x in TRIPLE},
    **{f"sole_{x}": f"IF({{others}}=0,{{{x}}},0)" for x in TRIPLE},
    "rate_without": "IF({others}>0,(" + OF_STEP.format("rate_sum") + "-{counted_rate})/{others},0)",
    "rate_with": "(" + OF_STEP.format("rate_sum") + "-{counted_rate}+" + OF_LINE.format("rate") + ")/({others}+1)",
    "rate_difference": "{rate_with}-{rate_without}",
    **{f"money_{x}": f"{{rate_difference}}*{{{x}}}" for x in TRIPLE},
}  # fmt: skip
SUMMED = ("share", "sole", "money")
ROOT = "IF({{{0}}}>0,{{{1}}}/SQRT({{{0}}}),0)"
LINES = {
    "line": "", "chosen": "", "rate": "",
    **{f"alone_{x}": f"SUMIFS({{row.{x}}},{{row.line}},{{line}})" for x in TRIPLE},
    "alone_p80": "{alone_expected}+{basis.z}*SQRT({alone_variance})",
    **{f"{what}_{x}": f"SUMIFS({{row.{what}_{x}}},{{row.line}},{{line}})" for what in SUMMED for x in TRIPLE},
    "share_p80": "{share_expected}+{basis.z}*" + ROOT.format("visit.variance", "share_variance"),
    "counted_sole_variance": "IF({chosen}>0,{sole_variance},0)",
    "variance_without": '{visit.several_variance}+SUMIFS({line.counted_sole_variance},{line.line},"<>"&{line})',
    "variance_with": "{variance_without}+{sole_variance}",
    "sole_p80": "{sole_expected}+{basis.z}*(SQRT({variance_with})-SQRT({variance_without}))",
    "weighted_variance": "{rate}*{share_variance}",
    "weighted_without": "{visit.weighted_variance}-IF({chosen}>0,{money_variance},0)",
    "weighted_with": "{weighted_without}+{money_variance}",
    "money_p80": "{money_expected}+{basis.z}*("
    + ROOT.format("variance_with", "weighted_with") + "-" + ROOT.format("variance_without", "weighted_without") + ")",
}  # fmt: skip
VISIT = {
    **{x: f"SUM({{step.counted_{x}}})" for x in TRIPLE},
    "several_variance": "SUM({step.several_variance})",
    "weighted_variance": "SUM({line.weighted_variance})",
    "p80": "{expected}+{basis.z}*SQRT({variance})",
}
BASIS = {"weight": 4, "divisor": 6, "z": Z_P80}


def write_hours(path: Path, line_steps, chosen, rates, visit) -> dict[tuple[str, str], float]:
    """Write the visit as formulas beside the values that Python worked out; return these by cell."""
    records = {
        "basis": (BASIS, [BASIS]),
        "visit": (VISIT, [visit]),
        "step": (STEPS, list(visit.steps.values())),
        "row": (ROWS, list(visit.rows)),
        "line": (LINES, list(visit.lines.values())),
    }
    assert len(visit.rows) == len(line_steps) and set(visit.lines) == set(rates)
    first, place = 0, {}
    for block, (columns, found) in records.items():
        place[block] = (first, list(columns))
        first += len(found) + 1

    def cell(block: str, column: str, number: int) -> str:
        start, names = place[block]
        return f"{xl_col_to_name(names.index(column))}{start + number + 1}"

    def reference(block: str, number: int, name: str) -> str:
        other, _, column = name.rpartition(".")
        if not other:
            return cell(block, column, number)
        if other in ("basis", "visit"):
            return cell(other, column, 0)
        return f"{cell(other, column, 0)}:{cell(other, column, len(records[other][1]) - 1)}"

    stored = {}
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet(SHEET)
        for block, (columns, found) in records.items():
            for number, record in enumerate(found):
                for column, formula in columns.items():
                    at = cell(block, column, number)
                    value = record[column] if block == "basis" else getattr(record, column)
                    if block == "basis" or not formula:
                        sheet.write(at, int(value) if isinstance(value, bool) else value)
                        continue
                    for name in _names(formula):
                        formula = formula.replace(f"{{{name}}}", reference(block, number, name))
                    sheet.write_formula(at, "=" + formula, None, value)
                    stored[SHEET, at] = float(value)
    return stored


def _names(formula: str) -> list[str]:
    return [part.partition("}")[0] for part in formula.split("{")[1:]]
