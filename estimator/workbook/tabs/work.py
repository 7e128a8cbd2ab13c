"""`Work`: jobs with their parts, decisions and what is completed; lines filled in by hand; changed parts."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.pricing.decisions import DONE_WORDS, UNDECIDED
from estimator.pricing.job_lines import JobLine
from estimator.pricing.money_lines import CONDITIONS, FAMILIES
from estimator.pricing.part_lines import PartLine
from estimator.text_width import text_lines
from estimator.workbook.book import Box, Mark, Page, Tab
from estimator.workbook.forms import Form, Placed, live, typed, wide, words
from estimator.workbook.tabs.common import PAD, PAGE_CAUTIONS, list_box, lookup, number_box, page_head, words_box
from estimator.workbook.tabs.extra_lines import DECISION_BOX, touched_box

LAST = 9
WIDTHS = (44, 20, 230, 56, 46, 58, 58, 80, 76, 20, 190, 90, 90, 90)
DONE_PROMPT = (
    "Mark when the work is completed. Where readings after work were taken before it, choose the second: it voids them."
)
MARGIN = 11


def work(appraisal: Appraisal) -> Tab:
    form = Form("work", LAST)
    page_head(form, appraisal, "work", "Work", LAST)
    _counted(form, appraisal)
    heads = {1: "no.", 3: "Job, and its parts", 4: "hours, qty", 5: "price", 6: "labor", 7: "parts"}
    heads |= {8: "decision", 9: "completed"}
    cells = [words(at, text, "b9" if at < 4 else "b9-right" if at < 8 else "b9-in") for at, text in heads.items()]
    form.row("heads", [*cells, words(MARGIN, "recommended because of", "b9")], 14, "band")
    of_line: dict[str, list[PartLine]] = {}
    for part in appraisal.parts:
        of_line.setdefault(part.line, []).append(part)
    sums = {item.line.ref: item.parts * item.line.proposed for item in appraisal.job_sums}
    marks = []
    for line in appraisal.labor.lines:
        folded = not line.proposed
        title = line.line.short_title
        height = 3 + 12 * len(text_lines(title, WIDTHS[2] - PAD, 9.5, bold=True))
        mine = _job(line, title, sums[line.ref])
        form.row(line.label, mine, height, "hair-top", level=int(folded), folded=folded, folds=True)
        marks.append(Mark(keys.decision(line.ref), f'{{line.{line.ref}.decision}}="{UNDECIDED}"', "bold"))
        for part in of_line.get(line.label, ()):
            height = 12 * len(text_lines(part.listed.description, WIDTHS[2] - 2 * PAD, 9))
            form.row(part.label, _part(part), height, level=int(folded), folded=folded, folds=True)
    _extra(form, appraisal)
    _sums(form, appraisal)
    changes = Form("work_changes", LAST)
    _changes(changes, appraisal)
    head = Form("work_head", LAST)
    head.row("top", [], 1)
    return Tab(
        name="Work",
        title="",
        head=head.block(),
        cautions=(),
        blocks=(form.block(), changes.block()),
        widths=WIDTHS,
        page=Page(columns=LAST, until="work", frozen=7, repeat=(2, 7)),
        marks=tuple(marks),
    )


def _counted(form: Form, appraisal: Appraisal) -> None:
    lines = appraisal.labor.lines
    count = sum(line.proposed for line in lines)
    undecided = sum(1 for line in lines if line.proposed and not line.agreed)
    formula = (
        'SUM({line:proposed})&" of "&ROWS({line:label})&" jobs recommended · "&{state.undecided.value}&" undecided"'
    )
    value = f"{count} of {len(lines)} jobs recommended · {undecided} undecided"
    folded = live(LAST, 'COUNTIF({line:proposed},0)&" folded away"', f"{len(lines) - count} folded away", "b9-right")
    for number, line in enumerate(PAGE_CAUTIONS):
        form.row(f"caution-{number}", [words(1, line, "b9")], 11)
    hint = "Jobs that nobody recommended are folded away; the outline at the left opens them."
    form.row("counted", [live(1, formula, value, "b9"), folded, words(MARGIN, hint, "t9")], 12)


def _job(line: JobLine, title: str, parts: Decimal) -> Iterator[Placed]:
    at = keys.row("line", line.ref)
    yield words(1, line.label, "t9-soft")
    yield live(2, f'IF({{{at}.rank}}<1,"",{{{at}.rank}})', line.rank or "", "no-right")
    yield words(3, title, "b95-wrap")
    yield live(4, f"{{{at}.share_proposed}}", line.share_proposed, "hours-10")
    yield live(5, f"{{{at}.rate}}", line.rate, "money-9")
    yield live(6, f"{{{at}.amount_proposed}}", line.amount_proposed, "money-b10")
    yield live(7, f"IF({{{at}.proposed}}=1,SUM({{{at}.parts}}),0)", parts, "money-b10")
    yield typed(8, f"{at}.decision", line.decided.decision, DECISION_BOX, "entry-small")
    yield typed(9, f"{at}.done", line.decided.done_word, list_box("Completed", DONE_WORDS, DONE_PROMPT), "entry-small")
    called = f'IFERROR({lookup("call:check", f"{{{at}.label}}", "call:active_line")},"")'
    yield live(MARGIN, called, line.decided.called_by, "t9", key=f"{at}.called_by")


def _part(part: PartLine) -> Iterator[Placed]:
    at = f"part.{part.ref}"
    change = f"MATCH({{{at}.ref}},{{change:which}},0)"
    yield words(1, part.label, "t9-soft")
    yield words(3, part.listed.description, "t9-in")
    taken = f"IFERROR(INDEX({{change:takes}},{change}),{{{at}.listed}})"
    yield live(4, taken, part.quantity, "quantity", key=f"{at}.quantity")
    price = f"IFERROR(INDEX({{change:price}},{change}),{{price.{part.listed.part_id}.price}})"
    yield live(5, price, part.price, "money-9", key=f"{at}.price")
    yield words(6, _each(part), "t9")
    amount = f"IF(ISNUMBER({{{at}.quantity}}),ROUND({{{at}.quantity}}*{{{at}.price}},2),0)"
    yield live(7, amount, part.amount, "money-9", key=f"{at}.amount")


def _each(part: PartLine) -> str:
    """The unit of a part, or that it is rebuilt."""
    if part.listed.condition != "rebuilt":
        return part.unit
    return "rebuilt" if part.unit == "each" else f"{part.unit}, rebuilt"


def _extra(form: Form, appraisal: Appraisal) -> None:
    touched = touched_box(appraisal)
    rates = tuple(rate.id for rate in appraisal.record.shop.labor.rates)
    sections = {
        "extra_work": ("Added by hand: work", "hours", "kind", {MARGIN: "touched on the brakes"}),
        "extra_part": (
            "Added by hand: parts",
            "quantity",
            "cost",
            {MARGIN: "unit", 12: "condition", 13: "fluid family", 14: "core deposit"},
        ),
        "sublet": ("Sublet work, billed at cost", "", "charge", {MARGIN: "touched on the brakes", 12: "done by"}),
    }
    last = ""
    for item in appraisal.extras:
        kind, boxes, at = item.kind, item.line.boxes, item.ref
        if kind != last:
            title, quantity, price, margin = sections[kind]
            heads = [words(1, title, "b9"), words(4, quantity, "t9-right"), words(5, price, "t9-right")]
            form.row(f"{kind}-title", [*heads, *(words(c, t, "t9") for c, t in margin.items())], 15, "thin")
            last = kind
        labor = 6 if kind == "extra_work" else 7
        column = {"extra_work": "labor", "extra_part": "parts", "sublet": "sublet"}[kind]
        amount = getattr(item, column)
        cells: list[Placed] = [
            words(1, item.label.removeprefix("extra "), "t9-soft"),
            live(2, f'IF({{extra.{at}.rank}}=0,"",{{extra.{at}.rank}})', item.rank or "", "no-right"),
            typed(3, f"{at}.description", boxes.description, words_box("In words"), "entry-small"),
            live(labor, f"{{extra.{at}.{column}}}*{{extra.{at}.proposed}}", amount * item.proposed, "money-b10"),
            typed(8, f"{at}.decision", boxes.decision, DECISION_BOX, "entry-small"),
        ]
        fields = {
            "extra_work": (
                (4, "hours", number_box("Hours", 0, 200), "hours-box"),
                (5, "rate_id", list_box("Kind of work", rates), "entry-small"),
                (MARGIN, "touched", touched, "entry-small"),
            ),
            "extra_part": (
                (4, "quantity", number_box("Quantity", 0, 1000), "quantity-box"),
                (5, "cost", number_box("Cost of one", 0, 100000), "money-box"),
                (MARGIN, "unit", words_box("Unit", "each, L, m, set"), "entry-small"),
                (12, "condition", list_box("Condition", CONDITIONS), "entry-small"),
                (13, "family", list_box("Fluid family", FAMILIES), "entry-small"),
                (14, "deposit", number_box("Core deposit of one", 0, 100000), "money-box"),
            ),
            "sublet": (
                (5, "charge", number_box("Charge", 0, 100000), "money-box"),
                (MARGIN, "touched", touched, "entry-small"),
                (12, "supplier", words_box("Done by"), "entry-small"),
            ),
        }[kind]
        cells += [typed(c, f"{at}.{name}", getattr(boxes, name), box, look) for c, name, box, look in fields]
        form.row(f"{kind}-{item.line.number}", cells, 15.75)


def _sums(form: Form, appraisal: Appraisal) -> None:
    hours = next(row.proposed for row in appraisal.visit_hours if row.ref == "quoted")
    total = appraisal.proposed
    form.row(
        "sums",
        [
            words(1, "recommended, before fees and tax", "b105"),
            live(4, "{hour.quoted.proposed}", hours, "hours-b"),
            live(6, "{total.labor.proposed}", total["labor"], "money-b10"),
            live(7, "{total.parts.proposed}", total["parts"], "money-b10"),
            words(8, "sublet", "t9-right"),
            live(9, "{total.sublet.proposed}", total["sublet"], "money-b10"),
        ],
        18,
        "band",
    )
    entries = appraisal.entries
    percent = number_box("Discount, before tax", 0, 100)
    drained = number_box("Drained fluid", 0, 200)
    form.row(
        "fees",
        [
            words(3, "fluid drained, liters", "t9-right"),
            typed(4, "disposal.drained.liters", entries.disposal["drained"].liters, drained, "quantity-box"),
            words(6, "discount %: labor", "t9-right"),
            typed(7, "discount.labor.percent", entries.discounts["labor"].percent, percent, "quantity-box"),
            words(8, "parts", "t9-right"),
            typed(9, "discount.parts.percent", entries.discounts["parts"].percent, percent, "quantity-box"),
        ],
        20,
    )


def _changes(form: Form, appraisal: Appraisal) -> None:
    refs = tuple(part.ref for part in appraisal.plan.parts)
    heads = {3: "Changed parts: which", 4: "quantity", 5: "its cost", 6: "its family", 7: "substitute"}
    heads |= {MARGIN: "compared: bore, stroke, thread", 12: "approved by"}
    form.row("change-title", [words(at, text, "t9") for at, text in heads.items()], 16, "thin")
    for change in appraisal.changes:
        boxes, at = change.boxes, keys.row("change", change.ref)
        fields = (
            (
                3,
                "part",
                Box("list", refs, title="Part", prompt="The part, its job and place.", listed="part:ref"),
                "entry-small",
            ),
            (4, "quantity", number_box("Quantity", 0, 1000), "quantity-box"),
            (5, "substitute_cost", number_box("Cost of the substitute", 0, 100000), "money-box"),
            (6, "substitute_family", list_box("Fluid family", FAMILIES), "entry-small"),
            (MARGIN, "compared", words_box("Compared", "Bore, stroke, thread, family, pressure."), "entry-small"),
            (12, "approved_by", words_box("Approved by"), "entry-small"),
        )
        cells = [typed(c, f"{at}.{name}", getattr(boxes, name), box, look) for c, name, box, look in fields]
        other = words_box("Substitute", "What is taken in place of the listed part.")
        cells += wide(7, LAST, f"{at}.substitute", boxes.substitute, other, "small-wide")
        form.row(change.label, [words(1, change.label, "t9-soft"), *cells], 14)
