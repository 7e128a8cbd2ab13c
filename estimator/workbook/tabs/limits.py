"""`Limits`: each limit with its symbols, numbers, result and source, so that it can be redone by hand; below it, how
each reading was judged and where each check stands."""

from __future__ import annotations

from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.limits.judging import PHASES, SIDES, Judged, Limits
from estimator.workbook.book import Block, Column, Line, Lines, Page, Tab, Value, block, positions, sections
from estimator.workbook.tabs.common import WORKSHOP_CAUTIONS, decimals, head, lookup, titled
from estimator.workbook.tabs.inspection import reading_lines, shown

_SIDE_TITLES = {
    "service_low": "service, at least",
    "service_high": "service, at most",
    "danger_low": "to drive, at least",
    "danger_high": "to drive, at most",
}


def limits(appraisal: Appraisal) -> Tab:
    return Tab(
        name="Limits",
        title=titled("Limits: where each comes from, and how each reading was judged", appraisal),
        head=head(appraisal, "Limits"),
        cautions=WORKSHOP_CAUTIONS,
        blocks=(
            limit_block(appraisal),
            working_block(appraisal),
            judging_block(appraisal),
            looked_block(appraisal),
            standing_block(appraisal),
        ),
        widths=(40, 46, 13, 13, 15, 13, 10, 14, 16, 26),
        page=Page(landscape=True, columns=10, until="working"),
    )


def limit_block(appraisal: Appraisal) -> Block:
    labels = {row.label: row for row in appraisal.workings.rows.values()}
    units = {item.limits.ref: item.unit for item in appraisal.judged}

    def si(side: str) -> Callable[[Limits], Value]:
        return lambda item: labels[getattr(item, side)].si if getattr(item, side) else ""

    def in_si(side: str) -> Column:
        formula = f'=IF({{{side}_from}}="","",{lookup("working:si", f"{{{side}_from}}", "working:label")})'
        return Column(side, f"{_SIDE_TITLES[side]}, SI", "factor", formula, value=si(side))

    def in_unit(side: str) -> Column:
        def value(item: Limits) -> Value:
            return labels[getattr(item, side)].shown if getattr(item, side) else ""

        return Column(
            f"{side}_shown",
            _SIDE_TITLES[side],
            lambda item: f"number-{decimals(units[item.ref])}",
            f'=IF({{{side}_from}}="","",{lookup("working:shown", f"{{{side}_from}}", "working:label")})',
            unit=lambda item: units[item.ref],
            value=value,
        )

    return block(
        "limit",
        "Limits by check and place",
        [
            Column("label", "check", "label"),
            Column("source", "source", "small"),
            *(in_unit(side) for side in SIDES),
            Column("unit", "unit", value=lambda item: units[item.ref]),
            Column("binding", "what it is", "small"),
            Column("status", "status", "small"),
            Column("reason", "why there is none", "small"),
            *(
                Column(f"{side}_from", f"{_SIDE_TITLES[side]}: figure", value=lambda item, side=side: getattr(item, side))
                for side in SIDES
            ),
            *(in_si(side) for side in SIDES),
        ],
        appraisal.limits,
        note="The service limit calls for a job; the limit to drive concerns driving. A yardstick doesn't bind this car.",
    )


def working_block(appraisal: Appraisal) -> Block:
    rows = appraisal.workings.rows.values()
    return block(
        "working",
        "Workings: each figure can be redone by hand, in SI, from those above it",
        [
            Column("label", "figure", "label"),
            Column("title", "what it is", "small"),
            Column(
                "shown",
                "value",
                lambda row: f"number-{decimals(row.unit)}",
                "=IF(ISNUMBER({si}),({si}-{offset})/{factor},{si})",
                unit=lambda row: row.unit,
            ),
            Column("unit", "unit"),
            Column("si", "in SI", "si", lambda row: "=" + row.expression),
            Column("status", "status", "small"),
            Column("factor", "to SI: times", "si", "=" + lookup("unit:factor", "{unit}", "unit:label")),
            Column("offset", "to SI: plus", "number-4", "=" + lookup("unit:offset", "{unit}", "unit:label")),
        ],
        rows,
        kind="working",
        lines=working_lines(appraisal),
    )


def working_lines(appraisal: Appraisal) -> dict[str, Lines]:
    """About each figure: its subject above; below, how it is computed, for what that holds, where it comes from."""
    rows = appraisal.workings.rows.values()
    symbols = appraisal.workings.symbols
    found = sections(rows, lambda row: row.scope.replace("-", " "))
    for row in rows:
        said = [f"= {row.in_symbols(symbols)}"]
        said += [f"holds for {row.valid}"] if row.valid else []
        said += [row.source] if row.source else []
        above = found.get(row.ref, Lines()).above
        found[row.ref] = Lines(above, (Line("; ".join(said), "how"),))
    return found


