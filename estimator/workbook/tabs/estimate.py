"""`Estimate`: what the customer reads and consents to: the work, why, what it costs together, consent by stage."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from estimator.appraisal import Appraisal, Offer
from estimator.pricing.consents import STAGE_WORDS, WAY_WORDS
from estimator.pricing.money_lines import CASES
from estimator.workbook.book import Block, Box, Column, Page, Tab, Value, block, positions
from estimator.workbook.tabs.common import (
    DESK_CAUTIONS,
    PAGE_CAUTION,
    head,
    list_box,
    lookup,
    number_box,
    titled,
    words_box,
)

_TOTALS = {
    "labor": "SUM({line:amount_CASE})+SUM({extra_work:amount_CASE})",
    "parts": "SUM({part:amount_CASE})+SUM({extra_part:amount_CASE})",
    "sublet": "SUM({sublet:amount_CASE})",
    "supplies_share": "ROUND({total.labor.CASE}*{setting.supplies_percent.value}/100,2)",
    "supplies": "IF({setting.supplies_cap.value}=0,{total.supplies_share.CASE},"
    "MIN({total.supplies_share.CASE},{setting.supplies_cap.value}))",
    "disposal": "IF(AND(ISNUMBER({disposal.drained.liters}),{total.labor.CASE}>0),"
    "ROUND({disposal.drained.liters}*{setting.disposal.value},2),0)",
    "core": "SUM({part:core_CASE})+SUM({extra_part:core_CASE})",
    "discount_labor": "IF(ISNUMBER({discount.labor.percent}),"
    "-ROUND({total.labor.CASE}*{discount.labor.percent}/100,2),0)",
    "discount_parts": "IF(ISNUMBER({discount.parts.percent}),"
    "-ROUND({total.parts.CASE}*{discount.parts.percent}/100,2),0)",
    "net": "ROUND(SUM({total.labor.CASE},{total.parts.CASE},{total.sublet.CASE},{total.supplies.CASE},"
    "{total.disposal.CASE},{total.core.CASE},{total.discount_labor.CASE},{total.discount_parts.CASE}),2)",
    "parts_taxed": "SUMIFS({part:amount_CASE},{part:taxed},1)+SUMIFS({extra_part:amount_CASE},{extra_part:taxed},1)",
    "discount_taxed": "IF({total.parts.CASE}=0,0,"
    "ROUND({total.discount_parts.CASE}*{total.parts_taxed.CASE}/{total.parts.CASE},2))",
    "labor_taxed": "{taxclass.labor.taxed}*({total.labor.CASE}+{total.discount_labor.CASE})",
    "fees_taxed": "{taxclass.supplies.taxed}*{total.supplies.CASE}+{taxclass.disposal.taxed}*{total.disposal.CASE}",
    "others_taxed": "{taxclass.sublet.taxed}*{total.sublet.CASE}+{taxclass.core.taxed}*{total.core.CASE}",
    "taxable": "ROUND(SUM({total.labor_taxed.CASE},{total.parts_taxed.CASE},{total.discount_taxed.CASE},"
    "{total.fees_taxed.CASE},{total.others_taxed.CASE}),2)",
    "tax_by_document": "ROUND({total.taxable.CASE}*{setting.tax_rate.value},2)",
    "tax_labor": "SUM({line:tax_CASE})+SUM({extra_work:tax_CASE})+"
    "ROUND({total.discount_labor.CASE}*{setting.tax_rate.value}*{taxclass.labor.taxed},2)",
    "tax_parts": "SUM({part:tax_CASE})+SUM({extra_part:tax_CASE})+"
    "ROUND({total.discount_taxed.CASE}*{setting.tax_rate.value},2)",
    "tax_others": "SUM({sublet:tax_CASE})+SUM({part:core_tax_CASE})+SUM({extra_part:core_tax_CASE})",
    "tax_fees": "ROUND({total.supplies.CASE}*{setting.tax_rate.value}*{taxclass.supplies.taxed},2)+"
    "ROUND({total.disposal.CASE}*{setting.tax_rate.value}*{taxclass.disposal.taxed},2)",
    "tax_by_line": "ROUND(SUM({total.tax_labor.CASE},{total.tax_parts.CASE},{total.tax_others.CASE},{total.tax_fees.CASE}),2)",
    "tax": 'IF({setting.tax_scope.value}="line",{total.tax_by_line.CASE},{total.tax_by_document.CASE})',
    "total": "ROUND({total.net.CASE}+{total.tax.CASE},2)",
}
_CONSENTING = {
    "compared": 'IF({setting.consent_on.value}="before tax",{total.net.agreed},{total.total.agreed})',
    "consented": "ROUND(SUM({consent:counted}),2)",
    "share": "ROUND({consenting.consented.value}*{setting.consent_percent.value}/100,2)",
    "ruled": 'IF({setting.consent_rule.value}="flat",{setting.consent_flat.value},'
    'IF({setting.consent_rule.value}="none",0,{consenting.share.value}))',
    "greater": 'IF({setting.consent_rule.value}="greater-of",'
    "MAX({setting.consent_flat.value},{consenting.share.value}),{consenting.ruled.value})",
    "chosen": 'IF({setting.consent_rule.value}="lesser-of",'
    "MIN({setting.consent_flat.value},{consenting.share.value}),{consenting.greater.value})",
    "excess": "IF({consenting.consented.value}=0,0,IF(ISNUMBER({setting.consent_cap.value}),"
    "MIN({consenting.chosen.value},{setting.consent_cap.value}),{consenting.chosen.value}))",
    "over": "MAX(0,ROUND({consenting.compared.value}-{consenting.consented.value}-{consenting.excess.value},2))",
    "further": "MAX(0,ROUND({consenting.compared.value}-{consenting.consented.value},2))",
}


def estimate(appraisal: Appraisal) -> Tab:
    currency = appraisal.record.shop.shop.currency
    return Tab(
        name="Estimate",
        title=titled("Estimate", appraisal),
        head=head(appraisal, "Estimate"),
        cautions=(
            *DESK_CAUTIONS,
            f"Amounts in {currency}. Valid for {appraisal.record.shop.estimate.valid_days} days from the date of the document.",
            *appraisal.record.shop.estimate.terms,
        ),
        blocks=(
            offer_block(appraisal),
            sum_block(appraisal),
            consent_block(appraisal),
            consenting_block(appraisal),
            total_block(appraisal),
            tax_split_block(appraisal),
        ),
        widths=(20, 50, 24, 34, 9, 12, 14, 14, 13, 14, 14),
        page=Page(landscape=True, columns=11, until="consent", header=PAGE_CAUTION),
    )


def offer_block(appraisal: Appraisal) -> Block:
    line_at = positions(appraisal.labor.lines)

    def of(read: Callable[[Any], Value]) -> Callable[[Offer], Value]:
        return lambda offer: "" if offer.line is None else read(offer.line)

    def cell(name: str, heading: str, column: str, look: str, read: Callable[[Any], Value]) -> Column:
        return Column(name, heading, look, f'=IF({{line_at}}=0,"",INDEX({{line:{column}}},{{line_at}}))', value=of(read))

    def parts_of(name: str, heading: str, column: str) -> Column:
        sums = f"SUMIFS({{part:{column}}},{{part:line}},INDEX({{line:label}},{{line_at}}))"
        return Column(name, heading, "money", f'=IF({{line_at}}=0,"",{sums})')

    return block(
        "offer",
        "The work",
        [
            Column("label", "item", "label"),
            cell("title", "job", "title", "words", lambda line: line.line.job.title),
            cell("place", "at", "place", "words", lambda line: line.line.place.title),
            Column(
                "why",
                "why it is here",
                "words",
                '=IF({line_at}=0,"",IF(INDEX({line:asked},{line_at})="yes","asked for",INDEX({line:called_by},{line_at})))',
                value=of(lambda line: "asked for" if line.line.asked else line.decided.called_by),
            ),
            cell("safety", "safety", "safety", "words", lambda line: line.line.job.safety),
            Column(
                "decision",
                "decision",
                "words",
                '=IF({line_at}=0,"",IF(INDEX({line:agreed},{line_at})=1,"agreed","undecided"))',
                value=of(lambda line: "agreed" if line.agreed else "undecided"),
            ),
            Column(
                "condition",
                "parts are",
                "words",
                '=IF({line_at}=0,"",IF({rebuilt}>0,"some rebuilt",IF({parts}>0,"new","")))',
            ),
            cell("labor", "labor", "amount_proposed", "money", lambda line: line.amount_proposed),
            parts_of("parts", "parts", "amount_proposed"),
            parts_of("core", "core deposits", "core_proposed"),
            cell("saves", "labor saved by leaving it out", "saves_labor", "money", lambda line: line.saves_labor),
            Column("number", "number", "whole"),
            Column(
                "rebuilt",
                "rebuilt parts",
                "whole",
                '=IF({line_at}=0,0,COUNTIFS({part:line},INDEX({line:label},{line_at}),{part:condition},"rebuilt"))',
            ),
            Column(
                "line_at",
                "row",
                "whole",
                "=IFERROR(MATCH({number},{line:rank},0),0)",
                value=lambda offer: 0 if offer.line is None else line_at[offer.line.ref],
            ),
        ],
        appraisal.offers,
        note="Work marked safety that is declined leaves the fault in the car, and the car where it may not be driven; the "
        "refusal is written down below, with a name and a date.",
        faded_by="line_at",
    )


def sum_block(appraisal: Appraisal) -> Block:
    currency = appraisal.record.shop.shop.currency
    return block(
        "sum",
        f"What it costs, {currency}",
        [
            Column("label", "figure", "label"),
            Column("title", "what it is"),
            *(
                Column(
                    case,
                    "agreed work" if case == "agreed" else "all that is proposed",
                    lambda row: "total" if row.ref == "total" else "money",
                    "=" + lookup(f"total:{case}", "{label}", "total:label"),
                )
                for case in CASES
            ),
        ],
        appraisal.sums,
        note="A part's price never falls below that of a cheaper part. Core deposits are given back with the old parts.",
    )


def total_block(appraisal: Appraisal) -> Block:
    return block(
        "total",
        "How the totals are worked out",
        [
            Column("label", "figure", "label"),
            Column("title", "what it is"),
            *(
                Column(
                    case,
                    "agreed work" if case == "agreed" else "all that is proposed",
                    lambda row: "total" if row.ref == "total" else "money",
                    lambda row, case=case: "=" + _TOTALS[row.ref].replace("CASE", case),
                )
                for case in CASES
            ),
        ],
        appraisal.totals,
        kind="working",
    )


def tax_split_block(appraisal: Appraisal) -> Block:
    def columns(case: str) -> list[Column]:
        def of(name: str) -> Callable[[Any], Value]:
            return lambda row: getattr(getattr(row, case), name)

        tax, rests, rest = f"{{total.tax.{case}}}", f"{{tax_split:rest_{case}}}", f"{{rest_{case}}}"
        larger = f"SUMPRODUCT(1*({rests}>{rest}))"
        equal = f"SUMPRODUCT(({rests}={rest})*({{tax_split:order}}<={{order}}))"
        return [
            Column(
                f"exact_{case}",
                f"exact, {case}",
                "number-6",
                f"=IF({{setting.tax_rate.value}}=0,0,ROUND(ABS({tax})*{{percent}}/SUM({{tax_split:percent}}),6))",
                value=of("exact"),
            ),
            Column(f"down_{case}", f"whole cents, {case}", "money", f"=ROUNDDOWN({{exact_{case}}},2)", value=of("down")),
            Column(
                f"rest_{case}", f"rest, {case}", "number-6", f"=ROUND({{exact_{case}}}-{{down_{case}}},6)", value=of("rest")
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


def consent_block(appraisal: Appraisal) -> Block:
    return block(
        "consent",
        "Consent, stage by stage",
        [
            Column("label", "entry", "label"),
            Column("who", "given by", box=words_box("Given by", "The customer's name.")),
            Column("stage", "stage", box=list_box("Stage", STAGE_WORDS)),
            Column("way", "how", box=list_box("How it was given", WAY_WORDS)),
            Column("amount", "amount", "money", box=number_box("Amount", 0, 1000000)),
            Column("date", "date", "date", box=Box("date", title="Date")),
            Column("taken_by", "taken by", box=words_box("Taken by")),
            Column(
                "told",
                "complete (1)",
                "whole",
                '=IF(AND({who}<>"",ISNUMBER({date}),{stage}<>""),1,0)',
            ),
            Column(
                "counted",
                "counts",
                "money",
                '=IF(AND({told}=1,ISNUMBER({amount}),{stage}<>"safety work declined"),ROUND(MAX({amount},0),2),0)',
            ),
        ],
        appraisal.consents,
        note="An entry counts with its stage, amount, date and name. Stages add up. Safety work declined: no amount.",
    )


def consenting_block(appraisal: Appraisal) -> Block:
    return block(
        "consenting",
        "Agreed work against consent",
        [
            Column("label", "figure", "label", value=lambda row: row.ref),
            Column("title", "what it is", value=lambda row: row.label),
            Column("value", "amount", "money", lambda row: "=" + _CONSENTING[row.ref]),
        ],
        appraisal.consent_rows,
        kind="working",
    )
