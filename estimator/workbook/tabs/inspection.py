"""`Inspection`: what the mechanic measures and sees, before and after work, with the verdict beside each box."""

from __future__ import annotations

from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.limits.judging import FAMILY_WORDS, LOOK_WORDS, WHY_WORDS, Judged
from estimator.limits.rows import CheckRow
from estimator.workbook.book import Block, Box, Column, Emphasis, Page, Tab, Value, block
from estimator.workbook.tabs.common import WORKSHOP_CAUTIONS, decimals, head, list_box, lookup, number_box, words_box

NEEDS_ACTION = ("outside limit", "fault seen", "too close to call", "could not be measured", "could not be checked")


def inspection(appraisal: Appraisal) -> Tab:
    return Tab(
        name="Inspection",
        title="Inspection: measured before and after work",
        head=head(appraisal, "Inspection"),
        cautions=WORKSHOP_CAUTIONS,
        blocks=(visit_block(appraisal), reading_block(appraisal)),
        widths=(26, 52, 9, 9, 7, 15, 9, 19, 15, 9, 19, 16, 20, 10, 9),
        page=Page(landscape=True),
        emphases=(
            Emphasis("reading", "verdict_before", NEEDS_ACTION),
            Emphasis("reading", "verdict_after", NEEDS_ACTION),
        ),
    )


def visit_block(appraisal: Appraisal) -> Block:
    return block(
        "visit",
        "When, and by whom",
        [
            Column("label", "phase", "label"),
            Column("by", "measured by", "text", box=words_box("Measured by", "Name of the mechanic.")),
            Column("date", "date", "date", box=Box("date", title="Date", prompt="The day of the readings.")),
            Column("day", "taken as", "date", "=IF(ISNUMBER({date}),{date},{setting.date.value})"),
        ],
        appraisal.visits,
    )


def reading_block(appraisal: Appraisal) -> Block:
    entries = appraisal.entries
    judged = {item.ref: item for item in appraisal.judged}
    gauges = appraisal.record.shop.gauges

    def typed(column: str) -> Callable[[CheckRow], Value]:
        return lambda row: entries.get(f"reading.{row.ref}.{column}")

    def unit(row: CheckRow) -> str:
        return judged[row.ref].unit if row.ref in judged else ""

    def look(row: CheckRow) -> str:
        return f"number-{decimals(unit(row))}" if row.ref in judged else "text"

    def gauge_box(row: CheckRow) -> Box | None:
        if not row.check.measured:
            return None
        fitting = tuple(gauge.id for gauge in gauges if gauge.measures == row.check.quantity)
        return list_box("Gauge", fitting, "The gauge that gave this reading.")

    def limit(side: str) -> Callable[[CheckRow], Value]:
        def value(row: CheckRow) -> Value:
            item: Judged | None = judged.get(row.ref)
            return "" if item is None else shown(item, side)

        return value

    def verdict(phase: str) -> Column:
        return Column(
            f"verdict_{phase}",
            f"{phase} work: verdict",
            "words",
            "=" + lookup(f"standing:verdict_{phase}", "{label}", "standing:label"),
            value=lambda row: getattr(appraisal.standing_of[row.ref], f"verdict_{phase}"),
        )

    def reading(phase: str) -> list[Column]:
        return [
            Column(phase, f"{phase} work", look, box=reading_box, unit=unit, value=typed(phase)),
            Column(f"gauge_{phase}", "gauge", "text", box=gauge_box, value=typed(f"gauge_{phase}")),
            verdict(phase),
        ]

    def limit_column(side: str, heading: str) -> Column:
        formula = f'=IFERROR({lookup(f"judging:{side}_shown", "{label}", "judging:label")},"")'
        return Column(side, heading, look, formula, unit=unit, value=limit(side))

    return block(
        "reading",
        "Checks",
        [
            Column("label", "check", "label"),
            Column("how", "how, in one line", "small", value=lambda row: row.check.how),
            limit_column("low", "at least"),
            limit_column("high", "at most"),
            Column("unit", "unit", "text", value=unit),
            *reading("before"),
            *reading("after"),
            Column("why", "not measured, because", box=list_box("Why not measured", WHY_WORDS), value=typed("why")),
            Column("note", "note", "wrap", box=words_box("Note"), value=typed("note")),
            Column("photo", "photo", box=words_box("Photo", "The number of the picture."), value=typed("photo")),
            Column("initials", "initials", box=words_box("Initials"), value=typed("initials")),
        ],
        appraisal.plan.checks,
        section=lambda row: row.check.group,
    )


def shown(item: Judged, side: str) -> Value:
    """A service limit in the shown unit, as the judging block works it out."""
    si = item.values[f"service_{side}"]
    return "" if isinstance(si, str) else (si - item.offset) / item.factor


def reading_box(row: CheckRow) -> Box:
    check = row.check
    if check.kind == "look":
        return list_box("What was seen", LOOK_WORDS, check.how)
    if check.kind == "family":
        return list_box("Fluid family", FAMILY_WORDS, check.how)
    if check.kind == "text":
        return words_box(check.title, check.how)
    low = -60.0 if check.quantity == "temperature" else 0.0
    return number_box(check.title, low, _most(check.quantity), check.how)


def _most(quantity: str) -> float:
    """The largest number that a box takes: what no gauge of this trade shows, in any of the units."""
    return {"pressure": 100000.0, "count": 200.0, "age": 100.0, "ratio": 100.0, "angle": 90.0}.get(quantity, 10000.0)


