"""How each look was judged, and where each check stands. On the Limits tab."""

from __future__ import annotations

import itertools
from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.limits.judging.standing import Standing
from estimator.limits.judging.verdict_words import PHASES
from estimator.records import kind_of
from estimator.workbook.book import Block, Column, Value, block
from estimator.workbook.tabs.common import lookup
from estimator.workbook.tabs.judging import at_column, gave_up_column


def looked_block(appraisal: Appraisal) -> Block:
    def phase_columns(phase: str) -> list[Column]:
        raw, empty = f"INDEX({{reading:{phase}}},{{at}})", f"{{empty_{phase}}}"
        return [
            Column(
                f"empty_{phase}",
                f"{phase}: empty (1)",
                "whole",
                f'=IF({raw}="",1,0)',
                value=lambda item: item.empty(phase),
            ),
            Column(
                f"word_at_{phase}",
                f"{phase}: which word",
                "whole",
                f"=IFERROR(MATCH({raw},{{word:label}},0),0)",
                value=lambda item: item.word_at(phase),
            ),
            Column(
                f"look_{phase}",
                f"{phase}: as a look",
                "words",
                f"=IF({{word_at_{phase}}}=0,{{unlooked}},INDEX({{word:label}},{{word_at_{phase}}}))",
                value=lambda item: item.as_look(phase),
            ),
            Column(
                f"no_family_{phase}",
                f"{phase}: no family to compare (1)",
                "whole",
                f'=IF(OR({empty}=1,{{setting.family.value}}="not known"),1,0)',
                value=lambda item: item.no_family(phase),
            ),
            Column(
                f"family_{phase}",
                f"{phase}: as a family",
                "words",
                f"=IF({{no_family_{phase}}}=1,{{unlooked}},"
                f'IF({raw}={{setting.family.value}},"no fault found","fault found"))',
                value=lambda item: item.as_family(phase),
            ),
            Column(
                f"text_{phase}",
                f"{phase}: as a text",
                "words",
                f'=IF({empty}=1,{{unwritten}},"recorded")',
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
            at_column(appraisal),
            gave_up_column(appraisal),
            Column("unlooked", "if empty", "words", '=IF({gave_up}=1,"unable to check","not checked")'),
            Column("unwritten", "if empty", "words", '=IF({gave_up}=1,"unable to measure","not measured")'),
            *(column for phase in PHASES for column in phase_columns(phase)),
        ],
        appraisal.looked,
    )


GOOD_WORDS = '{WORD}="within limits",{WORD}="no fault found",{WORD}="recorded"'
BAD_WORDS = '{WORD}="out of limits",{WORD}="too close to limit",{WORD}="fault found"'


def _is(words: str, cell: str) -> str:
    """Whether a cell holds one of some words."""
    return f"OR({words.replace('WORD', cell)})"


def standing_block(appraisal: Appraisal) -> Block:
    # The place of each check that keeps the car off the road among all that do; 0 for the others.
    places = itertools.accumulate(item.concern for item in appraisal.standings)
    ranks = {item.ref: place * item.concern for item, place in zip(appraisal.standings, places, strict=True)}
    return block(
        "standing",
        "Where each check stands",
        [
            Column("label", "check", "label"),
            Column("ref", "in files of entries"),
            Column("safety", "safety"),
            Column("road", "road"),
            Column("asked_when", "asked"),
            Column("gauged", "by a gauge", value=lambda item: "yes" if item.row.check.measured else "no"),
            Column("quantity", "quantity", value=lambda item: kind_of(item.row.check.quantity)),
            at_column(appraisal),
            *(column for phase in PHASES for column in _found_columns(phase)),
            *(_beside(phase, appraisal) for phase in PHASES),
            *(
                Column(f"past_{name}", f"earlier readings, {heading}", "whole", value=_past(name))
                for name, heading in (
                    ("before", "bad, before"),
                    ("after", "bad, after"),
                    ("again", "bad, measured again"),
                    ("contradicted", "at odds"),
                    ("any", "any (1)"),
                )
            ),
            *(
                Column(name, heading, "whole", "=" + lookup(f"voiding:{name}", "{label}", "voiding:label"))
                for name, heading in (
                    ("voids", "jobs done that void it"),
                    ("cures", "that cure it"),
                    ("since", "done since"),
                    ("cures_since", "that cure it, since"),
                )
            ),
            *_latest_columns(),
            *_contested_columns(),
            *_state_columns(lambda item: ranks[item.ref]),
            *_shown_columns(appraisal),
        ],
        appraisal.standings,
    )


