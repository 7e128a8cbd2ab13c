"""`Summary`: the car, what was found, what may be done with it, what it costs, and whether the workbook agrees with
itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from estimator.appraisal import Appraisal
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.standing import Standing
from estimator.pricing.together import together
from estimator.workbook.book import Block, Column, Emphasis, Page, Tab, Value, block, positions
from estimator.workbook.tabs.charts import charts, reserve_block, stopping_block
from estimator.workbook.tabs.common import WORKSHOP_CAUTIONS, Pair, head, titled
from estimator.workbook.tabs.offers import price_block
from estimator.workbook.tabs.self_checks import self_block

_STATE = {
    "driving": 'IF({state.entered.value}=0,"NOTHING MEASURED: DO NOT DRIVE",'
    'IF({state.behind.value}>0,"DO NOT DRIVE",{state.otherwise.value}))',
    "entered": "SUM({standing:entered})",
    "otherwise": 'IF({state.open.value}>0,"SHOP ROAD TEST ONLY","no finding prohibits driving")',
    "behind": "SUM({standing:concern})+{state.mixed.value}",
    "mixed": 'COUNTIFS({part:mixed},1,{part:agreed},1)+COUNTIFS({extra_part:mixed},1,{extra_part:decision},"authorized")',
    "open": "SUM({standing:open})",
    "made": "SUM({standing:made})",
    "asked": "SUM({standing:asked})",
    "undecided": "COUNTIFS({line:proposed},1)-COUNTIFS({line:proposed},1,{line:agreed},1)",
    "agreed_total": "{total.total.agreed}",
    "proposed_total": "{total.total.proposed}",
    "over": "{consenting.over.value}",
}
CONCERNS = 12
TAB_WORDS = (
    ("Summary", "this page", "everyone"),
    ("Inspection", "what is measured and seen, before and after work", "mechanic"),
    ("Limits", "where each limit comes from, how each reading was judged", "mechanic, reviewer"),
    ("Hours", "jobs, decisions, hours alone and together", "advisor"),
    ("Parts", "parts, substitutes, sublet work, fees", "advisor"),
    ("Estimate", "what the customer reads and consents to", "customer"),
    ("Journal", "the agreed document for the books", "bookkeeper"),
    ("Basis", "every rate, rule, gauge and datum, with its source", "reviewer"),
    ("Record", "what the program reads back", "the program"),
)


def summary(appraisal: Appraisal) -> Tab:
    drawn = [part for part in (stopping_block(appraisal), reserve_block(appraisal)) if part.rows]
    more = _concern_block(appraisal, "more", "What else keeps it off the road", concerns(appraisal)[CONCERNS:])
    return Tab(
        name="Summary",
        title=titled(f"{appraisal.record.shop.shop.name}: stored-pressure brakes", appraisal),
        head=head(appraisal, "Summary"),
        cautions=WORKSHOP_CAUTIONS,
        blocks=(
            _state_block(appraisal),
            _concern_block(appraisal, "concern", "What keeps it off the road", concerns(appraisal)[:CONCERNS]),
            _unexamined_block(appraisal),
            _about_block(appraisal),
            _together_block(appraisal),
            self_block(appraisal),
            block(
                "tab",
                "Tabs",
                [
                    Column("label", "tab", "label", value=lambda row: row[0]),
                    Column("who", "for", value=lambda row: row[2]),
                    Column("holds", "holds", value=lambda row: row[1]),
                ],
                TAB_WORDS,
                ref=lambda row: row[0].lower(),
                note="Type only in framed, filled boxes. Bold on a fill: someone must act.",
            ),
            price_block(appraisal),
            more,
            *drawn,
        ),
        charts=charts(appraisal),
        widths=(40, 36, 24, 16, 16, 16, 16),
        page=Page(columns=7, breaks_before=("tab", "more", *(part.name for part in drawn[:1]))),
        emphases=(
            Emphasis("state", "value", ("NOTHING MEASURED: DO NOT DRIVE", "DO NOT DRIVE", "SHOP ROAD TEST ONLY")),
        ),
    )


def _about_block(appraisal: Appraisal) -> Block:
    record = appraisal.record
    job, car, shop = record.job, record.car.car, record.shop.shop
    rows = [
        Pair("document", "document", f"{job.document} revision {job.revision}"),
        Pair("date", "date", job.date.isoformat()),
        Pair("customer", "customer", job.customer.name),
        Pair("address", "address", ", ".join(job.customer.address)),
        Pair("car", "car", ", ".join(str(part) for part in (car.name, car.year) if part)),
        Pair("plate", "plate", car.plate),
        Pair("chassis", "chassis number", car.chassis_number),
        Pair("variant", "variant", _variant(car.variant)),
        Pair("fluid", "fluid", ", ".join(part for part in (record.car.fluid.family, record.car.fluid.grade) if part)),
        Pair("odometer", "odometer", job.odometer),
        Pair("complaint", "complaint", job.complaint),
        Pair("shop", "workshop", ", ".join((shop.name, *shop.address))),
        *(
            Pair(f"note{number}", f"note {number}", note)
            for number, note in enumerate((*job.customer_notes, *job.shop_notes), 1)
        ),
    ]
    return block(
        "about",
        "Car and document",
        [Column("label", "", "label"), Column("value", "")],
        rows,
    )


def _variant(variant: str) -> str:
    return {
        "A": "A: unpowered pedal circuit with its own master cylinder",
        "B": "B: elastomer buffer in place of a pedal circuit",
    }[variant]


def _state_rows(appraisal: Appraisal) -> tuple[Pair, ...]:
    state = appraisal.driving
    undecided = sum(1 for line in appraisal.labor.lines if line.proposed and not line.agreed)
    return (
        Pair("driving", "what may be done with the car", state.state),
        Pair("entered", "checks of which anything was entered", state.entered),
        Pair("otherwise", "if nothing keeps it off the road", state.otherwise),
        Pair("behind", "what keeps it off the road, named below", state.behind),
        Pair("mixed", "of it, agreed parts for another fluid", state.mixed),
        Pair("open", "road checks still to be made", state.road_open),
        Pair("made", "checks made", state.made),
        Pair("asked", "of", state.asked),
        Pair("undecided", "proposed jobs not yet decided", undecided),
        Pair("agreed_total", "agreed work, total", appraisal.agreed["total"]),
        Pair("proposed_total", "all that is proposed, total", appraisal.proposed["total"]),
        Pair("over", "agreed work over the consent", appraisal.consented.over),
    )


def _state_block(appraisal: Appraisal) -> Block:
    words = ("driving", "otherwise")
    whole = ("entered", "behind", "mixed", "open", "made", "asked", "undecided")

    def look(row: Any) -> str:
        return "state" if row.ref in words else "whole" if row.ref in whole else "money"

    return block(
        "state",
        "What may be done with the car, and what it costs",
        [
            Column("label", "figure", "label"),
            Column("value", "now", look, lambda row: "=" + _STATE[row.ref]),
        ],
        _state_rows(appraisal),
        kind="working",
    )


@dataclass(frozen=True)
class Concern:
    """A check that keeps the car off the road, by its place among them; beyond the last one, an empty row."""

    number: int
    standing: Standing | None = None

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"concern {self.number}"


def concerns(appraisal: Appraisal) -> tuple[Concern, ...]:
    """Every check that keeps the car off the road, and an empty row for each other one that could."""
    found = appraisal.concerns
    most = sum(1 for item in appraisal.standings if item.safety == "yes")
    return (*map(Concern, range(1, most + 1), found), *map(Concern, range(len(found) + 1, most + 1)))


def _concern_block(appraisal: Appraisal, name: str, title: str, rows: Sequence[Concern]) -> Block:
    at = positions(appraisal.standings)
    judged = {item.ref: item for item in appraisal.judged}

    def cell(name: str, heading: str, column: str, read: Callable[[Standing], Value], look: str = "number-3") -> Column:
        there = f"INDEX({{standing:{column}}},{{at}})"
        return Column(
            name,
            heading,
            look,
            f'=IF({{at}}=0,"",IF({there}="","",{there}))',
            value=lambda row: "" if row.standing is None else read(row.standing),
        )

    def number(read: Callable[[Judged, Standing], Value]) -> Callable[[Standing], Value]:
        return lambda item: read(judged[item.ref], item) if item.ref in judged else ""

    return block(
        name,
        title,
        [
            Column("label", "number", "label"),
            cell("check", "check", "label", lambda item: item.label, "words"),
            cell("latest", "latest word", "latest", lambda item: item.latest, "words"),
            cell("reading", "judged", "shown", number(lambda of, item: of.shown_in(item.decides))),
            cell("low", "to drive, at least", "low_shown", number(lambda of, _: of.danger_shown("low"))),
            cell("high", "to drive, at most", "high_shown", number(lambda of, _: of.danger_shown("high"))),
            cell("unit", "unit", "unit", number(lambda of, _: of.unit), "words"),
            Column(
                "at",
                "row",
                "pointer",
                "=IFERROR(MATCH({number},{standing:rank},0),0)",
                value=lambda row: 0 if row.standing is None else at[row.standing.ref],
            ),
            Column("number", "place", "pointer"),
        ],
        rows,
        faded_by="at",
        blanked=True,
    )


def _unexamined_block(appraisal: Appraisal) -> Block:
    """The checks of safety that are made on demand alone and that nobody made."""
    at = positions(appraisal.standings)
    rows = [item for item in appraisal.standings if item.safety == "yes" and item.asked_when == "on demand"]
    places = {item.ref: number for number, item in enumerate(rows, 1)}
    return block(
        "unexamined",
        "What nobody examined",
        [
            Column("label", "number", "label", value=lambda item: f"unexamined {places[item.ref]}"),
            Column(
                "check",
                "check",
                "words",
                '=IF({now}=1,INDEX({standing:label},{at}),"")',
                value=lambda item: item.label if item.unexamined else "",
            ),
            Column(
                "now", "now (1)", "pointer", "=INDEX({standing:unexamined},{at})", value=lambda item: item.unexamined
            ),
            Column("at", "row", "pointer", value=lambda item: at[item.ref]),
        ],
        rows,
        faded_by="now",
        blanked=True,
    )


def _together_block(appraisal: Appraisal) -> Block:
    saved = together(appraisal.labor.lines)
    formulas = {
        "alone": "SUMIFS({line:amount_alone},{line:proposed},1)",
        "together": "SUM({line:amount_proposed})",
        "saved": "ROUND({together.alone.value}-{together.together.value},2)",
    }
    return block(
        "together",
        f"What doing it together saves, {appraisal.record.shop.shop.currency}",
        [
            Column("label", "labor of all proposed jobs", "label"),
            Column("value", "amount", "money", lambda row: "=" + formulas[row.ref]),
        ],
        (
            Pair("alone", "each in a visit of its own", saved.alone),
            Pair("together", "all in this visit", saved.together),
            Pair("saved", "saved", saved.saved),
        ),
        kind="working",
        note="Shared steps are done and charged once a visit.",
    )
