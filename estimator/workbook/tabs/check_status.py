"""How each look was judged, and where each check stands. On the Limits tab."""

from __future__ import annotations

import itertools
from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.limits.judging.driving import Found, Standing
from estimator.limits.judging.verdict_words import PHASES
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
                f"family_{phase}",
                f"{phase}: as a family",
                "words",
                f'=IF({empty}=1,{{unlooked}},IF({raw}={{setting.family.value}},"no fault seen","fault seen"))',
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
            Column("unlooked", "if empty", "words", '=IF({gave_up}=1,"could not be checked","not checked")'),
            Column("unwritten", "if empty", "words", '=IF({gave_up}=1,"could not be measured","not measured")'),
            *(column for phase in PHASES for column in phase_columns(phase)),
        ],
        appraisal.looked,
    )


def standing_block(appraisal: Appraisal) -> Block:
    def found(phase: str, name: str, heading: str, look: str, otherwise: str, read: Callable[[Found], Value]) -> Column:
        number = lookup(f"judging:{name}_{phase}", "{label}", "judging:label")
        formula = f"=IFERROR({number},{otherwise})"
        return Column(
            f"{name}_{phase}", f"{phase}: {heading}", look, formula, value=lambda item: read(item.found(phase))
        )

    judged = {item.ref: item for item in appraisal.judged}

    def beside(phase: str) -> Callable[[Standing], Value]:
        def said(item: Standing) -> Value:
            return judged[item.ref].phases[phase].beside if item.ref in judged else item.found(phase).verdict

        return said

    def looked_word(phase: str) -> str:
        return lookup(f"looked:verdict_{phase}", "{label}", "looked:label")

    def is_good(word: str) -> str:
        return f'OR({word}="within limit",{word}="no fault seen",{word}="recorded")'

    def made(phase: str) -> Column:
        formula = f'=IF(OR({{verdict_{phase}}}="not measured",{{verdict_{phase}}}="not checked"),0,1)'
        return Column(f"made_{phase}", f"made {phase} (1)", "whole", formula)

    # The place of each check that keeps the car off the road among all that do; 0 for the others.
    places = itertools.accumulate(item.concern for item in appraisal.standings)
    ranks = {item.ref: place * item.concern for item, place in zip(appraisal.standings, places, strict=True)}
    bad = '{verdict_before}="outside limit",{verdict_before}="too close to call",{verdict_before}="fault seen"'
    return block(
        "standing",
        "Where each check stands",
        [
            Column("label", "check", "label"),
            Column("safety", "safety"),
            Column("road", "road"),
            Column("asked_when", "asked"),
            at_column(appraisal),
            Column("again", "measured again (1)", "whole", '=IF(INDEX({reading:why},{at})="measured again",1,0)'),
            *(
                found(phase, "verdict", "verdict", "words", looked_word(phase), lambda item: item.verdict)
                for phase in PHASES
            ),
            *(
                found(phase, "drive", "to drive", "words", looked_word(phase), lambda item: item.drive)
                for phase in PHASES
            ),
            *(
                found(phase, "in_date", "gauge in date (1)", "whole", "1", lambda item: item.in_date)
                for phase in PHASES
            ),
            *(
                Column(
                    f"beside_{phase}",
                    f"{phase}: beside its box",
                    "words",
                    f"=IFERROR({lookup(f'judging:beside_{phase}', '{label}', 'judging:label')},{{verdict_{phase}}})",
                    value=beside(phase),
                )
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
                "=IF(AND({bad_before}=1,{good_after}=1,{voids}=0,{again}=0),1,0)",
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
                value=lambda item: ranks[item.ref],
            ),
            Column(
                "gave_up",
                "given up (1)",
                "whole",
                '=IF(OR({latest}="could not be measured",{latest}="could not be checked"),1,0)',
            ),
            Column(
                "made",
                "made (1)",
                "whole",
                '=IF(OR({asked}*(1-{gave_up})=0,{latest}="not measured",{latest}="not checked",'
                '{latest}="not measured after work"),0,1)',
            ),
        ],
        appraisal.standings,
    )
