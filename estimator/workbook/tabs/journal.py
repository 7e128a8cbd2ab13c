"""`Journal`: the authorized document as balanced lines for the books."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.pricing.journal_rows import JournalRow
from estimator.workbook.book import Block, Column, Mark, Page, Tab, block
from estimator.workbook.forms import Form, live, typed, words
from estimator.workbook.tabs.common import (
    PAGE_CAUTIONS,
    car_words,
    date_box,
    date_look,
    letterhead,
    stacked,
    words_box,
    written,
)
from estimator.workbook.tabs.self_checks import self_checks

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
LAST = 5
_EVEN, _ODD = "Balanced", "OUT OF BALANCE"
_ONLY = "Authorized work only. Not posted: an estimate over its authorization, or a workbook that is not intact."
WIDTHS = (178, 190, 116, 92, 92)


def journal(appraisal: Appraisal) -> Tab:
    record = appraisal.record
    job, car, shop = record.job, record.car.car, record.shop.shop
    top, form = Form("journal_top", LAST), Form("journal", LAST)
    letterhead(top, appraisal, "Journal", written(appraisal, job.date), LAST)
    labels = {1: "Customer", 2: "Car", 3: "Currency", 4: "License plate"}
    form.row("labels", [words(at, text, "t9") for at, text in labels.items()], 14)
    said = {1: (job.customer.name, 1, "b105"), 2: (car_words(car), 2, "t105"), 3: (shop.currency, 3, "t105")}
    stacked(form, WIDTHS, "said", said | {4: (car.plate, LAST, "t105")}, 16, "thin")
    form.row("gap", [], 6)
    out = appraisal.balance.out
    form.row(
        "balance",
        [
            live(1, f'IF({{balance.all.out}}=0,"{_EVEN}","{_ODD}")', _EVEN if out == 0 else _ODD, "state-mid"),
            words(3, "authorizations", "t95-right"),
            live(4, "{consenting.consented.value}", appraisal.consented.consented, "money-105"),
            live(LAST, "{balance.all.debit}", appraisal.balance.debit, "total-framed"),
        ],
        28,
        "frame-only-thick",
    )
    form.row("gap-2", [], 7)
    heads = [words(1, "What", "b105"), words(2, "account", "b9"), words(3, "tax", "b9")]
    form.row("heads", [*heads, words(4, "debit", "b9-right"), words(5, "credit", "b9-right")], 18, "band")
    for row in appraisal.journal:
        at = f"entry.{row.ref}"
        form.row(
            row.ref.replace("_", "-"),
            [
                words(1, row.label, "b105"),
                words(2, row.account, "t95"),
                words(3, row.tax_code, "t95"),
                live(4, f"{{{at}.debit}}", row.debit, "money-105"),
                live(5, f"{{{at}.credit}}", row.credit, "money-105"),
            ],
            17,
            "hair",
        )
    form.row(
        "all",
        [
            words(1, "all lines", "b105"),
            live(4, "{balance.all.debit}", appraisal.balance.debit, "total-mid"),
            live(5, "{balance.all.credit}", appraisal.balance.credit, "total-mid"),
        ],
        22,
        "band",
    )
    form.row("out", [words(1, "out of balance", "t105"), live(5, "{balance.all.out}", out, "money-105")], 17, "hair")
    _checks(form, appraisal)
    boxes = appraisal.entries.posted["entry"]
    form.row("gap-3", [], 10)
    form.row(
        "posted",
        [
            words(1, "Posted: number, date, by", "b105"),
            typed(2, "posted.entry.number", boxes.number, words_box("Number of the entry"), "entry"),
            typed(3, "posted.entry.date", boxes.date, date_box("Date"), date_look(appraisal)),
            typed(4, "posted.entry.by", boxes.by, words_box("Posted by"), "entry"),
        ],
        28,
    )
    form.row("gap-4", [], 8)
    for number, text in enumerate((_ONLY, *PAGE_CAUTIONS)):
        form.row(f"note-{number}", [words(1, text, "b9" if number else "t9")], 12.5)
    marks = [
        Mark(f"journal.{row.ref.replace('_', '-')}.c1", f"{{entry.{row.ref}.amount}}=0", "soft")
        for row in appraisal.journal
    ]
    return Tab(
        name="Journal",
        title="",
        head=top.block(),
        cautions=(),
        blocks=(form.block(),),
        widths=WIDTHS,
        page=Page(columns=LAST, until="journal", frozen=3),
        marks=tuple(marks),
    )


def _checks(form: Form, appraisal: Appraisal) -> None:
    """What is looked at before posting."""
    form.row("check-title", [words(1, "Before posting", "b105")], 20, "band")
    undecided = sum(1 for line in appraisal.labor.lines if line.proposed and not line.agreed)
    self_check = self_checks(appraisal)[-1].value
    rows = (
        ("agrees", "self-check, differences", "{self.all.value}", self_check, "whole-105"),
        ("undecided", "recommended jobs awaiting a decision", "{state.undecided.value}", undecided, "whole-105"),
        (
            "over",
            "authorized work over its authorization",
            "{consenting.over.value}",
            appraisal.consented.over,
            "money-105",
        ),
        (
            "mixed",
            "authorized parts of the wrong fluid family",
            "{state.mixed.value}",
            appraisal.driving.mixed,
            "whole-105",
        ),
    )
    for ref, text, formula, figure, look in rows:
        form.row(f"check-{ref}", [words(1, text, "t105"), live(LAST, formula, figure, look)], 16, "hair")


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
            Column("debit", "debit", "money", "=MAX(0,-{amount})"),
            Column("credit", "credit", "money", "=MAX(0,{amount})"),
            Column("amount", "credit less debit", "money", amount),
        ],
        appraisal.journal,
        kind="working",
    )


def balance_block(appraisal: Appraisal) -> Block:
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
