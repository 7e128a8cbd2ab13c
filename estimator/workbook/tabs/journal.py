"""`Journal`: the agreed document as balanced lines for the books."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.pricing.journal_rows import JournalRow
from estimator.workbook.book import Block, Column, Tab, block
from estimator.workbook.tabs.common import DESK_CAUTIONS, head, titled

_AMOUNTS = {
    "receivable": "-{total.total.agreed}",
    "labor": "{total.labor.agreed}",
    "parts_taxed": "{total.parts_taxed.agreed}",
    "parts_untaxed": "ROUND({total.parts.agreed}-{total.parts_taxed.agreed},2)",
    "supplies": "{total.supplies.agreed}",
    "disposal": "{total.disposal.agreed}",
    "sublet": "{total.sublet.agreed}",
    "core": "{total.core.agreed}",
    "discount_taxed": "ROUND({total.discount_taxed.agreed}+{taxclass.labor.taxed}*{total.discount_labor.agreed},2)",
    "discount_untaxed": "ROUND({total.discount_parts.agreed}+{total.discount_labor.agreed}"
    "-{entry.discount_taxed.amount},2)",
}


def journal(appraisal: Appraisal) -> Tab:
    return Tab(
        name="Journal",
        title=titled("Journal: for the books", appraisal),
        head=head(appraisal, "Journal"),
        cautions=(
            *DESK_CAUTIONS,
            "Only agreed work. A document over its consent, or an unsound workbook, isn't posted.",
        ),
        blocks=(entry_block(appraisal), _balance_block(appraisal)),
        widths=(30, 34, 16, 16, 16, 16),
    )


def entry_block(appraisal: Appraisal) -> Block:
    def amount(row: JournalRow) -> str:
        ref = row.ref
        if ref in _AMOUNTS:
            return "=" + _AMOUNTS[ref]
        return f"={{tax_split.t{ref.removeprefix('tax')}.share_agreed}}"

    return block(
        "entry",
        "Entry",
        [
            Column("label", "what", "label"),
            Column("account", "account"),
            Column("tax_code", "tax"),
            Column("debit", "debit", "money", "=MAX(0,-{amount})"),
            Column("credit", "credit", "money", "=MAX(0,{amount})"),
            Column("amount", "credit less debit", "money", amount),
        ],
        appraisal.journal,
        kind="working",
    )


def _balance_block(appraisal: Appraisal) -> Block:
    return block(
        "balance",
        "Balance",
        [
            Column("label", "what", "label"),
            Column("debit", "debit", "money", "=SUM({entry:debit})"),
            Column("credit", "credit", "money", "=SUM({entry:credit})"),
            Column("out", "out of balance", "money", "=ROUND({debit}-{credit},2)"),
        ],
        (appraisal.balance,),
    )
