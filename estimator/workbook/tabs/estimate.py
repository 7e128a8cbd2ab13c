"""`Estimate`: what the customer reads and consents to: the work, why, what it costs together, consent by stage."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from estimator.appraisal import Appraisal
from estimator.pricing.job_lines import JobLine
from estimator.pricing.money_lines import CASES
from estimator.workbook.book import Block, Column, Page, Tab, Value, block, positions
from estimator.workbook.tabs.common import (
    DESK_CAUTIONS,
    PAGE_CAUTION,
    head,
    lookup,
    titled,
)
from estimator.workbook.tabs.consent import consent_block, consenting_block
from estimator.workbook.tabs.offers import of_line, offers
from estimator.workbook.tabs.totals import tax_split_block, total_block


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
        widths=(14, 51, 16, 32, 12, 13, 12, 11, 11, 11, 14),
        page=Page(landscape=True, columns=11, until="consent", breaks_before=("sum",), header=PAGE_CAUTION),
    )


def _why(line: JobLine) -> str:
    """What was found, and whether the customer asked."""
    return "; ".join(why for why in (line.decided.called_by, "asked for" if line.line.asked else "") if why)


def offer_block(appraisal: Appraisal) -> Block:
    line_at = positions(appraisal.labor.lines)

    def cell(name: str, heading: str, column: str, look: str, read: Callable[[Any], Value]) -> Column:
        return Column(
            name, heading, look, f'=IF({{line_at}}=0,"",INDEX({{line:{column}}},{{line_at}}))', value=of_line(read)
        )

    def parts_of(name: str, heading: str, column: str) -> Column:
        sums = f"SUMIFS({{part:{column}}},{{part:line}},INDEX({{line:label}},{{line_at}}))"
        return Column(name, heading, "money", f'=IF({{line_at}}=0,"",{sums})')

    return block(
        "offer",
        "The work",
        [
            Column("label", "item", "label"),
            cell("title", "job", "title", "job", lambda line: line.line.job.title),
            cell("place", "at", "place", "job", lambda line: line.line.place.title),
            Column(
                "why",
                "why it is here",
                "job",
                '=IF({called_by}="",IF({asked}="yes","asked for",""),{called_by}&IF({asked}="yes","; asked for",""))',
                value=of_line(_why),
            ),
            cell("safety", "safety", "safety", "words", lambda line: line.line.job.safety),
            Column(
                "decision",
                "decision",
                "words",
                '=IF({line_at}=0,"",IF(INDEX({line:agreed},{line_at})=1,"authorized","undecided"))',
                value=of_line(lambda line: "authorized" if line.agreed else "undecided"),
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
            cell("alone", "labor by itself", "amount_alone", "money", lambda line: line.amount_alone),
            cell("called_by", "called for by", "called_by", "words", lambda line: line.decided.called_by),
            Column(
                "asked",
                "asked for",
                "words",
                '=IF({line_at}=0,"",IF(INDEX({line:asked},{line_at})="yes","yes",""))',
                value=of_line(lambda line: "yes" if line.line.asked else ""),
            ),
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
                value=of_line(lambda line: line_at[line.ref], 0),
            ),
        ],
        offers(appraisal),
        note="Work marked safety that is declined leaves the fault in the car, and the car where it may not be driven; the "
        "refusal is written down below, with a name and a date.",
        faded_by="line_at",
        blanked=True,
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