def judging_block(appraisal: Appraisal) -> Block:
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
                    f"=IF(AND(ISNUMBER({{judged_PHASE}}),ISNUMBER({{{limit}}})),ROUND(({difference})/{{factor}},6),\"\")"
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
            formula = (
                '=IF({kind}="recorded",IF(ISNUMBER({si_PHASE}),"recorded",{blank_PHASE}),'
                "IF(AND(ISNUMBER({judged_PHASE}),ISNUMBER({u_shown_PHASE})),{WORD_PHASE},{blank_PHASE}))"
            )
            return Column(f"{name}_{phase}", heading, "words", named(formula.replace("WORD", word)), value=of(name))

        gauge = "MATCH(INDEX({reading:gauge_PHASE},{at}),{gauge:label},0)"
        return [
            Column(
                f"si_{phase}",
                f"{phase}: reading, SI",
                "factor",
                named('=IF(ISNUMBER(INDEX({reading:PHASE},{at})),INDEX({reading:PHASE},{at})*{factor}+{offset},"")'),
                value=of("si"),
            ),
            Column(
                f"gauge_u_{phase}",
                f"{phase}: u of the gauge, SI",
                "factor",
                named(f'=IFERROR(INDEX({{gauge:u_si}},{gauge}),"")'),
                value=of("gauge_u"),
            ),
            Column(
                f"judged_{phase}",
                f"{phase}: judged, SI",
                "factor",
                named(
                    '=IF({derived_PHASE}="",{si_PHASE},' + lookup("working:si", "{derived_PHASE}", "working:label") + ")"
                ),
                value=of("judged"),
            ),
            Column(
                f"u_own_{phase}",
                f"{phase}: U of the reading, SI",
                "factor",
                named(
                    '=IF(ISNUMBER({fixed_u}),{fixed_u}*{factor},IF(ISNUMBER({gauge_u_PHASE}),'
                    '{constant.two.value}*{gauge_u_PHASE},""))'
                ),
                value=of("u_own"),
            ),
            Column(
                f"u_{phase}",
                f"{phase}: U, SI",
                "factor",
                named(
                    '=IF({plain}=1,0,IF({u_from_PHASE}="",{u_own_PHASE},'
                    + lookup("working:si", "{u_from_PHASE}", "working:label")
                    + "))"
                ),
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
            verdict("verdict", "service_word", f"{phase}: verdict"),
            verdict("drive", "danger_word", f"{phase}: to drive"),
            Column(
                f"in_date_{phase}",
                f"{phase}: gauge in date (1)",
                "whole",
                named(f"=1-IFERROR(INDEX({{gauge:overdue_PHASE}},{gauge}),0)"),
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
            _at(appraisal),
            _gave_up(appraisal),
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
                    f"{_SIDE_TITLES[side]}, SI",
                    "factor",
                    f"=INDEX({{limit:{side}}},{{limit_at}})",
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


def _gave_up(appraisal: Appraisal) -> Column:
    why = "INDEX({reading:why},{at})"
    return Column(
        "gave_up",
        "given up (1)",
        "whole",
        f'=IF(OR({why}="",{why}="measured again"),0,1)',
        value=lambda item: item.gave_up,
    )


def _at(appraisal: Appraisal) -> Column:
    """Where a check's row stands in the block of readings."""
    places = positions(appraisal.plan.checks, reading_lines(appraisal))
    return Column("at", "row", "whole", "=MATCH({label},{reading:label},0)", value=lambda item: places[item.ref])


def looked_block(appraisal: Appraisal) -> Block:
    def phase_columns(phase: str) -> list[Column]:
        raw = f"INDEX({{reading:{phase}}},{{at}})"

        return [
            Column(
                f"look_{phase}",
                f"{phase}: as a look",
                "words",
                f"=IFERROR(INDEX({{word:label}},MATCH({raw},{{word:label}},0)),{{unlooked}})",
                value=lambda item: item.as_look(phase),
            ),
            Column(
                f"family_{phase}",
                f"{phase}: as a family",
                "words",
                f'=IF({raw}="",{{unlooked}},IF({raw}={{setting.family.value}},"no fault seen","fault seen"))',
                value=lambda item: item.as_family(phase),
            ),
            Column(
                f"text_{phase}",
                f"{phase}: as a text",
                "words",
                f'=IF({raw}="",{{unwritten}},"recorded")',
                value=lambda item: item.as_text(phase),
            ),
            Column(
                f"verdict_{phase}",
                f"{phase}: verdict",
                "words",
                f'=IF({{kind}}="look",{{look_{phase}}},IF({{kind}}="family",{{family_{phase}}},{{text_{phase}}}))',
                value=lambda item: item.verdict(phase),
            ),
        ]

    return block(
        "looked",
        "How each look was judged",
        [
            Column("label", "check", "label"),
            Column("kind", "kind", value=lambda item: item.row.check.kind),
            _at(appraisal),
            _gave_up(appraisal),
            Column("unlooked", "if empty", "words", '=IF({gave_up}=1,"could not be checked","not checked")'),
            Column("unwritten", "if empty", "words", '=IF({gave_up}=1,"could not be measured","not measured")'),
            *(column for phase in PHASES for column in phase_columns(phase)),
        ],
        appraisal.looked,
    )


def standing_block(appraisal: Appraisal) -> Block:
    def either(column: str, words: str) -> str:
        number = lookup(f"judging:{column}", "{label}", "judging:label")
        return f"=IFERROR({number},{words})"

    def looked_word(phase: str) -> str:
        return lookup(f"looked:verdict_{phase}", "{label}", "looked:label")

    def is_good(word: str) -> str:
        return f'OR({word}="within limit",{word}="no fault seen",{word}="recorded")'

    def made(phase: str) -> Column:
        formula = f'=IF(OR({{verdict_{phase}}}="not measured",{{verdict_{phase}}}="not checked"),0,1)'
        return Column(f"made_{phase}", f"made {phase} (1)", "whole", formula)

    bad = '{verdict_before}="outside limit",{verdict_before}="too close to call",{verdict_before}="fault seen"'
    return block(
        "standing",
        "Where each check stands",
        [
            Column("label", "check", "label"),
            Column("safety", "safety"),
            Column("road", "road"),
            Column("asked_when", "asked"),
            Column("why", "not measured, because", "words", '=INDEX({reading:why},{at})&""'),
            _at(appraisal),
            *(
                Column(f"verdict_{phase}", f"{phase}: verdict", "words", either(f"verdict_{phase}", looked_word(phase)))
                for phase in PHASES
            ),
            *(
                Column(f"drive_{phase}", f"{phase}: to drive", "words", either(f"drive_{phase}", looked_word(phase)))
                for phase in PHASES
            ),
            *(
                Column(f"in_date_{phase}", f"{phase}: gauge in date (1)", "whole", either(f"in_date_{phase}", "1"))
                for phase in PHASES
            ),
            Column("voids", "jobs done since", "whole", "=" + lookup("again:voids", "{label}", "again:label")),
            made("before"),
            made("after"),
            Column(
                "asked",
                "asked (1)",
                "whole",
                '=IF({asked_when}="always",1,IF({asked_when}="after work",IF({voids}>0,1,0),'
                "IF({made_before}+{made_after}>0,1,0)))",
            ),
            Column(
                "latest",
                "latest word, to drive",
                "words",
                '=IF({made_after}=1,{drive_after},IF({voids}=0,{drive_before},"not measured after work"))',
            ),
            Column("in_date", "gauge in date (1)", "whole", "=IF({made_after}=1,{in_date_after},{in_date_before})"),
            Column("good", "acceptable (1)", "whole", f"=IF(AND({{in_date}}=1,{is_good('{latest}')}),1,0)"),
            Column("bad_before", "bad before (1)", "whole", f"=IF(OR({bad}),1,0)"),
            Column("good_after", "good after (1)", "whole", f"=IF({is_good('{drive_after}')},1,0)"),
            Column(
                "unexplained",
                "became good unexplained (1)",
                "whole",
                '=IF(AND({bad_before}=1,{good_after}=1,{voids}=0,{why}<>"measured again"),1,0)',
            ),
            Column(
                "concern",
                "keeps it off the road (1)",
                "whole",
                '=IF(AND({safety}="yes",{asked}=1,OR({good}=0,{unexplained}=1)),1,0)',
            ),
            Column("order", "order", "whole"),
            Column(
                "rank",
                "place among those",
                "whole",
                '=IF({concern}=1,SUMIFS({standing:concern},{standing:order},"<="&{order}),0)',
                value=lambda item: appraisal.ranks[item.ref],
            ),
            Column(
                "made",
                "made (1)",
                "whole",
                '=IF(OR({asked}=0,{latest}="not measured",{latest}="not checked",{latest}="not measured after work"),0,1)',
            ),
        ],
        appraisal.standings,
    )
