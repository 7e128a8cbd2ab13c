"""Extra work and the hours of the visit on the Hours tab; what every spare line has."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.pricing.decisions import AGREED, DECISIONS, UNTOUCHED
from estimator.workbook.book import Block, Box, Column, block
from estimator.workbook.tabs.common import list_box, lookup, number_box, typed, words_box

DECISION_BOX = list_box("Decision", DECISIONS, "What the customer decided. Only agreed work is done and billed.")


def extra_work_block(appraisal: Appraisal) -> Block:
    rates = tuple(rate.id for rate in appraisal.record.shop.labor.rates)
    return block(
        "extra_work",
        "Extra work",
        [
            Column("label", "line", "label"),
            typed("description", "work", words_box("Work", "What is to be done, in words.")),
            typed("hours", "hours", number_box("Hours", 0, 200), "hours"),
            typed("rate_id", "kind of work", list_box("Kind of work", rates)),
            typed("decision", "decision", DECISION_BOX),
            *touched_columns(appraisal),
            Column(
                "rate", "an hour", "money", "=IFERROR(" + lookup("rate:per_hour", "{rate_id}", "rate:label") + ",0)"
            ),
            *spare_flags("ISNUMBER({hours})"),
            Column("amount", "amount", "money", "=IF(ISNUMBER({hours}),ROUND({hours}*{rate},2),0)"),
            *case_amounts(),
        ],
        appraisal.extra_work,
        note="What it touched: the job of the list above whose checks must be made again after it, or nothing on brakes.",
    )


def touched_box(appraisal: Appraisal) -> Box:
    """The box of what an extra or sublet line touched: a job, whose checks are made again, or nothing."""
    jobs = tuple(dict.fromkeys(line.job.job_id for line in appraisal.plan.lines))
    prompt = f'The job whose checks must be made again after this work; "{UNTOUCHED}" where there are none.'
    return Box("list", (UNTOUCHED, *jobs), title="Touched", prompt=prompt, listed="touch:label")


def touched_columns(appraisal: Appraisal) -> list[Column]:
    """What an extra or sublet line touched, and whether that was before the readings."""
    earlier = appraisal.record.done_earlier
    return [
        typed("touched", "touched on the brakes", touched_box(appraisal)),
        Column("earlier", "done before the readings (1)", "whole", value=lambda line: int(line.row in earlier)),
        Column(
            "voiding",
            "makes void, as the job",
            "words",
            '=IF(AND({decision}="authorized",{earlier}=0,{touched}<>""),{touched},"")',
            value=lambda line: line.boxes.touched if line.boxes.decision == AGREED and line.row not in earlier else "",
        ),
    ]


def spare_flags(filled: str) -> list[Column]:
    """Whether a spare line counts in each case."""
    return [
        Column("agreed", "counts, agreed (1)", "whole", f'=IF(AND({filled},{{decision}}="authorized"),1,0)'),
        Column("proposed", "counts, proposed (1)", "whole", f'=IF(AND({filled},{{decision}}<>"declined"),1,0)'),
    ]


def case_amounts(core: bool = False) -> list[Column]:
    """The amounts of a line in both cases, and the tax that each would have alone."""
    columns = [
        Column("tax_class", "tax class"),
        Column("taxed", "taxed (1)", "whole", "=" + lookup("taxclass:taxed", "{tax_class}", "taxclass:label")),
    ]
    for case in ("agreed", "proposed"):
        columns.append(Column(f"amount_{case}", f"amount, {case}", "money", f"={{amount}}*{{{case}}}"))
        tax = f"=ROUND({{amount_{case}}}*{{setting.tax_rate.value}}*{{taxed}},2)"
        columns.append(Column(f"tax_{case}", f"tax alone, {case}", "money", tax))
        if core:
            columns.append(Column(f"core_{case}", f"core deposit, {case}", "money", f"={{core}}*{{{case}}}"))
            tax = f"=ROUND({{core_{case}}}*{{setting.tax_rate.value}}*{{taxclass.core.taxed}},2)"
            columns.append(Column(f"core_tax_{case}", f"tax on it alone, {case}", "money", tax))
    return columns


def visit_hours_block(appraisal: Appraisal) -> Block:
    formulas = {
        "likely": 'SUMIFS({shared:likely},{shared:needed_CASE},">0")+SUMIFS({own:likely},{own:CASE},1)',
        "expected": 'SUMIFS({shared:expected},{shared:needed_CASE},">0")+SUMIFS({own:expected},{own:CASE},1)',
        "variance": 'SUMIFS({shared:variance},{shared:needed_CASE},">0")+SUMIFS({own:variance},{own:CASE},1)',
        "p80": "{hour.expected.CASE}+{constant.z80.value}*SQRT({hour.variance.CASE})",
        "several": 'SUMIFS({shared:variance},{shared:needed_CASE},">1")',
        "z": 'IF({setting.basis.value}="p80",{constant.z80.value},0)',
        "per_deviation": "IF({hour.variance.CASE}>0,1/SQRT({hour.variance.CASE}),0)",
        "weighted": "SUM({line:weighted})",
        "quoted": "SUM({line:share_CASE})",
        "alone": "SUMIFS({line:alone},{line:CASE},1)",
    }

    def column(case: str) -> Column:
        return Column(
            case,
            "agreed work" if case == "agreed" else "all that is proposed",
            lambda row: "number-4" if row.ref in ("z", "per_deviation", "variance", "several", "weighted") else "hours",
            lambda row: "=" + formulas[row.ref].replace("CASE", case),
        )

    return block(
        "hour",
        "Hours of the visit",
        [
            Column("label", "figure", "label"),
            Column("title", "what it is"),
            column("agreed"),
            column("proposed"),
            Column("unit", "unit"),
        ],
        appraisal.visit_hours,
        kind="working",
    )
