"""`Estimate`: what is signed: the work with its reasons, what it costs, authorization stage by stage, declined work."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.pricing.consents import STAGE_WORDS, WAY_WORDS
from estimator.pricing.decisions import AGREED
from estimator.pricing.offers import CHOOSE, Item
from estimator.pricing.room import FREE_OFFERS
from estimator.text_width import text_lines
from estimator.workbook.book import Mark, Page, Tab
from estimator.workbook.forms import Form, Placed, count, live, typed, words
from estimator.workbook.tabs.common import (
    PAD,
    PAGE_CAUTIONS,
    PRINTED,
    car_words,
    date_box,
    date_look,
    grounded,
    letterhead,
    list_box,
    number_box,
    page_head,
    stacked,
    wide,
    words_box,
    written,
)
from estimator.workbook.tabs.declined import declined_rows
from estimator.workbook.tabs.offers import said_of
from estimator.workbook.tabs.said_limits import number_said, said_formula

LAST = 7
WIDTHS = (22, 170, 148, 78, 66, 86, 98, 20, 80, 80, 90)
DECLINED = (
    "If you decline safety work, the fault remains and the car must not be driven: not to the next town, not slowly. Move it on "
    "a trailer, its systems depressurized. The refusal is recorded below with name and date; it changes nothing that was measured."
)
SHARED = "Labor that several items share is charged once: an item's price changes when another is declined."
TITLES = {
    "labor": "labor",
    "parts": "parts",
    "sublet": "sublet work",
    "core": "core deposits, refundable with the old parts",
    "discount_labor": "discount on labor",
    "discount_parts": "discount on parts",
    "net": "before tax",
    "total": "total",
}
_CHOICE = "□ yes     □ no"


def estimate(appraisal: Appraisal) -> Tab:
    top, items = _top(appraisal)
    said = said_of(appraisal)
    slots = appraisal.record.room.offers - FREE_OFFERS
    for item in appraisal.offers[:slots]:
        _item(items, item, said[item.ref])
    _short(items, appraisal, slots)
    sums = Form("estimate_sums", LAST)
    _sums(sums, appraisal)
    _consents(sums, appraisal)
    _declined(sums, appraisal)
    spare = Form("estimate_spare", LAST)
    spare.row(
        "spare-title",
        [words(1, "Further items: redraft before printing, they stand beyond the printed pages", "t9")],
        24,
    )
    for item in appraisal.offers[slots:]:
        _item(spare, item, said[item.ref])
    marks = [grounded("estimate_items.state.c1", LAST)]
    marks += [Mark(f"item.{item.ref}.state", f"{{offer.{item.ref}.agreed}}=1", "bold") for item in appraisal.offers]
    return Tab(
        name="Estimate",
        title="",
        head=top.block(),
        cautions=(),
        blocks=(items.block(), sums.block(), spare.block()),
        widths=WIDTHS,
        page=Page(columns=LAST, until="estimate_sums", frozen=3),
        marks=tuple(marks),
    )


def _top(appraisal: Appraisal) -> tuple[Form, Form]:
    record = appraisal.record
    job, car, shop = record.job, record.car.car, record.shop.shop
    until = job.date + timedelta(days=record.shop.estimate.valid_days)
    top = Form("estimate_top", LAST)
    letterhead(
        top, appraisal, "Estimate", f"{written(appraisal, job.date)} · valid until {written(appraisal, until)}", LAST
    )
    items = Form("estimate_items", LAST)
    items.row("who-labels", [words(1, "For", "t9"), words(4, "Car", "t9")], 14)
    who = {1: (job.customer.name, 3, "b105"), 4: (car_words(car), LAST, "b105")}
    stacked(items, WIDTHS, "who", who, 15)
    reach = " · ".join(text for text in (", ".join(job.customer.address), job.customer.phone) if text)
    plate = " · ".join(
        text
        for text in (
            car.plate and f"license plate {car.plate}",
            car.chassis_number and f"chassis {car.chassis_number}",
            job.odometer,
        )
        if text
    )
    stacked(items, WIDTHS, "where", {1: (reach, 3, "t95"), 4: (plate, LAST, "t95")}, 15, "top-none")
    items.row("gap", [], 4)
    items.row(
        "state",
        [
            live(1, "{state.driving.value}", appraisal.driving.state, "state-mid"),
            words(6, f"all items, with tax, {shop.currency}", "b105-right"),
            live(LAST, "{total.total.proposed}", appraisal.proposed["total"], "total-framed"),
        ],
        27,
        "frame-only-thick",
    )
    items.row("gap-2", [], 5)
    heads = {4: "labor", 5: "parts", 6: "item, before tax", 9: "hours", 10: "if done alone", 11: "saved if declined"}
    cells = [words(1, "The work, and why", "b105"), words(LAST, "you decide", "b9-center")]
    items.row("heads", [*cells, *(words(at, text, "b9-right") for at, text in heads.items())], 17, "band")
    return top, items


def _item(form: Form, item: Item, said: str) -> None:
    at = f"offer.{item.ref}"
    used = f'{{{at}.title}}=""'

    def money(column: int, name: str, look: str) -> Placed:
        value = getattr(item, name) if item.title else ""
        return live(column, f'IF({used},"",{{{at}.{name}}})', value, look)

    job = item.job.line if item.job else None
    choice = f'IF({{{at}.agreed}}=1,"{AGREED}","{_CHOICE}")'
    form.row(
        f"item-{item.ref}",
        [
            live(1, f'IF({used},"",{{{at}.number}})', item.number if item.title else "", "no"),
            live(2, f"{{{at}.title}}", item.title, "b10"),
            money(4, "labor", "money-105"),
            money(5, "parts", "money-105"),
            money(6, "amount", "money-b105"),
            live(
                LAST,
                f'IF({used},"",{choice})',
                ("" if not item.title else AGREED if item.agreed else _CHOICE),
                "t105-center",
                key=f"item.{item.ref}.state",
            ),
            live(9, _hours(at), job.share_proposed if job else "", "hours-10"),
            live(10, f"{{{at}.alone}}", job.alone if job else "", "hours-10"),
            live(11, f"{{{at}.saves_labor}}", job.saves_labor if job else "", "money-9"),
        ],
        16,
    )
    form.row(f"why-{item.ref}", list(_why(at, said)), 14, "hair")


def _hours(at: str) -> str:
    return f'IFERROR(INDEX({{line:share_proposed}},{{{at}.line_at}}),"")'


def _why(at: str, said: str) -> Iterator[Placed]:
    yield live(2, f'{{{at}.why}}&{{{at}.more}}&{{{at}.instead}}&IF({{{at}.instead}}="","","{CHOOSE}")', said, "t95")


def _short(form: Form, appraisal: Appraisal, slots: int) -> None:
    """What the printed slots have no room for."""
    count = "{state.short.value}"
    form.row(
        "short",
        [
            live(
                1, f'IF({count}>0,{count}&" more items: redraft before printing","")', _more(appraisal, slots), "b105"
            ),
            words(LAST, SHARED, "t9-right"),
        ],
        15,
    )


def _more(appraisal: Appraisal, slots: int) -> str:
    more = len(appraisal.items) - slots
    return f"{more} more items: redraft before printing" if more > 0 else ""


def _sums(form: Form, appraisal: Appraisal) -> None:
    currency = appraisal.record.shop.shop.currency
    page_head(form, appraisal, "sums", f"What it costs, {currency}", LAST, page=True)
    form.row(
        "sum-heads",
        [words(2, "", "t9"), words(6, "all items", "b9-right"), words(LAST, "authorized", "b9-right")],
        15,
        "thin",
    )
    for row in appraisal.sums:
        big = row.ref == "total"
        amount = "total-mid" if big else "money-b105" if row.ref == "net" else "money-105"
        values = [
            live(6, f"{{total.{row.ref}.proposed}}", row.proposed, amount),
            live(LAST, f"{{total.{row.ref}.agreed}}", row.agreed, amount),
        ]
        look = "b105" if big or row.ref == "net" else "t105"
        label = _disposal(appraisal) if row.ref == "disposal" else words(2, _sum_title(row.ref, appraisal), look)
        form.row(f"sum-{row.ref}", [label, *values], 23 if big else 15.5, "band" if big else "hair")
    valid = appraisal.record.shop.estimate.valid_days
    said = f"Valid for {valid} days. Declined items lower the total; we tell you the new total before you sign."
    form.row("valid", [words(2, said, "t95")], 17)


def _disposal(appraisal: Appraisal) -> Placed:
    """The liters that are billed, and that they are those drained."""
    liters, box = appraisal.entries.disposal["drained"].liters, "{disposal.drained.liters}"
    rate = f"at {appraisal.record.shop.fees.disposal_per_liter:.2f} a liter, billed as drained"
    said = f"{number_said(liters, 1)} L " if isinstance(liters, float) else ""
    formula = f'"fluid disposal, "&IF(ISNUMBER({box}),{said_formula(box, 1)}&" L ","")&"{rate}"'
    return live(2, formula, f"fluid disposal, {said}{rate}", "t105")


def _sum_title(name: str, appraisal: Appraisal) -> str:
    shop = appraisal.record.shop
    if name == "supplies":
        cap = f", at most {shop.fees.supplies_cap:.2f}" if shop.fees.supplies_cap else ""
        return f"shop supplies, {shop.fees.supplies_percent_of_labor:g}% of labor{cap}"
    if name == "tax":
        parts = ", ".join(f"{part.name} {part.percent:g}%" for part in shop.tax.parts)
        named = f"tax: {parts}"
        return named if parts and wide(named, "t105") <= sum(WIDTHS[1:5]) else "tax"
    return TITLES[name]


def _consents(form: Form, appraisal: Appraisal) -> None:
    heads = {1: "Authorization: name", 3: "stage", 4: "how given", 5: "up to", 6: "date", 7: "taken by, signed"}
    form.row("consent-heads", [words(at, text, "b105" if at == 1 else "b9") for at, text in heads.items()], 18, "band")
    for item in appraisal.consents:
        boxes, at = appraisal.entries.consents[item.ref], keys.row("consent", item.ref)
        form.row(
            f"consent-{item.ref}",
            [
                count(1, int(item.ref)),
                typed(2, f"{at}.who", boxes.who, words_box("Given by", "The customer's name."), "entry-small"),
                typed(3, f"{at}.stage", boxes.stage, list_box("Stage", STAGE_WORDS), "entry-small"),
                typed(4, f"{at}.way", boxes.way, list_box("How it was given", WAY_WORDS), "entry-small"),
                typed(5, f"{at}.amount", boxes.amount, number_box("Amount", 0, 1000000), "money-box"),
                typed(6, f"{at}.date", boxes.date, date_box("Date"), date_look(appraisal)),
                typed(7, f"{at}.taken_by", boxes.taken_by, words_box("Taken by"), "entry-small"),
            ],
            26,
        )
    form.row(
        "consented",
        [
            words(2, "Amounts add up. Safety work declined: leave the amount empty.", "t9"),
            words(6, "authorized so far", "t9-right"),
            live(LAST, "{consenting.consented.value}", appraisal.consented.consented, "money-b105"),
        ],
        15,
    )


def _declined(form: Form, appraisal: Appraisal) -> None:
    count, room = "{state.declined.value}", appraisal.record.room.declined
    first = len(appraisal.declined) - room
    short = f"{first} more declined: redraft before printing" if first > 0 else ""
    over = f'IF({count}>{{declined.{room}.number}},{count}-{{declined.{room}.number}}&" more declined: redraft before printing","")'
    form.row("declined", [words(1, "Declined work", "b105"), live(LAST, over, short, "b9-right")], 18, "band")
    for at, line in enumerate(text_lines(DECLINED, PRINTED - PAD, 9.5)):
        form.row(f"declined-{at}", [words(1, line, "t95")], 13)
    form.row("gap-declined", [], 4)
    declined_rows(form, appraisal, LAST)
    form.row("gap-terms", [], 5)
    lines = [line for term in appraisal.record.shop.estimate.terms for line in text_lines(term, PRINTED - PAD, 9)]
    for at, line in enumerate(lines):
        form.row(f"term-{at}", [words(1, line, "t9")], 12)
    for number, line in enumerate(PAGE_CAUTIONS):
        form.row(f"caution-{number}", [words(1, line, "b9")], 12)
