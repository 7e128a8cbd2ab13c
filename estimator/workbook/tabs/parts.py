"""Prices of parts, lines that change one, and what parts rest on. On Workings."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from estimator.appraisal import Appraisal
from estimator.pricing.part_lines import PartLine
from estimator.workbook.book import Block, Column, Value, block

_BRACKET = "SUMPRODUCT(1*({markup:over}<{cost}))"
_BRACKETED = f"IF({_BRACKET}>0,{_BRACKET},1)"
_PRICE = "ROUND(MAX({cost}*(1+INDEX({markup:percent},{bracket})/100),INDEX({markup:floor},{bracket})),2)"


def price_columns(some: Callable[..., Column]) -> list[Column]:
    """The bracket of a cost, and what the part is sold for."""
    return [
        some("bracket", "bracket", "whole", {"extra_part": _BRACKETED}, lambda item: getattr(item.line, "bracket", "")),
        some("price", "price", "money", {"extra_part": _PRICE}, lambda item: getattr(item.line, "price", "")),
    ]


def price_block(appraisal: Appraisal) -> Block:
    return block(
        "price",
        "Listed parts, and what each is sold for",
        [
            Column("label", "part id", "label"),
            Column("description", "description", value=lambda item: item.part.description),
            Column("cost", "cost", "money", value=lambda item: item.part.unit_cost),
            Column("bracket", "bracket", "whole", "=" + _BRACKETED),
            Column("price", "price", "money", "=" + _PRICE),
        ],
        appraisal.prices,
        note="Costs are for the shop only. Prices of the demo are invented.",
    )


def change_block(appraisal: Appraisal) -> Block:
    """The lines that change a part, and what follows."""

    lines = {part.change.number: part.line for part in appraisal.parts if part.change}

    def listed(column: str) -> str:
        return f"INDEX({{part:{column}}},{{at}})"

    return block(
        "change",
        "Changed parts",
        [
            Column("label", "line", "label"),
            Column("number", "number", "whole"),
            Column("which", "part", "words", '={change@part}&""'),
            Column("at", "row", "whole", "=IFERROR(MATCH({which},{part:ref},0),0)"),
            Column(
                "takes",
                "quantity",
                "number-2",
                '=IF({change@quantity}<>"",{change@quantity},IF({at}=0,0,' + listed("listed") + "))",
                unit="as typed",
            ),
            Column(
                "cost",
                "cost",
                "money",
                "=IF(ISNUMBER({change@substitute_cost}),MAX({change@substitute_cost},0),IF({at}=0,0,"
                + listed("cost")
                + "))",
            ),
            Column("bracket", "bracket", "whole", "=" + _BRACKETED),
            Column("price", "price", "money", "=" + _PRICE),
            Column(
                "family",
                "family taken",
                "words",
                '=IF({change@substitute_family}<>"",{change@substitute_family},IF({at}=0,"",' + listed("family") + "))",
            ),
            Column(
                "odd",
                "wrong family (1)",
                "whole",
                '=IF(OR({at}=0,{family}={setting.family.value},{family}="any"),0,1)',
            ),
            Column(
                "line",
                "changes a part of",
                "words",
                '=IF({at}=0,"",IF(MATCH({which},{change:which},0)={number},' + listed("line") + ',""))',
                value=lambda change: lines.get(change.number, ""),
            ),
        ],
        appraisal.changes,
    )


def part_block(appraisal: Appraisal) -> Block:
    """What is listed of each part, and its tax; quantity, price and amount stand on Work."""

    def some(
        name: str, heading: str, look: str, formula: Callable[[PartLine], str | None], value: Callable[[PartLine], Any]
    ) -> Column:
        def read(part: PartLine) -> Value:
            found: Value = "" if formula(part) is None else value(part)
            return found

        return Column(name, heading, look, formula, value=read)

    def tax(part: PartLine) -> str:
        return f"=ROUND({{part@amount}}*{{setting.tax_rate.value}}*{{taxclass.{part.tax_class}.taxed}},2)"

    def core(part: PartLine) -> str | None:
        counted = "=IF(ISNUMBER({part@quantity}),ROUND({part@quantity}*{deposit},2),0)"
        return counted if part.deposit_each else None

    def core_tax(part: PartLine) -> str | None:
        return "=ROUND({core}*{setting.tax_rate.value}*{taxclass.core.taxed},2)" if part.deposit_each else None

    return block(
        "part",
        "Parts of the jobs",
        [
            Column("label", "part", "label"),
            Column("ref", "in files of entries"),
            Column("line", "for"),
            Column(
                "listed", "quantity listed", "number-2", value=lambda part: float(part.planned.quantity), unit="listed"
            ),
            Column("cost", "cost listed", "money", value=lambda part: part.listed.unit_cost),
            Column("family", "family listed", value=lambda part: part.listed.fluid_family),
            Column("deposit", "core deposit of one", "money", value=lambda part: part.deposit_each, sparse=True),
            some("tax", "tax alone", "money", tax, lambda part: part.tax_each),
            some("core", "core deposit", "money", core, lambda part: part.core),
            some("core_tax", "tax on it alone", "money", core_tax, lambda part: part.core_tax_each),
        ],
        appraisal.parts,
        note="Costs are for the shop only.",
    )
