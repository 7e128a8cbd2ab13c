"""How the totals of the Estimate are worked out, row by row, and the tax by jurisdiction."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from estimator.appraisal import Appraisal
from estimator.pricing.money_lines import CASES
from estimator.workbook.book import Block, Column, Value, block

_TOTALS = {
    "labor": "SUM({line:amount_CASE})+SUMIFS({extra:labor},{extra:CASE},1)",
    "parts": "SUMIFS({line:parts},{line:CASE},1)+SUMIFS({extra:parts},{extra:CASE},1)",
    "sublet": "SUMIFS({extra:sublet},{extra:CASE},1)",
    "supplies_share": "ROUND({total.labor.CASE}*{setting.supplies_percent.value}/100,2)",
    "supplies": "IF({setting.supplies_cap.value}=0,{total.supplies_share.CASE},"
    "MIN({total.supplies_share.CASE},{setting.supplies_cap.value}))",
    "disposal": "IF(AND(ISNUMBER({disposal.drained.liters}),{total.labor.CASE}>0),"
    "ROUND({disposal.drained.liters}*{setting.disposal.value},2),0)",
    "core": "SUMIFS({line:core},{line:CASE},1)+SUMIFS({extra:core},{extra:CASE},1)",
    "discount_labor": "IF(ISNUMBER({discount.labor.percent}),"
    "-ROUND({total.labor.CASE}*{discount.labor.percent}/100,2),0)",
    "discount_parts": "IF(ISNUMBER({discount.parts.percent}),"
    "-ROUND({total.parts.CASE}*{discount.parts.percent}/100,2),0)",
    "net": "ROUND(SUM({total.labor.CASE},{total.parts.CASE},{total.sublet.CASE},{total.supplies.CASE},"
    "{total.disposal.CASE},{total.core.CASE},{total.discount_labor.CASE},{total.discount_parts.CASE}),2)",
    "parts_taxed": "SUMIFS({line:parts_taxed},{line:CASE},1)+{taxclass.parts.taxed}*SUMIFS({extra:parts},{extra:CASE},1)",
    "discount_taxed": "IF({total.parts.CASE}=0,0,"
    "ROUND({total.discount_parts.CASE}*{total.parts_taxed.CASE}/{total.parts.CASE},2))",
    "labor_taxed": "{taxclass.labor.taxed}*({total.labor.CASE}+{total.discount_labor.CASE})",
    "fees_taxed": "{taxclass.supplies.taxed}*{total.supplies.CASE}+{taxclass.disposal.taxed}*{total.disposal.CASE}",
    "others_taxed": "{taxclass.sublet.taxed}*{total.sublet.CASE}+{taxclass.core.taxed}*{total.core.CASE}",
    "taxable": "ROUND(SUM({total.labor_taxed.CASE},{total.parts_taxed.CASE},{total.discount_taxed.CASE},"
    "{total.fees_taxed.CASE},{total.others_taxed.CASE}),2)",
    "tax_by_document": "ROUND({total.taxable.CASE}*{setting.tax_rate.value},2)",
    "tax_labor": "SUM({line:tax_CASE})+SUMIFS({extra:labor_tax},{extra:CASE},1)+"
    "ROUND({total.discount_labor.CASE}*{setting.tax_rate.value}*{taxclass.labor.taxed},2)",
    "tax_parts": "SUMIFS({line:part_tax},{line:CASE},1)+SUMIFS({extra:parts_tax},{extra:CASE},1)+"
    "ROUND({total.discount_taxed.CASE}*{setting.tax_rate.value},2)",
    "tax_others": "SUMIFS({line:core_tax},{line:CASE},1)+SUMIFS({extra:others_tax},{extra:CASE},1)",
    "tax_fees": "ROUND({total.supplies.CASE}*{setting.tax_rate.value}*{taxclass.supplies.taxed},2)+"
    "ROUND({total.disposal.CASE}*{setting.tax_rate.value}*{taxclass.disposal.taxed},2)",
    "tax_by_line": "ROUND(SUM({total.tax_labor.CASE},{total.tax_parts.CASE},{total.tax_others.CASE},{total.tax_fees.CASE}),2)",
    "tax": 'IF({setting.tax_scope.value}="line",{total.tax_by_line.CASE},{total.tax_by_document.CASE})',
    "total": "ROUND({total.net.CASE}+{total.tax.CASE},2)",
}


def total_block(appraisal: Appraisal) -> Block:
    def column(case: str) -> Column:
        return Column(
            case,
            "agreed work" if case == "agreed" else "all that is proposed",
            lambda row: "total" if row.ref == "total" else "money",
            lambda row: "=" + _TOTALS[row.ref].replace("CASE", case),
        )

    return block(
        "total",
        "How the totals are worked out",
        [
            Column("label", "figure", "label"),
            Column("title", "what it is"),
            *(column(case) for case in CASES),
        ],
        appraisal.totals,
        kind="working",
    )


def tax_split_block(appraisal: Appraisal) -> Block:
    currency = appraisal.record.shop.shop.currency

    def columns(case: str) -> list[Column]:
        def of(name: str) -> Callable[[Any], Value]:
            return lambda row: getattr(getattr(row, case), name)

        tax, rests, rest = f"{{total.tax.{case}}}", f"{{tax_split:rest_{case}}}", f"{{rest_{case}}}"
        larger = f"SUMPRODUCT(1*({rests}>{rest}))"
        equal = f"SUMPRODUCT(({rests}={rest})*({{tax_split:order}}<={{order}}))"
        return [
            Column(
                f"exact_{case}",
                f"exact, {case}, {currency}",
                "number-6",
                f"=IF({{setting.tax_rate.value}}=0,0,ROUND(ABS({tax})*{{percent}}/SUM({{tax_split:percent}}),6))",
                value=of("exact"),
            ),
            Column(
                f"down_{case}", f"whole cents, {case}", "money", f"=ROUNDDOWN({{exact_{case}}},2)", value=of("down")
            ),
            Column(
                f"rest_{case}",
                f"rest, {case}, {currency}",
                "number-6",
                f"=ROUND({{exact_{case}}}-{{down_{case}}},6)",
                value=of("rest"),
            ),
            Column(f"rank_{case}", f"its place, {case}", "whole", f"={larger}+{equal}", value=of("rank")),
            Column(
                f"left_{case}",
                f"cents left over, {case}",
                "whole",
                f"=IF({{setting.tax_rate.value}}=0,0,ROUND((ABS({tax})-SUM({{tax_split:down_{case}}}))*100,0))",
                value=of("left"),
            ),
            Column(
                f"share_{case}",
                f"tax, {case}",
                "money",
                f"=SIGN({tax})*ROUND({{down_{case}}}+IF({{rank_{case}}}<={{left_{case}}},1,0)/100,2)",
                value=of("share"),
            ),
        ]

    return block(
        "tax_split",
        "Tax by jurisdiction",
        [
            Column("label", "jurisdiction", "label"),
            Column("percent", "rate, %", "number-3", "=" + "INDEX({taxpart:percent},{order})"),
            Column("order", "order", "whole"),
            *columns("agreed"),
            *columns("proposed"),
        ],
        appraisal.tax_parts,
        note="Cents left over go to the largest remainders, so that the parts add up to the tax.",
    )
