"""Lines that people filled in, and the hours of the visit. On Workings."""

from __future__ import annotations

from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.pricing.decisions import AGREED, DECISIONS, DECLINED, UNTOUCHED
from estimator.pricing.offers import Extra
from estimator.workbook.book import Block, Box, Column, Value, block
from estimator.workbook.tabs.common import list_box, lookup
from estimator.workbook.tabs.parts import price_columns

DECISION_BOX = list_box("Decision", DECISIONS, "Customer's decision. Only authorized work is done and billed.")
_FILLED = {
    "extra_work": "ISNUMBER({ROW.hours})",
    "extra_part": "ISNUMBER({ROW.quantity}),ISNUMBER({ROW.cost})",
    "sublet": "ISNUMBER({ROW.charge})",
}
_TAX_CLASS = {"extra_work": "labor", "extra_part": "parts", "sublet": "sublet"}


def touched_box(appraisal: Appraisal) -> Box:
    """The box of what an extra or sublet line touched: a job, whose checks are made again, or nothing."""
    jobs = tuple(dict.fromkeys(line.job.job_id for line in appraisal.plan.lines))
    prompt = f'The job whose checks must be repeated after this work; "{UNTOUCHED}" where there are none.'
    return Box("list", (UNTOUCHED, *jobs), title="Touched", prompt=prompt, listed="touch:label")