def _beside(phase: str, appraisal: Appraisal) -> Column:
    """What stands beside a box: the verdict; where a good reading contradicts another, that."""
    judged = {item.ref: item for item in appraisal.judged}

    def said(item: Standing) -> Value:
        return judged[item.ref].phases[phase].beside if item.ref in judged else item.found(phase).verdict

    number = lookup(f"judging:beside_{phase}", "{label}", "judging:label")
    formula = f"=IFERROR({number},{{verdict_{phase}}})"
    return Column(f"beside_{phase}", f"{phase}: beside its box", "words", formula, value=said)


def _past(name: str) -> Callable[[Standing], Value]:
    return lambda item: getattr(item.past, name)


def _found_columns(phase: str) -> list[Column]:
    """What was found in a phase, from the block that judged it."""

    def found(name: str, heading: str, look: str, otherwise: str) -> Column:
        number = lookup(f"judging:{name}_{phase}", "{label}", "judging:label")
        return Column(f"{name}_{phase}", f"{phase}: {heading}", look, f"=IFERROR({number},{otherwise})", value=of(name))

    def of(name: str) -> Callable[[Standing], Value]:
        return lambda item: getattr(item.found(phase), name)

    word = lookup(f"looked:verdict_{phase}", "{label}", "looked:label")
    in_order = f"{{visit.{phase}.in_order}}*"
    dated = lookup(f"judging:all_in_date_{phase}", "{label}", "judging:label")
    unmade = f'OR({{verdict_{phase}}}="not measured",{{verdict_{phase}}}="not checked")'
    return [
        found("verdict", "verdict", "words", word),
        found("drive", "to drive", "words", word),
        Column(
            f"in_date_{phase}",
            f"{phase}: gauge in date (1)",
            "whole",
            f"={in_order}IFERROR({dated},1)",
            value=of("in_date"),
        ),
        Column(
            f"entered_{phase}",
            f"{phase}: entered (1)",
            "whole",
            f'=IF(INDEX({{reading:{phase}}},{{at}})="",0,1)',
            value=of("entered"),
        ),
        Column(
            f"contradicted_{phase}",
            f"{phase}: contradicts another (1)",
            "whole",
            f"=IFERROR({lookup(f'judging:contradicted_{phase}', '{label}', 'judging:label')},0)",
            value=of("contradicted"),
        ),
        Column(f"made_{phase}", f"made {phase} (1)", "whole", f"=IF({unmade},0,1)"),
        Column(
            f"bad_{phase}",
            f"bad {phase}, to drive (1)",
            "whole",
            f"=IF({_is(BAD_WORDS, f'drive_{phase}')},1,0)",
            value=of("bad"),
        ),
    ]


def _latest_columns() -> list[Column]:
    """Whether a reading still counts after the jobs done, and the latest word."""

    def stands(phase: str, voids: str, cures: str) -> Column:
        formula = f"=IF(OR({{{voids}}}=0,AND({{bad_{phase}}}=1,{{{cures}}}=0)),1,0)"
        return Column(f"stands_{phase}", f"{phase}: still counts (1)", "whole", formula)

    def word(phase: str) -> str:
        return f'IF({{stands_{phase}}}=1,{{drive_{phase}}},"remeasure")'

    return [
        Column(
            "entered",
            "ever entered (1)",
            "whole",
            "=IF({entered_before}+{entered_after}+{past_any}>0,1,0)",
        ),
        Column(
            "asked",
            "asked (1)",
            "whole",
            '=IF(OR({asked_when}="always",{entered}=1,AND({asked_when}="after work",{voids}>0)),1,0)',
        ),
        stands("before", "voids", "cures"),
        stands("after", "since", "cures_since"),
        Column("latest", "latest word, to drive", "words", f"=IF({{made_after}}=1,{word('after')},{word('before')})"),
        Column("in_date", "gauge in date (1)", "whole", "=IF({made_after}=1,{in_date_after},{in_date_before})"),
        Column("latest_good", "a good word (1)", "whole", f"=IF({_is(GOOD_WORDS, 'latest')},1,0)"),
        Column("latest_bad", "a bad word (1)", "whole", f"=IF({_is(BAD_WORDS, 'latest')},1,0)"),
        Column("good", "acceptable (1)", "whole", "={latest_good}*{in_date}"),
    ]


