"""`Parts`: the parts of every job line, substitutes, spare lines, sublet work, fees and discount."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.pricing.money_lines import CONDITIONS, FAMILIES
from estimator.workbook.book import Block, Column, Emphasis, Page, Tab, block
from estimator.workbook.tabs.common import DESK_CAUTIONS, head, list_box, lookup, number_box, titled, typed, words_box
from estimator.workbook.tabs.extra_lines import DECISION_BOX, case_amounts, spare_flags, touched_columns

_BRACKET = "SUMPRODUCT(1*({markup:over}<{cost}))"


def parts(appraisal: Appraisal) -> Tab:
    return Tab(
        name="Parts",
        title=titled("Parts, sublet work, fees", appraisal),
        head=head(appraisal, "Parts"),
        cautions=(
            *DESK_CAUTIONS,
            "The two fluid families are never mixed: a part of the wrong family is a reason to stop. Costs stay in the workshop.",
        ),
        blocks=(
            part_block(appraisal),
            extra_part_block(appraisal),
            sublet_block(appraisal),
            _disposal_block(appraisal),
            _discount_block(appraisal),
        ),
        widths=(14, 42, 12, 42, 18, 10, 9, 10, 11, 26, 11, 12, 24, 14, 12),
        page=Page(landscape=True, columns=16),
        frozen_to="part",
        filtered="part",
        emphases=(Emphasis("part", "mixed", ("1",)),),
    )


def _price(cost: str) -> list[Column]:
    """The bracket of a cost, and what the part is sold for."""
    return [
        Column(
            "bracket",
            "bracket",
            "whole",
            f"=IF({_BRACKET.replace('{cost}', cost)}>0,{_BRACKET.replace('{cost}', cost)},1)",
        ),
        Column(
            "price",
            "price",
            "money",
            f"=ROUND(MAX({cost}*(1+INDEX({{markup:percent}},{{bracket}})/100),INDEX({{markup:floor}},{{bracket}})),2)",
        ),
    ]


def part_block(appraisal: Appraisal) -> Block:
    def of_line(case: str) -> Column:
        return Column(case, f"counts, {case} (1)", "whole", "=" + lookup(f"line:{case}", "{line}", "line:label"))

    return block(
        "part",
        "Parts of the jobs",
        [
            Column("label", "part", "label"),
            Column("description", "description", "wrap", value=lambda line: line.listed.description),
            Column("line", "for"),
            Column("job", "job", "small", value=lambda line: line.planned.line.title),
            Column("part_id", "part id", "small", value=lambda line: line.listed.part_id),
            typed("quantity", "quantity", number_box("Quantity", 0, 1000), "number-2"),
            Column("unit", "unit"),
            Column("condition", "condition", value=lambda line: line.listed.condition),
            Column("listed", "listed cost", "money", value=lambda line: line.listed.unit_cost),
            typed(
                "substitute",
                "taken in its place",
                words_box("Substitute", "What is taken in place of the listed part."),
                "wrap",
            ),
            typed("substitute_cost", "its cost", number_box("Its cost", 0, 100000), "money"),
            typed("substitute_family", "its family", list_box("Fluid family", FAMILIES)),
            typed(
                "compared",
                "what was compared",
                words_box("Compared", "Bore, stroke, thread, family, pressure: what was compared."),
                "wrap",
            ),
            typed("approved_by", "approved by", words_box("Approved by"), "wrap"),
            Column("deposit", "core deposit", "money", value=lambda line: line.listed.core_deposit),
            Column("listed_family", "family", value=lambda line: line.listed.fluid_family),
            Column("cost", "cost", "money", "=IF(ISNUMBER({substitute_cost}),MAX({substitute_cost},0),{listed})"),
            *_price("{cost}"),
            Column(
                "family", "family taken", "words", '=IF({substitute_family}="",{listed_family},{substitute_family})'
            ),
            of_line("agreed"),
            of_line("proposed"),
            Column(
                "mixed",
                "wrong family (1)",
                "whole",
                '=IF(AND({agreed}+{proposed}>0,{family}<>{setting.family.value},{family}<>"any"),1,0)',
            ),
            Column("amount", "amount", "money", "=IF(ISNUMBER({quantity}),ROUND({quantity}*{price},2),0)"),
            Column("core", "core", "money", "=IF(ISNUMBER({quantity}),ROUND({quantity}*{deposit},2),0)"),
            *case_amounts(core=True),
        ],
        appraisal.parts,
        note="Costs and prices are those of the day beside them in the labor tables; the demo's are invented.",
        faded_by="proposed",
    )


def extra_part_block(appraisal: Appraisal) -> Block:
    return block(
        "extra_part",
        "Extra parts",
        [
            Column("label", "line", "label"),
            typed("description", "description", words_box("Part")),
            typed("unit", "unit", words_box("Unit", "each, L, m, set")),
            typed("condition", "condition", list_box("Condition", CONDITIONS)),
            typed("family", "family", list_box("Fluid family", FAMILIES)),
            typed("quantity", "quantity", number_box("Quantity", 0, 1000), "number-2"),
            typed("cost", "cost", number_box("Cost of one", 0, 100000), "money"),
            typed("deposit", "core deposit", number_box("Core deposit of one", 0, 100000), "money"),
            typed("decision", "decision", DECISION_BOX),
            Column("cost_counted", "cost counted", "money", "=IF(ISNUMBER({cost}),MAX({cost},0),0)"),
            *_price("{cost_counted}"),
            *spare_flags("ISNUMBER({quantity}),ISNUMBER({cost})"),
            Column(
                "mixed",
                "wrong family (1)",
                "whole",
                '=IF(AND(OR({proposed}=1,{decision}="authorized"),{family}<>"",{family}<>{setting.family.value},{family}<>"any"),1,0)',
            ),
            Column("amount", "amount", "money", "=IF(ISNUMBER({quantity}),ROUND({quantity}*{price},2),0)"),
            Column(
                "core",
                "core",
                "money",
                "=IF(AND(ISNUMBER({quantity}),ISNUMBER({deposit})),ROUND({quantity}*{deposit},2),0)",
            ),
            *case_amounts(core=True),
        ],
        appraisal.extra_parts,
    )


def sublet_block(appraisal: Appraisal) -> Block:
    return block(
        "sublet",
        "Sublet work, passed on at what it costs",
        [
            Column("label", "line", "label"),
            typed("description", "work", words_box("Sublet work")),
            typed("supplier", "done by", words_box("Done by")),
            typed("charge", "charge", number_box("Charge", 0, 100000), "money"),
            typed("decision", "decision", DECISION_BOX),
            *touched_columns(appraisal),
            *spare_flags("ISNUMBER({charge})"),
            Column("amount", "amount", "money", "=IF(ISNUMBER({charge}),ROUND({charge},2),0)"),
            *case_amounts(),
        ],
        appraisal.sublet,
    )


def _disposal_block(appraisal: Appraisal) -> Block:
    return block(
        "disposal",
        "Drained fluid",
        [
            Column("label", "what", "label", value=lambda ref: ref),
            Column(
                "liters",
                "liters drained",
                "number-2",
                box=number_box("Drained fluid", 0, 200),
                value=lambda ref: appraisal.entries.disposal[ref].liters,
            ),
        ],
        ("drained",),
        ref=lambda ref: ref,
    )


def _discount_block(appraisal: Appraisal) -> Block:
    return block(
        "discount",
        "Discount, before tax",
        [
            Column("label", "for", "label", value=lambda ref: ref),
            Column(
                "percent",
                "percent",
                "number-2",
                box=number_box("Discount, before tax", 0, 100),
                value=lambda ref: appraisal.entries.discounts[ref].percent,
            ),
        ],
        ("labor", "parts"),
        ref=lambda ref: ref,
    )
