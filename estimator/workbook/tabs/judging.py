"""How each number was judged: what is judged, its uncertainty, its room to the limits, the words. On the Limits tab."""

from __future__ import annotations

from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.verdict_words import PHASES, SIDES
from estimator.records import kind_of
from estimator.workbook.book import Block, Column, Value, block, positions
from estimator.workbook.tabs.common import lookup
from estimator.workbook.tabs.how_read import stated_lines, stated_rows
from estimator.workbook.tabs.inspection import reading_lines, shown
from estimator.workbook.tabs.phase_columns import MOST_AGAINST, MOST_RESTED_ON, PhaseColumns, in_si

SIDE_TITLES = {
    "service_low": "service, at least",
    "service_high": "service, at most",
    "danger_low": "to drive, at least",
    "danger_high": "to drive, at most",
}


BELIEVED = {"low": "at least", "high": "at most"}


def judging_block(appraisal: Appraisal) -> Block:
    limit_at = positions(appraisal.limits)

    def derived(name: str) -> Callable[[Judged], Value]:
        return lambda item: getattr(item.derived, name)

    def believed(phase: str, end: str) -> Callable[[Judged], Value]:
        return lambda item: item.believable.of(phase, end)

    def against(phase: str, number: int) -> Callable[[Judged], Value]:
        return lambda item: (*item.against.of(phase), *[""] * MOST_AGAINST)[number - 1]

    label_of = {item.ref: item.label for item in appraisal.judged}

    def rests_on(number: int) -> Callable[[Judged], Value]:
        def label(item: Judged) -> Value:
            return label_of[item.row.rests_on[number - 1]] if number <= len(item.row.rests_on) else ""

        return label

    def lacks(side: str) -> Callable[[Judged], Value]:
        return lambda item: item.lacks(side)

    def limit(side: str) -> Callable[[Judged], Value]:
        return lambda item: item.values[side]

    def shown_limit(side: str) -> Column:
        formula = f'=IF(ISNUMBER({{service_{side}}}),({{service_{side}}}-{{offset}})/{{factor}},"")'
        return Column(f"{side}_shown", f"limit, {side}", "number-3", formula, value=lambda item: shown(item, side))

    return block(
        "judging",
        "How each number was judged",
        [
            Column("label", "check", "label"),
            Column("kind", "kind", value=lambda item: item.row.check.kind),
            Column("drive_low", "danger below", value=lambda item: item.row.check.danger("low")),
            Column("drive_high", "danger above", value=lambda item: item.row.check.danger("high")),
            Column("unit", "unit"),
            Column("limit_label", "limits of", value=lambda item: item.limits.label),
            Column("derived_before", "judged by, before", value=derived("before")),
            Column("derived_after", "judged by, after", value=derived("after")),
            Column("u_from_before", "U from, before", value=derived("u_before")),
            Column("u_from_after", "U from, after", value=derived("u_after")),
            *(
                Column(f"believe_{end}_from_{phase}", f"believed, {BELIEVED[end]}, {phase}", value=believed(phase, end))
                for phase in PHASES
                for end in BELIEVED
            ),
            *(
                Column(f"against_{number}_{phase}", f"held against, {number}, {phase}", value=against(phase, number))
                for phase in PHASES
                for number in range(1, MOST_AGAINST + 1)
            ),
            *(
                Column(f"rests_{number}", f"rests on, {number}", value=rests_on(number))
                for number in range(1, MOST_RESTED_ON + 1)
            ),
            Column("quantity", "quantity", value=lambda item: kind_of(item.row.check.quantity)),
            Column("fixed_u", "U as a count", "number-2"),
            Column("safety", "safety", value=lambda item: "yes" if item.row.check.safety else "no"),
            Column("plain", "plain (1)", "whole", '=IF(AND({setting.plain.value}="yes",{safety}="no"),1,0)'),
            Column("factor", "to SI: times", "factor", "=" + lookup("unit:factor", "{unit}", "unit:label")),
            Column("offset", "to SI: plus", "number-4", "=" + lookup("unit:offset", "{unit}", "unit:label")),
            at_column(appraisal),
            gave_up_column(appraisal),
            stated_at_column(appraisal),
            Column(
                "limit_at",
                "row of limits",
                "whole",
                "=MATCH({limit_label},{limit:label},0)",
                value=lambda item: limit_at[item.limits.ref],
            ),
            *(
                Column(
                    side,
                    f"{SIDE_TITLES[side]}, SI",
                    "factor",
                    f"=INDEX({{limit:{side}}},{{limit_at}})",
                    unit=in_si,
                    value=limit(side),
                )
                for side in SIDES
            ),
            *(
                Column(
                    f"lacks_{side}",
                    f"dangerous {words} by a limit that isn't known (1)",
                    "whole",
                    f'=IF({{drive_{side}}}="own",1-COUNT({{danger_{side}}}),0)',
                    value=lacks(side),
                )
                for side, words in (("low", "below"), ("high", "above"))
            ),
            shown_limit("low"),
            shown_limit("high"),
            *(_danger_shown(side) for side in ("low", "high")),
            Column(
                "again_si",
                "measured again, SI",
                "factor",
                "=IFERROR(" + lookup("third:si", "{label}", "third:read_check") + ',"")',
                unit=in_si,
                value=lambda item: appraisal.workings.readings[keys.again_si(item.ref)],
            ),
            *(column for phase in PHASES for column in PhaseColumns(phase).columns()),
            *(column for phase in PHASES for column in PhaseColumns(phase).all_in_date()),
        ],
        appraisal.judged,
        note="A reading is within a limit only if it is better by U, outside only if it is worse by U. One that isn't believed "
        "counts as not measured.",
    )


def _danger_shown(side: str) -> Column:
    formula = f'=IF(ISNUMBER({{danger_{side}}}),({{danger_{side}}}-{{offset}})/{{factor}},"")'
    name = f"danger_{side}_shown"
    return Column(name, f"to drive, {side}", "number-3", formula, value=lambda item: item.danger_shown(side))


def gave_up_column(appraisal: Appraisal) -> Column:
    why = "INDEX({reading:why},{at})"
    return Column(
        "gave_up",
        "given up (1)",
        "whole",
        f'=IF(OR({why}="",{why}="repeat reading"),0,1)',
        value=lambda item: item.gave_up,
    )


def stated_at_column(appraisal: Appraisal) -> Column:
    """Where a check's row stands in the block that says how it was read; 0 for one that is read in one way."""
    places = positions(stated_rows(appraisal), stated_lines(appraisal))
    formula = "=IFERROR(MATCH({label},{stated:label},0),0)"
    return Column("stated_at", "row of how it was read", "whole", formula, value=lambda item: places.get(item.ref, 0))


def at_column(appraisal: Appraisal) -> Column:
    """Where a check's row stands in the block of readings."""
    places = positions(appraisal.plan.checks, reading_lines(appraisal))
    return Column("at", "row", "whole", "=MATCH({label},{reading:label},0)", value=lambda item: places[item.ref])