def _contested_columns() -> list[Column]:
    """Readings that stand against each other: a bad one that became good, two that contradict."""

    def thirds(name: str, heading: str) -> Column:
        return Column(
            f"again_{name}",
            f"measured again, {heading}",
            "whole",
            f"=COUNTIFS({{third:check}},{{label}},{{third:{name}}},1)",
            value=lambda item: getattr(item.thirds, name),
        )

    return [
        thirds("read", "read"),
        thirds("bad", "bad"),
        thirds("other", "by another gauge"),
        thirds("agree", "that agrees"),
        Column(
            "uncured_before",
            "bad before work, uncured (1)",
            "whole",
            "=IF(AND({bad_before}*{made_after}+{past_before}>0,{cures}=0),1,0)",
        ),
        Column(
            "uncured_after",
            "bad after work, uncured (1)",
            "whole",
            "=IF(AND({past_after}+{past_again}>0,{cures_since}=0),1,0)",
        ),
        Column(
            "became_good", "became good, uncured (1)", "whole", "={latest_good}*MAX({uncured_before},{uncured_after})"
        ),
        Column(
            "confirmed",
            "confirmed (1)",
            "whole",
            "=IF(AND({again_agree}>0,{again_agree}={again_other},{past_again}=0),1,0)",
        ),
        Column(
            "unexplained",
            "became good unexplained (1)",
            "whole",
            "=IF(OR(AND({became_good}=1,{confirmed}=0),{again_bad}>0),1,0)",
        ),
        Column(
            "contradicted",
            "contradicts another (1)",
            "whole",
            "=IF(OR({contradicted_after}=1,AND({contradicted_before}=1,{voids}=0),"
            "AND({past_contradicted}>0,{again_read}=0)),1,0)",
        ),
        Column("contested", "readings at odds (1)", "whole", "=IF({unexplained}+{contradicted}>0,1,0)"),
    ]


def _state_columns(rank: Callable[[Standing], Value]) -> list[Column]:
    return [
        Column(
            "failed",
            "failed on the road (1)",
            "whole",
            "=IF(OR({latest_bad}=1,AND({bad_before}=1,{cures}=0,{latest_good}=0)),1,0)",
        ),
        Column("wrong", "not as it must be (1)", "whole", '=IF({road}="yes",{failed},1-{good})'),
        Column(
            "concern",
            "keeps it off the road (1)",
            "whole",
            '=IF(AND({safety}="yes",{asked}=1,{wrong}+{contested}>0),1,0)',
        ),
        Column(
            "open",
            "still to be made on the road (1)",
            "whole",
            '=IF(AND({road}="yes",{safety}="yes",{asked}=1,{good}=0,{concern}=0),1,0)',
        ),
        Column("order", "order", "whole"),
        Column(
            "rank",
            "place among those",
            "whole",
            '=IF({concern}=1,SUMIFS({standing:concern},{standing:order},"<="&{order}),0)',
            value=rank,
        ),
        Column(
            "gave_up",
            "given up (1)",
            "whole",
            '=IF(OR({latest}="unable to measure",{latest}="unable to check"),1,0)',
        ),
        Column(
            "unmade",
            "not made (1)",
            "whole",
            '=IF(OR({latest}="not measured",{latest}="not checked",{latest}="remeasure",'
            '{latest}="not believable"),1,0)',
        ),
        Column("made", "made (1)", "whole", "={asked}*(1-{gave_up})*(1-{unmade})"),
        Column(
            "unexamined",
            "nobody examined (1)",
            "whole",
            '=IF(AND({safety}="yes",{asked}=0,{asked_when}="on demand"),1,0)',
        ),
    ]


def _shown_columns(appraisal: Appraisal) -> list[Column]:
    """The reading that decides and its limits for driving, in the shown unit, for the Summary."""
    judged = {item.ref: item for item in appraisal.judged}

    def of_phase(item: Standing, phase: str) -> Value:
        return judged[item.ref].shown_in(phase) if item.ref in judged else ""

    def shown(phase: str) -> Callable[[Standing], Value]:
        return lambda item: of_phase(item, phase)

    def limit(side: str) -> Callable[[Standing], Value]:
        return lambda item: judged[item.ref].danger_shown(side) if item.ref in judged else ""

    def number(column: str) -> str:
        return f'IFERROR({lookup(f"judging:{column}", "{label}", "judging:label")},"")'

    return [
        Column(
            "decides",
            "phase that decides",
            "words",
            '=IF(AND({made_after}=1,OR({bad_before}=0,{bad_after}=1,{cures}>0,{confirmed}=1)),"after","before")',
        ),
        *(
            Column(
                f"shown_{phase}",
                f"judged {phase} work, in the unit of its check",
                "number-3",
                f"={number(f'shown_{phase}')}",
                value=shown(phase),
            )
            for phase in PHASES
        ),
        Column(
            "shown",
            "what decides, in the unit of its check",
            "number-3",
            '=IF({decides}="after",{shown_after},{shown_before})',
            value=lambda item: of_phase(item, item.decides),
        ),
        *(
            Column(
                f"{side}_shown",
                f"to drive, {words}, in the unit of its check",
                "number-3",
                f"={number(f'danger_{side}_shown')}",
                value=limit(side),
            )
            for side, words in (("low", "at least"), ("high", "at most"))
        ),
        Column("unit", "unit", value=lambda item: judged[item.ref].unit if item.ref in judged else ""),
    ]
