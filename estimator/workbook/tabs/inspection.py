"""`Inspection`: what the mechanic measures and sees, before and after work, with the verdict beside each box."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace

from estimator.appraisal import Appraisal
from estimator.boxes.keys import CheckRef
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.verdict_words import (
    CONTRADICTS,
    FAMILY_WORDS,
    LOOK_WORDS,
    NOT_BELIEVABLE,
    WHY_WORDS,
)
from estimator.workbook.book import Block, Box, Column, Emphasis, Line, Lines, Page, Tab, Value, block
from estimator.workbook.tabs.common import (
    PAGE_CAUTION,
    WORKSHOP_CAUTIONS,
    decimals,
    head,
    list_box,
    lookup,
    number_box,
    titled,
    words_box,
)
from estimator.workbook.tabs.how_read import stated_block
from estimator.workbook.tabs.measured_again import again_block

WARNINGS = {
    "depressurized and cold": "Both gauges at zero before anything is opened. Chock the wheels; the car has no powered brakes now.",
    "accumulators, depressurized and cold": "Fluid side at zero and open. The gas side is charged: the right kit, eye protection, "
    "dry nitrogen only.",
    "engine running": "Full pressure: no hand near a pipe or hose. Exhaust out of the room, wheels chocked.",
    "charging, engine running": "Full pressure. Move the pedal slowly; nobody works at the car meanwhile.",
    "engine stopped": "The systems are still charged with the engine off: nothing is opened.",
    "engine stopped, pedal": "The systems are still charged until both gauges read zero.",
    "wheels, wear": "On stands. Pressure released again: an engine run has charged the systems.",
    "wheels, runout": "On stands. Fingers away from calipers while anybody may touch the pedal.",
    "wheels, hand checks": "On stands. Never search a leak by hand: a jet injects through skin.",
    "lines and wheel bolts": "On stands for the lines; on its wheels for the bolts. Pressure released before a union is touched.",
    "bench": "The valve is off the car: pressure was released, and the circuits it belongs to are bled and tested afterwards.",
    "road": "Only after all static checks are good; closed ground, low speed first, a way to stop without brakes.",
}
MOST_IN_A_GROUP = 9
NEEDS_ACTION = (
    "out of limits",
    "fault found",
    "too close to limit",
    NOT_BELIEVABLE,
    CONTRADICTS,
    "unable to measure",
    "unable to check",
)


def inspection(appraisal: Appraisal) -> Tab:
    return Tab(
        name="Inspection",
        title=titled("Inspection: measured before and after work", appraisal),
        head=head(appraisal, "Inspection"),
        cautions=(),
        blocks=(reading_block(appraisal), stated_block(appraisal), again_block(appraisal), visit_block(appraisal)),
        widths=(34, 8, 8, 7, 24, 11, 12, 24, 11, 12, 12, 26, 7, 8),
        page=Page(landscape=True, header=PAGE_CAUTION, rows_a_page=16),
        frozen_to="reading",
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
            *(Column(f"free_{number}", "", value=lambda _: None) for number in (1, 2, 3)),
            Column("by", "measured by", "entry", box=words_box("Measured by", "Name of the mechanic.")),
            Column("date", "date", "date", box=Box("date", title="Date", prompt="The day of the readings.")),
            Column("day", "taken as", "date", "=IF(ISNUMBER({date}),INT({date}),{setting.date.value})"),
            Column(
                "in_order",
                "not before the others (1)",
                "whole",
                "=IF(AND(ISNUMBER({date}),ISNUMBER({visit.before.date})),IF(INT({date})>=INT({visit.before.date}),1,0),1)",
            ),
        ],
        appraisal.visits,
        row_height=26,
    )


def _limit(judged: Mapping[CheckRef, Judged], side: str) -> Callable[[CheckRow], Value]:
    """The limit of a check on one side, as its box shows it; nothing for a check without a number."""
    return lambda row: shown(judged[row.ref], side) if row.ref in judged else ""


def _verdict(appraisal: Appraisal, judged: Mapping[CheckRef, Judged], phase: str) -> Column:
    """The verdict beside a box; where a good reading contradicts another, that."""
    formula = "=" + lookup(f"standing:beside_{phase}", "{label}", "standing:label")

    def said(row: CheckRow) -> str:
        if row.ref in judged:
            return judged[row.ref].phases[phase].beside
        return appraisal.standing_of[row.ref].found(phase).verdict

    return Column(f"verdict_{phase}", f"{phase} work: verdict", "verdict", formula, value=said)


def reading_block(appraisal: Appraisal) -> Block:
    readings = appraisal.entries.readings
    judged = {item.ref: item for item in appraisal.judged}
    gauges = appraisal.record.shop.gauges

    def typed(column: str) -> Callable[[CheckRow], Value]:
        return lambda row: getattr(readings[row.ref], column)

    def unit(row: CheckRow) -> str:
        return judged[row.ref].unit if row.ref in judged else ""

    def look(row: CheckRow) -> str:
        return f"number-{decimals(unit(row))}" if row.ref in judged else "entry"

    def box_of(row: CheckRow) -> Box:
        box = reading_box(row)
        return replace(box, believed=believed(judged[row.ref], box)) if row.ref in judged else box

    def gauge_box(row: CheckRow) -> Box | None:
        if not row.check.measured:
            return None
        fitting = tuple(gauge.id for gauge in gauges if gauge.measures == row.check.quantity)
        return list_box("Gauge", fitting, "The gauge that gave this reading.")

    def reading(phase: str) -> list[Column]:
        return [
            Column(phase, f"{phase} work", look, box=box_of, unit=unit, value=typed(phase)),
            Column(f"gauge_{phase}", "gauge", "gauge", box=gauge_box, value=typed(f"gauge_{phase}")),
            _verdict(appraisal, judged, phase),
        ]

    def limit_column(side: str, heading: str) -> Column:
        formula = f'=IFERROR({lookup(f"judging:{side}_shown", "{label}", "judging:label")},"")'
        return Column(side, heading, look, formula, unit=unit, value=_limit(judged, side))

    return block(
        "reading",
        "",
        [
            Column("label", "check", "label"),
            limit_column("low", "at least"),
            limit_column("high", "at most"),
            Column("unit", "unit", "text", value=unit),
            *reading("before"),
            *reading("after"),
            Column(
                "why", "not measured, because", "gauge", box=list_box("Why not measured", WHY_WORDS), value=typed("why")
            ),
            Column("note", "note", "gauge", box=words_box("Note"), value=typed("note")),
            Column("photo", "photo", box=words_box("Photo", "The number of the picture."), value=typed("photo")),
            Column("initials", "initials", box=words_box("Initials"), value=typed("initials")),
        ],
        appraisal.plan.checks,
        lines=reading_lines(appraisal),
        row_height=26,
    )


def reading_lines(appraisal: Appraisal) -> dict[str, Lines]:
    """About each check: its group's heading and warning above, how it is made below."""
    found: dict[str, Lines] = {}
    group = ""
    count = Counter(row.check.group for row in appraisal.plan.checks)
    for row in appraisal.plan.checks:
        above: tuple[Line, ...] = ()
        many = count[row.check.group] > MOST_IN_A_GROUP
        heading = f"{row.check.group}, {row.place.id.replace('-', ' ')}" if many else row.check.group
        if heading != group:
            warnings = (*(() if group else WORKSHOP_CAUTIONS), WARNINGS[row.check.group])
            group = heading
            above = (
                *(Line(text, "caution") for text in warnings[:-1]),
                Line(group, "section"),
                Line(warnings[-1], "caution"),
            )
        found[row.ref] = Lines(above, (Line(row.check.how, "how"),))
    return found


def shown(item: Judged, side: str) -> Value:
    """A service limit in the shown unit, as the judging block works it out."""
    si = item.values[f"service_{side}"]
    return "" if isinstance(si, str) else (si - item.offset) / item.factor


def believed(item: Judged, box: Box) -> tuple[float, float] | None:
    """The numbers that are believed of a reading, in the shown unit; None where only its verdict can tell."""
    found, labels = item.phases["before"], item.believable
    alike = labels.of("before", "low") == labels.of("after", "low") and labels.of("before", "high") == labels.of(
        "after", "high"
    )
    ends = (found.believe_low, found.believe_high)
    if item.row.check.judged or not alike or not (labels.low_before or labels.high_before) or box.low is None:
        return None
    low, high = ("" if isinstance(si, str) else round((si - item.offset) / item.factor, 3) for si in ends)
    assert box.high is not None
    return (box.low if isinstance(low, str) else max(low, box.low), box.high if isinstance(high, str) else high)


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