def extra_block(appraisal: Appraisal) -> Block:
    earlier = appraisal.record.done_earlier

    def some(
        name: str, heading: str, look: str, formulas: dict[str, str], value: Callable[[Extra], Value] | None = None
    ) -> Column:
        """A column of the kinds of lines alone that have a formula."""

        def formula(item: Extra) -> str | None:
            found = formulas.get(item.kind, formulas.get(""))
            return None if found is None else "=" + found.replace("ROW", item.ref)

        def read(item: Extra) -> Value:
            if formula(item) is None:
                return ""
            found: Value = getattr(item, name) if value is None else value(item)
            return found

        return Column(name, heading, look, formula, value=read)

    def counts(case: str, words: str) -> Column:
        formulas = {kind: f"IF(AND({filled},{{ROW.decision}}{words}),1,0)" for kind, filled in _FILLED.items()}
        return some(case, f"counts, {case} (1)", "whole", formulas)

    def amount(name: str, kind: str, formula: str) -> Column:
        return some(name, name, "money", {kind: formula})

    def tax(name: str, kind: str, of: str, value: Callable[[Extra], Value]) -> Column:
        rate = f"{{setting.tax_rate.value}}*{{taxclass.{_TAX_CLASS[kind]}.taxed}}"
        return some(f"{name}_tax", f"tax alone, {name}", "money", {kind: f"ROUND({of}*{rate},2)"}, value)

    def voiding(item: Extra) -> Value:
        boxes = item.line.boxes
        counted = boxes.decision == AGREED and item.ref not in earlier
        return getattr(boxes, "touched", "") if counted else ""

    touched = 'IF(AND({ROW.decision}="' + AGREED + '",{earlier}=0,{ROW.touched}<>""),{ROW.touched},"")'
    cost = {"extra_part": "IF(ISNUMBER({ROW.cost}),MAX({ROW.cost},0),0)"}
    wrong = 'OR({ROW.family}="",{ROW.family}={setting.family.value},{ROW.family}="any")'
    mixed = f'IF(OR({wrong},AND({{proposed}}=0,{{ROW.decision}}<>"{AGREED}")),0,1)'
    core = "IF(AND(ISNUMBER({ROW.quantity}),ISNUMBER({ROW.deposit})),ROUND({ROW.quantity}*{ROW.deposit},2),0)"
    core_tax = "ROUND({core}*{setting.tax_rate.value}*{taxclass.core.taxed},2)"
    sublet_tax = "ROUND({sublet}*{setting.tax_rate.value}*{taxclass.sublet.taxed},2)"
    refused = {item.extra.ref: item.number for item in appraisal.declined if item.extra}
    return block(
        "extra",
        "Lines that were filled in",
        [
            Column("label", "line", "label"),
            Column("order", "order", "whole"),
            Column(
                "earlier", "completed before the readings (1)", "whole", value=lambda item: int(item.ref in earlier)
            ),
            some("title", "work or part", "words", {"": '{ROW.description}&""'}),
            counts("agreed", f'="{AGREED}"'),
            counts("proposed", f'<>"{DECLINED}"'),
            some(
                "declined",
                "declined (1)",
                "whole",
                {kind: f'IF(AND({filled},{{ROW.decision}}="{DECLINED}"),1,0)' for kind, filled in _FILLED.items()},
            ),
            some(
                "declined_no",
                "place among declined (-)",
                "whole",
                {"": '-{declined}*(COUNTIF({line:offered},"<0")+SUMIFS({extra:declined},{extra:order},"<="&{order}))'},
                lambda item: -refused.get(item.ref, 0),
            ),
            some(
                "rate",
                "an hour",
                "money",
                {"extra_work": "IFERROR(" + lookup("rate:per_hour", "{ROW.rate_id}", "rate:label") + ",0)"},
                lambda item: getattr(item.line, "rate", ""),
            ),
            some("cost", "cost counted", "money", cost, lambda item: getattr(item.line, "cost_counted", "")),
            *price_columns(some),
            amount("labor", "extra_work", "IF(ISNUMBER({ROW.hours}),ROUND({ROW.hours}*{rate},2),0)"),
            amount("parts", "extra_part", "IF(ISNUMBER({ROW.quantity}),ROUND({ROW.quantity}*{price},2),0)"),
            amount("sublet", "sublet", "IF(ISNUMBER({ROW.charge}),ROUND({ROW.charge},2),0)"),
            amount("core", "extra_part", core),
            tax("labor", "extra_work", "{labor}", lambda item: item.tax_each),
            tax("parts", "extra_part", "{parts}", lambda item: item.tax_each),
            some(
                "others_tax",
                "tax alone, core deposit or sublet work",
                "money",
                {"extra_part": core_tax, "sublet": sublet_tax},
            ),
            some(
                "mixed", "wrong family (1)", "whole", {"extra_part": mixed}, lambda item: getattr(item.line, "mixed", 0)
            ),
            some(
                "mixed_agreed",
                "and gets into the car (1)",
                "whole",
                {"extra_part": f'IF(AND({{mixed}}=1,{{ROW.decision}}="{AGREED}"),1,0)'},
                lambda item: getattr(item.line, "mixed_agreed", 0),
            ),
            some("voiding", "voids, as the job", "words", {"extra_work": touched, "sublet": touched}, voiding),
            some(
                "rank",
                "number on the estimate",
                "whole",
                {"": 'IF({proposed}=1,SUM({line:proposed})+SUMIFS({extra:proposed},{extra:order},"<="&{order}),0)'},
            ),
        ],
        appraisal.extras,
    )


def visit_hours_block(appraisal: Appraisal) -> Block:
    shared = 'SUMIFS({shared:NAME},{shared:needed_CASE},">0")+SUMPRODUCT({line:own_NAME},{line:CASE})'
    formulas = {name: shared.replace("NAME", name) for name in ("likely", "expected", "variance")} | {
        "p80": "{hour.expected.CASE}+{constant.z80.value}*SQRT({hour.variance.CASE})",
        "several": 'SUMIFS({shared:variance},{shared:needed_CASE},">1")',
        "z": 'IF({setting.basis.value}="p80",{constant.z80.value},0)',
        "per_deviation": "IF({hour.variance.CASE}>0,1/SQRT({hour.variance.CASE}),0)",
        "weighted": "SUMPRODUCT({line:rate},{line:variance_proposed})",
        "quoted": "SUM({line:share_CASE})",
    }

    def column(case: str) -> Column:
        return Column(
            case,
            "authorized work" if case == "agreed" else "all recommended work",
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
