"""`Summary`: may the car be driven, what grounds it, the pressures, the money."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.limits.judging.driving import NO_FINDING
from estimator.text_width import text_lines
from estimator.workbook.book import Page, Tab
from estimator.workbook.forms import Form, Placed, live, words
from estimator.workbook.tabs.common import CAUTIONS, PAD, PRINTED, car_words, grounded, letterhead, stacked, written
from estimator.workbook.tabs.concerns import CONCERNS, STATE, Concern, concerns
from estimator.workbook.tabs.explained import explained
from estimator.workbook.tabs.form_rows import TABS, form_pages, numbers_of
from estimator.workbook.tabs.pressures import TITLE, drawing

LAST = 6
_NOT_SAFE = "This does not mean the car is safe.\u00a0"
_NONE = "none in the checks made"
WIDTHS = (22, 230, 146, 130, 104, 36, 20, 110, 300)
_ROWS_A_SYSTEM = 3
TAB_WORDS = (
    ("Inspection", "what is measured and seen before work, a stage a page"),
    ("After work", "the same form again; wheel bolts, bench, road"),
    ("Estimate", "what the customer signs"),
    ("Work", "jobs, parts, decisions, what is completed"),
    ("Journal", "the authorized document for the books"),
    ("Limits", "each limit as lines to redo by hand"),
    ("Basis", "every rate, rule, gauge and datum, with its source"),
)


def summary(appraisal: Appraisal) -> Tab:
    record = appraisal.record
    job, car, systems = record.job, record.car.car, len(record.car.systems)
    top, form = Form("summary_top", LAST), Form("summary", LAST)
    letterhead(top, appraisal, "Summary", written(appraisal, job.date), LAST)
    labels = {1: "Car", 3: "Customer", 4: "License plate, chassis", 5: "Odometer"}
    form.row("labels", [words(at, text, "t9") for at, text in labels.items()], 14)
    said = {
        1: (car_words(car), 2, "b105"),
        3: (job.customer.name, 3, "t105"),
        4: (" · ".join(text for text in (car.plate, car.chassis_number) if text), 4, "t105"),
        5: (job.odometer, LAST, "t105"),
    }
    stacked(form, WIDTHS, "said", said, 16)
    stacked(form, WIDTHS, "concern", {1: (f"“{job.complaint}”", LAST, "i105")}, 16, "thin")
    form.row("gap", [], 4)
    said_beside = _NOT_SAFE if appraisal.driving.state == NO_FINDING else ""
    form.row(
        "state",
        [
            live(1, STATE["driving"], appraisal.driving.state, "state-big", key="state.driving.value"),
            live(LAST, f'IF({{state.driving.value}}="{NO_FINDING}","{_NOT_SAFE}","")', said_beside, "b105-right"),
        ],
        37,
        "frame-only-thick",
    )
    _counts(form, appraisal)
    _findings(form, appraisal)
    explained(form, appraisal)
    _pressures(form, appraisal)
    _money(form, appraisal)
    form.row("gap-caution", [], 4)
    for number, line in enumerate(text_lines(" ".join(CAUTIONS), PRINTED - PAD, 9, bold=True)):
        form.row(f"caution-{number}", [words(1, line, "b9")], 11.5)
    return Tab(
        name="Summary",
        title="",
        head=top.block(),
        cautions=(),
        blocks=(form.block(),),
        widths=WIDTHS,
        page=Page(columns=LAST, until="summary", frozen=3),
        marks=(grounded("state.driving.value", LAST),),
        drawing=drawing(appraisal, "summary.drawn-1.c7", f"summary.drawn-{_ROWS_A_SYSTEM * systems + 1}.c7"),
        links=tuple((f"summary.finding-{number}.c8", name) for number, (name, _) in enumerate(TAB_WORDS, 1)),
    )


def _named(row: Concern) -> tuple[str, str]:
    """The check of a row; in the first one, that there is none."""
    cell, said = f"{{concern.{row.ref}.check}}", row.standing.label if row.standing else ""
    return (f'IF({cell}="","{_NONE}",{cell})', said or _NONE) if row.number == 1 else (cell, said)


def _counts(form: Form, appraisal: Appraisal) -> None:
    state = appraisal.driving
    made = f"{state.made} of {state.asked} required checks made"
    left = f"grounding the car: {state.behind} · road checks open: {state.road_open}"
    form.row(
        "counts",
        [
            live(1, '{state.made.value}&" of "&{state.asked.value}&" required checks made"', made, "t105"),
            live(
                3, '"grounding the car: "&{state.behind.value}&" · road checks open: "&{state.open.value}', left, "t105"
            ),
        ],
        19,
    )
    rows = [item for item in appraisal.standings if item.safety == "yes" and item.asked_when == "on demand"]
    named = list(dict.fromkeys(item.row.check.title for item in rows))
    flags = {title: [item for item in rows if item.row.check.title == title] for title in named}
    cells = [words(1, "Not examined by any check so far:", "t95")]
    for column, (title, items) in enumerate(flags.items(), 3):
        flagged = "+".join(f"{{standing.{item.ref}.unexamined}}" for item in items)
        said = title if any(item.unexamined for item in items) else ""
        cells.append(live(column, f'IF({flagged}>0,"{title}","")', said, "t95"))
    if flags:
        form.row("unexamined", cells, 15)


def _findings(form: Form, appraisal: Appraisal) -> None:
    form.row("gap-findings", [], 2)
    heads = {1: "Do-not-drive findings", 3: "read", 4: "do-not-drive limit", 5: "where"}
    cells = [words(at, text, "b105" if at == 1 else "b9") for at, text in heads.items()]
    form.row("findings", [*cells, words(8, "Go to", "b9")], 16, "band")
    numbers = numbers_of(form_pages(appraisal))
    for row in concerns(appraisal):
        at = f"concern.{row.ref}"
        where = "" if row.standing is None else f"{TABS[row.standing.decides]} {numbers[row.standing.ref]}"
        form.row(
            f"finding-{row.ref}",
            [
                live(1, f'IF({{{at}.at}}="","",{{{at}.number}})', row.number if row.standing else "", "no"),
                live(2, *_named(row), "b95"),
                live(3, f"{{{at}.read}}", row.read, "t95"),
                live(4, f"{{{at}.limit}}", row.limit, "t95"),
                live(5, _link(at), where, "link"),
                *_tab_row(row.number),
            ],
            15,
        )
    more = max(0, len(appraisal.concerns) - CONCERNS)
    counted, where = "{state.unnamed.value}", " more: white on black on Inspection and After work"
    form.row(
        "more",
        [live(1, f'IF({counted}>0,{counted}&"{where}","")', f"{more}{where}" if more else "", "t95")],
        14,
    )


def _link(at: str) -> str:
    """Where a finding is to be seen: a link to the row of its check."""
    to = f'"#\'"&{{{at}.tab}}&"\'!A"&{{{at}.row}}'
    return f'IF({{{at}.row}}="","",HYPERLINK({to},{{{at}.tab}}&" "&{{{at}.no}}))'


def _tab_row(number: int) -> tuple[Placed, ...]:
    if number > len(TAB_WORDS):
        return ()
    name, what = TAB_WORDS[number - 1]
    return words(8, name, "link"), words(9, what, "t9")


def _pressures(form: Form, appraisal: Appraisal) -> None:
    unit = appraisal.record.shop.show.pressure
    form.row("gap-pressures", [], 4)
    legend = "frame: service limit · black mark: latest reading · bar below: lost in 30 min"
    form.row("pressures", [words(1, f"{TITLE}, {unit}", "b105"), words(LAST, legend, "t9-right")], 16, "band")
    for number in range(1, _ROWS_A_SYSTEM * len(appraisal.record.car.systems) + 2):
        form.row(f"drawn-{number}", [words(LAST + 1, "")], 18)  # cells lie beside the drawing, not under it


def _money(form: Form, appraisal: Appraisal) -> None:
    currency = appraisal.record.shop.shop.currency
    form.row("gap-money", [], 3)
    form.row("money", [words(1, f"Money, {currency}", "b105"), words(3, "with tax", "b9-right")], 16, "band")
    rows = (
        ("proposed", "recommended", "{total.total.proposed}", appraisal.proposed["total"]),
        ("agreed", "authorized work", "{total.total.agreed}", appraisal.agreed["total"]),
        ("consented", "authorized amount", "{consenting.consented.value}", appraisal.consented.consented),
        ("over", "over the authorized amount", "{consenting.over.value}", appraisal.consented.over),
    )
    for ref, text, formula, value in rows:
        look = "money-b105" if ref in ("proposed", "agreed") else "money-105"
        form.row(f"money-{ref}", [words(2, text, "t105"), live(3, formula, value, look)], 15, "hair")
