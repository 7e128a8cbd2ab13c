"""The state of the car, and what grounds it, as the Summary shows them. On Workings."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.limits.judging.driving import DO_NOT_DRIVE, NO_FINDING, NOTHING_MEASURED, ROAD_TEST
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.verdict_words import PHASES
from estimator.pricing.room import FREE_OFFERS
from estimator.workbook.book import Block, Column, Value, block, positions
from estimator.workbook.tabs.common import Pair
from estimator.workbook.tabs.declined import declining, declining_formula
from estimator.workbook.tabs.form_rows import TABS, FormPlace, form_pages, numbers_of
from estimator.workbook.tabs.said_limits import limit_words, number_said

CONCERNS = 8
STATE = {
    "driving": f'IF({{state.entered.value}}=0,"{NOTHING_MEASURED}",'
    f'IF({{state.behind.value}}>0,"{DO_NOT_DRIVE}",{{state.otherwise.value}}))',
    "entered": "SUM({standing:entered})",
    "otherwise": f'IF({{state.open.value}}>0,"{ROAD_TEST}","{NO_FINDING}")',
    "behind": "SUM({standing:concern})+{state.mixed.value}",
    "mixed": "SUMIFS({line:odd},{line:agreed},1)+SUM({extra:mixed_agreed})",
    "open": "SUM({standing:open})",
    "made": "SUM({standing:made})",
    "asked": 'COUNTIFS({standing:asked_when},"always")+SUM({standing:asked})',
    "items": "SUM({line:proposed})+SUM({extra:proposed})",
    "short": "MAX(0,{state.items.value}-ROWS({offer.1.number~offer.LAST.number}))",
    "unnamed": "MAX(0,SUM({standing:concern})-ROWS({concern:number}))",
    "declined": 'COUNTIF({line:offered},"<0")+SUM({extra:declined})',
    "undecided": "COUNTIFS({line:proposed},1)-COUNTIFS({line:proposed},1,{line:agreed},1)",
}


def state_block(appraisal: Appraisal) -> Block:
    """The counts behind the state; the state itself stands on the Summary."""
    state, slots = appraisal.driving, appraisal.record.room.offers - FREE_OFFERS
    undecided = sum(1 for line in appraisal.labor.lines if line.proposed and not line.agreed)
    rows = (
        Pair("entered", "checks of which anything was entered", state.entered),
        Pair("otherwise", "if nothing grounds the car", state.otherwise),
        Pair("behind", "what grounds the car", state.behind),
        Pair("mixed", "of it, authorized parts for another fluid", state.mixed),
        Pair("open", "road checks open", state.road_open),
        Pair("made", "checks made", state.made),
        Pair("asked", "of", state.asked),
        Pair("items", "items of the estimate", len(appraisal.items)),
        Pair("short", "of them, more than its pages have room for", max(0, len(appraisal.items) - slots)),
        Pair("unnamed", "do-not-drive findings that the Summary doesn't name", max(0, state.concerns - CONCERNS)),
        Pair("declined", "items declined", len(appraisal.declined)),
        Pair("declining", "authorization by which safety work is declined", declining(appraisal)),
        Pair("undecided", "recommended jobs awaiting a decision", undecided),
    )
    formulas = STATE | {"declining": declining_formula(appraisal)}
    return block(
        "state",
        "Driving status",
        [
            Column("label", "figure", "label"),
            Column(
                "value",
                "now",
                lambda row: "words" if row.ref == "otherwise" else "whole",
                lambda row: "=" + formulas[row.ref].replace("LAST", str(slots)),
            ),
        ],
        rows,
        kind="working",
    )


@dataclass(frozen=True)
class Concern:
    """A check that grounds the car, by its place among them; beyond the last one, an empty row."""

    number: int
    standing: Standing | None = None
    judged: Judged | None = None

    @property
    def ref(self) -> str:
        return str(self.number)

    @property
    def label(self) -> str:
        return f"concern {self.number}"

    @property
    def si(self) -> float | str:
        """What was read."""
        if self.standing is None or self.judged is None:
            return ""
        return self.judged.phases[self.standing.decides].si

    @property
    def shown(self) -> float | str:
        """The same in the unit of its check."""
        if self.judged is None or isinstance(self.si, str):
            return ""
        return (self.si - self.judged.offset) / self.judged.factor

    @property
    def reading(self) -> str:
        if self.judged is None or isinstance(self.shown, str):
            return ""
        return f"{number_said(self.shown, self.judged.digits)}{self.judged.said_unit}: "

    @property
    def read(self) -> str:
        return "" if self.standing is None else self.reading + self.standing.latest

    @property
    def limit(self) -> str:
        return "" if self.judged is None else limit_words(self.judged, "danger")


def concerns(appraisal: Appraisal) -> tuple[Concern, ...]:
    """Return the rows of the Summary: the first checks that ground the car, and empty rows."""
    judged = {item.ref: item for item in appraisal.judged}
    found = [Concern(number, item, judged.get(item.ref)) for number, item in enumerate(appraisal.concerns, 1)]
    return (*found[:CONCERNS], *map(Concern, range(len(found) + 1, CONCERNS + 1)))


def concern_block(appraisal: Appraisal, places: Mapping[str, FormPlace]) -> Block:
    """places: of the numbers on the tabs of the inspection, by phase."""
    at = positions(appraisal.standings)
    judged_at = positions(appraisal.judged)
    numbers = numbers_of(form_pages(appraisal))

    def of_standing(read: Callable[[Standing], Value]) -> Callable[[Concern], Value]:
        return lambda row: "" if row.standing is None else read(row.standing)

    def cell(name: str, column: str, heading: str, read: Callable[[Standing], Value], look: str = "words") -> Column:
        formula = f'=IFERROR(INDEX({{standing:{column}}},{{at}}),"")'
        return Column(name, heading, look, formula, value=of_standing(read))

    def si(phase: str) -> str:
        return f"INDEX({{judging:si_{phase}}},{{judged_at}})"

    def of_judged(name: str) -> str:
        return f"INDEX({{judging:{name}}},{{judged_at}})"

    return block(
        "concern",
        "What grounds the car",
        [
            Column("label", "number", "label"),
            Column("number", "place", "whole"),
            Column(
                "at",
                "row",
                "whole",
                '=IFERROR(MATCH({number},{standing:rank},0),"")',
                value=of_standing(lambda item: at[item.ref]),
            ),
            cell("check", "label", "check", lambda item: item.label),
            cell("latest", "latest", "latest word", lambda item: item.latest),
            cell("decides", "decides", "phase", lambda item: item.decides),
            cell("no", "no", "number on the form", lambda item: numbers[item.ref], "whole"),
            Column(
                "judged_at",
                "row among numbers",
                "whole",
                '=IFERROR(MATCH({check},{judging:label},0),"")',
                value=lambda row: "" if row.judged is None else judged_at[row.judged.ref],
            ),
            Column(
                "si",
                "reading, SI",
                "factor",
                f'=IFERROR(IF({{decides}}="after",{si("after")},{si("before")}),"")',
                value=lambda row: row.si,
            ),
            Column(
                "shown",
                "reading, in the unit of its check",
                "number-3",
                f'=IFERROR(({{si}}-{of_judged("offset")})/{of_judged("factor")},"")',
            ),
            Column(
                "digits",
                "decimals",
                "whole",
                f'=IFERROR({of_judged("digits")},"")',
                value=lambda row: "" if row.judged is None else row.judged.digits,
            ),
            Column(
                "read",
                "read",
                "words",
                '=IFERROR(IF({digits}=0,FIXED({shown},0),ROUND({shown},{digits})&"")'
                f'&{of_judged("after_number")}&": ","")&{{latest}}',
            ),
            Column(
                "tab",
                "tab",
                "words",
                f'=IF({{decides}}="after","{TABS["after"]}","{TABS["before"]}")',
                value=lambda row: TABS[row.standing.decides if row.standing else "before"],
            ),
            Column(
                "row",
                "row there",
                "whole",
                '=IF({decides}="after",{row_after},{row_before})',
                value=of_standing(lambda item: places[item.decides].rows[numbers[item.ref]]),
            ),
            *(
                Column(
                    f"row_{phase}",
                    f"row on {TABS[phase]}",
                    "whole",
                    f'=IFERROR(MATCH({{no}},{{{places[phase].column}}},0),"")',
                    value=of_standing(lambda item, phase=phase: places[phase].rows[numbers[item.ref]]),  # type: ignore[misc]
                )
                for phase in PHASES
            ),
            Column("limit", "do-not-drive limit", "words", '=IFERROR(INDEX({said:drive},{judged_at})&"","")'),
        ],
        concerns(appraisal),
    )
