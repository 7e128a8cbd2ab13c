"""How each number was judged: what is judged, its uncertainty, its room to the limits, the words. On the Limits tab."""

from __future__ import annotations

from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.limits.judging import Judged
from estimator.limits.verdict_words import PHASES, SIDES
from estimator.quantities import si_unit
from estimator.workbook.book import Block, Column, Value, block, positions
from estimator.workbook.tabs.common import lookup
from estimator.workbook.tabs.inspection import reading_lines, shown

SIDE_TITLES = {
    "service_low": "service, at least",
    "service_high": "service, at most",
    "danger_low": "to drive, at least",
    "danger_high": "to drive, at most",
}


def judging_block(appraisal: Appraisal) -> Block:
    def in_si(item: Judged) -> str:
        return si_unit(item.unit)

    def phase_columns(phase: str) -> list[Column]:
        def of(name: str) -> Callable[[Judged], Value]:
            return lambda item: getattr(item.phases[phase], name)

        def side(pair: str, name: str) -> Callable[[Judged], Value]:
            return lambda item: getattr(getattr(item.phases[phase], pair), name)

        def named(text: str) -> str:
            return text.replace("PHASE", phase)

        def distance(pair: str) -> list[Column]:
            def room(name: str, limit: str, difference: str) -> Column:
                formula = (
                    f'=IF(AND(ISNUMBER({{judged_PHASE}}),ISNUMBER({{{limit}}})),ROUND(({difference})/{{factor}},6),"")'
                )
                heading = f"{phase}: room {name}, {pair}"
                return Column(f"{pair}_{name}_{phase}", heading, "number-3", named(formula), value=side(pair, name))

            above, below, margin = (f"{{{pair}_{name}_PHASE}}" for name in ("above", "below", "margin"))
            word = (
                f'=IFERROR(IF({margin}-{{u_shown_PHASE}}>=0,"within limit",'
                f'IF({margin}+{{u_shown_PHASE}}<=0,"outside limit","too close to call")),"no limit known")'
            )
            return [
                room("above", f"{pair}_low", f"{{judged_PHASE}}-{{{pair}_low}}"),
                room("below", f"{pair}_high", f"{{{pair}_high}}-{{judged_PHASE}}"),
                Column(
                    f"{pair}_margin_{phase}",
                    f"{phase}: nearest, {pair}",
                    "number-3",
                    named(f'=IF(COUNT({above},{below})=0,"",MIN({above},{below}))'),
                    value=side(pair, "margin"),
                ),
                Column(f"{pair}_word_{phase}", f"{phase}: {pair}", "words", named(word), value=of(f"{pair}_word")),
            ]

        def verdict(name: str, word: str, heading: str) -> Column:
            kind = "drive_kind" if name == "drive" else "kind"
            numbers = "COUNT({judged_PHASE},{u_shown_PHASE})=COUNTA({judged_PHASE},{u_shown_PHASE})"
            formula = f'=IF({{{kind}}}="recorded",{{noted_PHASE}},IF({numbers},{{WORD_PHASE}},{{blank_PHASE}}))'
            return Column(f"{name}_{phase}", heading, "words", named(formula.replace("WORD", word)), value=of(name))

        return [
            Column(
                f"si_{phase}",
                f"{phase}: reading, SI",
                "factor",
                named('=IF(ISNUMBER(INDEX({reading:PHASE},{at})),INDEX({reading:PHASE},{at})*{factor}+{offset},"")'),
                unit=in_si,
                value=of("si"),
            ),
            Column(
                f"gauge_at_{phase}",
                f"{phase}: row of the gauge",
                "whole",
                named("=IFERROR(MATCH(INDEX({reading:gauge_PHASE},{at}),{gauge:label},0),0)"),
                value=of("gauge_at"),
            ),
            Column(
                f"gauge_u_{phase}",
                f"{phase}: u of the gauge, SI",
                "factor",
                named('=IF({gauge_at_PHASE}=0,"",INDEX({gauge:u_si},{gauge_at_PHASE}))'),
                unit=in_si,
                value=of("gauge_u"),
            ),
            Column(
                f"judged_{phase}",
                f"{phase}: judged, SI",
                "factor",
                named(
                    '=IF({derived_PHASE}="",{si_PHASE},'
                    + lookup("working:si", "{derived_PHASE}", "working:label")
                    + ")"
                ),
                unit=in_si,
                value=of("judged"),
            ),
            Column(
                f"u_own_{phase}",
                f"{phase}: U of the reading, SI",
                "factor",
                named(
                    "=IF(ISNUMBER({fixed_u}),{fixed_u}*{factor},IF(ISNUMBER({gauge_u_PHASE}),"
                    '{constant.two.value}*{gauge_u_PHASE},""))'
                ),
                unit=in_si,
                value=of("u_own"),
            ),
            Column(
                f"u_any_{phase}",
                f"{phase}: U of what is judged, SI",
                "factor",
                named(
                    '=IF({u_from_PHASE}="",{u_own_PHASE},'
                    + lookup("working:si", "{u_from_PHASE}", "working:label")
                    + ")"
                ),
                unit=in_si,
                value=of("u_any"),
            ),
            Column(
                f"u_{phase}",
                f"{phase}: U, SI",
                "factor",
                named("=IF({plain}=1,0,{u_any_PHASE})"),
                unit=in_si,
                value=of("u"),
            ),
            Column(
                f"u_shown_{phase}",
                f"{phase}: U",
                "number-3",
                named('=IF(ISNUMBER({u_PHASE}),ROUND({u_PHASE}/{factor},6),"")'),
                value=of("u_shown"),
            ),
            *distance("service"),
            *distance("danger"),
            *(
                Column(
                    f"chance_{side}_{phase}",
                    f"{phase}: chance, {side}",
                    "number-4",
                    named(
                        f"=IFERROR(IF({{u_shown_PHASE}}>0,"
                        f'NORMSDIST({{constant.two.value}}*{{service_{side}_PHASE}}/{{u_shown_PHASE}}),""),"")'
                    ),
                    value=lambda item, side=side: item.phases[phase].chance_of(side),
                )
                for side in ("above", "below")
            ),
            Column(
                f"chance_{phase}",
                f"{phase}: chance that it is within",
                "percent",
                named(
                    '=IF(COUNT({chance_above_PHASE},{chance_below_PHASE})=0,"",'
                    "ROUND(SUM({chance_above_PHASE},{chance_below_PHASE})-COUNT({chance_above_PHASE},{chance_below_PHASE})+1,4))"
                ),
                value=of("chance"),
            ),
            Column(
                f"blank_{phase}",
                f"{phase}: if empty",
                "words",
                '=IF({gave_up}=1,"could not be measured","not measured")',
                value=of("blank"),
            ),
            Column(
                f"noted_{phase}",
                f"{phase}: as a record",
                "words",
                named('=IF(ISNUMBER({si_PHASE}),"recorded",{blank_PHASE})'),
                value=of("noted"),
            ),
            verdict("verdict", "service_word", f"{phase}: verdict"),
            verdict("drive", "danger_word", f"{phase}: to drive"),
            Column(
                f"in_date_{phase}",
                f"{phase}: gauge in date (1)",
                "whole",
                named("=IF({gauge_at_PHASE}=0,1,1-INDEX({gauge:overdue_PHASE},{gauge_at_PHASE}))"),
                value=of("in_date"),
            ),
        ]

    limit_at = positions(appraisal.limits)

    def derived(name: str) -> Callable[[Judged], Value]:
        return lambda item: getattr(item.derived, name)

    def shown_limit(side: str) -> Column:
        formula = f'=IF(ISNUMBER({{service_{side}}}),({{service_{side}}}-{{offset}})/{{factor}},"")'
        return Column(f"{side}_shown", f"limit, {side}", "number-3", formula, value=lambda item: shown(item, side))

    return block(
        "judging",
        "How each number was judged",
        [
            Column("label", "check", "label"),
            Column("kind", "kind", value=lambda item: item.row.check.kind),
            Column("drive_kind", "kind, to drive"),
            Column("unit", "unit"),
            Column("limit_label", "limits of", value=lambda item: item.limits.label),
            Column("derived_before", "judged by, before", value=derived("before")),
            Column("derived_after", "judged by, after", value=derived("after")),
            Column("u_from_before", "U from, before", value=derived("u_before")),
            Column("u_from_after", "U from, after", value=derived("u_after")),
            Column("fixed_u", "U as a count", "number-2"),
            Column("safety", "safety", value=lambda item: "yes" if item.row.check.safety else "no"),
            Column("plain", "plain (1)", "whole", '=IF(AND({setting.plain.value}="yes",{safety}="no"),1,0)'),
            Column("factor", "to SI: times", "factor", "=" + lookup("unit:factor", "{unit}", "unit:label")),
            Column("offset", "to SI: plus", "number-4", "=" + lookup("unit:offset", "{unit}", "unit:label")),
            at_column(appraisal),
            gave_up_column(appraisal),
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
                    value=lambda item, side=side: item.values[side],
                )
                for side in SIDES
            ),
            shown_limit("low"),
            shown_limit("high"),
            *(column for phase in PHASES for column in phase_columns(phase)),
        ],
        appraisal.judged,
        note="A reading is within a limit only if it is better by U, outside only if it is worse by U.",
    )


def gave_up_column(appraisal: Appraisal) -> Column:
    why = "INDEX({reading:why},{at})"
    return Column(
        "gave_up",
        "given up (1)",
        "whole",
        f'=IF(OR({why}="",{why}="measured again"),0,1)',
        value=lambda item: item.gave_up,
    )


def at_column(appraisal: Appraisal) -> Column:
    """Where a check's row stands in the block of readings."""
    places = positions(appraisal.plan.checks, reading_lines(appraisal))
    return Column("at", "row", "whole", "=MATCH({label},{reading:label},0)", value=lambda item: places[item.ref])
