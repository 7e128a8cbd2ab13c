"""How each look was judged, and where each check stands. On Workings."""

from __future__ import annotations

import itertools
from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.boxes.keys import CheckRef
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.standing import UNMADE, VOID, Standing
from estimator.limits.judging.verdict_words import (
    BAD,
    COULD_NOT,
    COULD_NOT_CHECK,
    FAULT,
    GOOD,
    NO_FAULT,
    NOT_BELIEVABLE,
    NOT_CHECKED,
    NOT_MEASURED,
    PHASES,
    RECORDED,
)
from estimator.limits.judging.visual_checks import Looked
from estimator.records import kind_of
from estimator.records.fields import UNKNOWN_FAMILY
from estimator.workbook.book import Block, Column, Value, block
from estimator.workbook.tabs.form_rows import form_pages, numbers_of
from estimator.workbook.tabs.phase_columns import blank_formula, drive_name
from estimator.workbook.tabs.steps import check_column

NOT_MADE = (*UNMADE, NOT_BELIEVABLE, COULD_NOT, COULD_NOT_CHECK)


def looked_block(appraisal: Appraisal) -> Block:
    def verdict(phase: str) -> Column:
        box = f"{{reading@{phase}}}"

        def formula(item: Looked) -> str:
            if item.row.check.kind == "look":
                return f"=IFERROR(INDEX({{word:label}},MATCH({box},{{word:label}},0)),{{blank_{phase}}})"
            if item.row.check.kind == "family":
                found = f'IF({box}={{setting.family.value}},"{NO_FAULT}","{FAULT}")'
                return f"=IF({{no_family_{phase}}}=1,{{blank_{phase}}},{found})"
            return f'=IF({box}="",{{blank_{phase}}},"{RECORDED}")'

        return Column(f"verdict_{phase}", f"{phase}: verdict", "words", formula, value=lambda item: item.verdict(phase))

    def blank(phase: str) -> Column:
        def formula(item: Looked) -> str | None:
            text = item.row.check.kind == "text"
            words = (NOT_MEASURED, COULD_NOT) if text else (NOT_CHECKED, COULD_NOT_CHECK)
            return blank_formula(item.row.check, phase, *words)

        return Column(f"blank_{phase}", f"{phase}: if empty", "words", formula, value=lambda item: item.blank(phase))

    def no_family(phase: str) -> Column:
        def formula(item: Looked) -> str | None:
            none = f'OR({{reading@{phase}}}="",{{setting.family.value}}="{UNKNOWN_FAMILY}")'
            return f"=IF({none},1,0)" if item.row.check.kind == "family" else None

        def value(item: Looked) -> Value:
            return "" if formula(item) is None else item.no_family(phase)

        return Column(f"no_family_{phase}", f"{phase}: no family to compare (1)", "whole", formula, value=value)

    return block(
        "looked",
        "How each look was judged",
        [
            Column("label", "check", "label"),
            Column("kind", "kind", value=lambda item: item.row.check.kind),
            *map(blank, PHASES),
            *map(no_family, PHASES),
            *map(verdict, PHASES),
        ],
        appraisal.looked,
    )


def _one_of(cell: str, words: tuple[str, ...]) -> str:
    return "OR(" + ",".join(f'{cell}="{word}"' for word in words) + ")"


def verdict_cell(appraisal: Appraisal, ref: CheckRef, phase: str) -> str:
    """The cell that holds the verdict of a check in a phase, as a template names it."""
    block_name = "judging" if ref in {item.ref for item in appraisal.judged} else "looked"
    return f"{{{block_name}.{ref}.verdict_{phase}}}"


def standing_block(appraisal: Appraisal) -> Block:
    return _Standings(appraisal).block()


class _Standings:
    """The columns of the block; a number is judged in one block, what is looked at in another."""

    def __init__(self, appraisal: Appraisal) -> None:
        self.appraisal = appraisal
        self.judged: dict[CheckRef, Judged] = {item.ref: item for item in appraisal.judged}
        self.numbers = numbers_of(form_pages(appraisal))
        self.positions = {item.ref: number for number, item in enumerate(appraisal.standings, 1)}

    def block(self) -> Block:
        items = self.appraisal.standings
        places = itertools.accumulate(item.concern for item in items)
        ranks = {item.ref: place * item.concern for item, place in zip(items, places, strict=True)}
        return block(
            "standing",
            "Where each check stands",
            [
                Column("label", "check", "label"),
                Column("ref", "in files of entries"),
                Column("told", "to the customer", value=lambda item: item.row.told),
                Column("safety", "safety"),
                Column("road", "road"),
                Column("asked_when", "required"),
                Column("gauged", "by a gauge", value=lambda item: "yes" if item.row.check.measured else "no"),
                Column("quantity", "quantity", value=lambda item: kind_of(item.row.check.quantity)),
                Column("order", "order", "whole"),
                Column("no", "number on the form", "whole", value=lambda item: self.numbers[item.ref]),
                *(
                    Column(f"past_{name}", f"earlier readings, {heading}", "whole", value=_past(name), sparse=True)
                    for name, heading in (
                        ("before", "bad, before"),
                        ("after", "bad, after"),
                        ("again", "bad, remeasured"),
                        ("contradicted", "at odds"),
                        ("any", "any (1)"),
                    )
                ),
                *self._made(),
                *self._voided(),
                *self._latest(),
                *self._contested(),
                *self._state(lambda item: ranks[item.ref]),
            ],
            items,
        )

    def _found(self, item: Standing, name: str, phase: str) -> str:
        """The cell of what was found of a check in a phase."""
        if item.ref not in self.judged:
            return f"{{looked@verdict_{phase}}}"
        column = drive_name(self.judged[item.ref], phase) if name == "drive" else f"{name}_{phase}"
        return f"{{judging@{column}}}"

    def _made(self) -> list[Column]:
        def bad(phase: str) -> Column:
            def formula(item: Standing) -> str:
                cell = self._found(item, "drive", phase)
                words = tuple(word for word in BAD if word != FAULT) if item.ref in self.judged else (FAULT,)
                return f"=IF({_one_of(cell, words)},1,0)"

            return _whole(f"bad_{phase}", f"bad {phase}, to drive (1)", formula, lambda item: item.found(phase).bad)

        def made(item: Standing) -> str:
            words = (NOT_MEASURED,) if self._is_text(item) else (NOT_CHECKED,)
            return f"=IF({_one_of(self._found(item, 'verdict', 'after'), words)},0,1)"

        def in_date(item: Standing) -> str:
            if item.ref not in self.judged:
                return "=IF({made_after}=1,{visit.after.in_order},1)"
            if not item.row.rests_on and not item.row.check.measured:
                return "=IF({made_after}=1,{visit.after.in_order},1)"
            name = "all_in_date" if item.row.rests_on else "in_date"
            return f"=IF({{made_after}}=1,{{visit.after.in_order}}*{{judging@{name}_after}},{{judging@{name}_before}})"

        empty = 'AND({reading@before}="",{reading@after}="",{past_any}=0)'
        return [
            *map(bad, PHASES),
            _whole("made_after", "made after (1)", made),
            _some("in_date", "gauges in calibration (1)", _of_safety(in_date)),
            _whole("entered", "ever entered (1)", lambda _: f"=IF({empty},0,1)"),
        ]

    def _is_text(self, item: Standing) -> bool:
        return item.ref in self.judged or item.row.check.kind == "text"

    def _voided(self) -> list[Column]:
        def sums(flag: str, column: str, mark: str) -> str:
            return f'SUMIFS({{line:{flag}}},{{voiding:{column}}},"{mark}")'

        def formula(made: Callable[[str], str]) -> Callable[[Standing], str]:
            return lambda item: "=" + made(check_column(self.positions[item.ref]))

        return [
            _whole(
                "voids",
                "jobs done that void it",
                formula(lambda column: sums("done_flag", column, ">0") + "+" + sums("touched", column, ">0")),
            ),
            _whole("cures", "that cure it", formula(lambda column: sums("done_flag", column, ">1"))),
            _whole("since", "done since", formula(lambda column: sums("since_flag", column, ">0"))),
            _whole("cures_since", "that cure it, since", formula(lambda column: sums("since_flag", column, ">1"))),
        ]

    def _latest(self) -> list[Column]:
        """The latest word: any job done voids a good reading, only its cure voids a bad one."""

        def latest(item: Standing) -> str:
            void = "IF({made_after},{since}*MAX(1-{bad_after},{cures_since}),{voids}*MAX(1-{bad_before},{cures}))"
            after, before = (self._found(item, "drive", phase) for phase in ("after", "before"))
            word = f"{{unmade.{VOID.replace(' ', '-')}.label}}"
            return f"=IF({void}>0,{word},IF({{made_after}},{after},{before}))"

        def asked(item: Standing) -> str | None:
            if item.asked_when == "always":
                return None
            if item.row.check.unasked:
                return f'={{entered}}*IF({{latest}}="{VOID}",0,1)'
            return '=IF(OR({entered}=1,AND({asked_when}="after work",{voids}>0)),1,0)'

        return [
            _some("asked", "required (1), where not always", asked),
            Column("latest", "latest word, to drive", "words", latest),
            _some("latest_good", "a good word (1)", _of_safety(lambda _: f"=IF({_one_of('{latest}', GOOD)},1,0)")),
        ]

    @staticmethod
    def _contested() -> list[Column]:
        """Readings that stand against each other: a bad one that became good, two that contradict."""

        def count(flag: str) -> str:
            return f"COUNTIFS({{third:check}},{{label}},{{third:{flag}}},1)"

        bad_before = "IF(AND({bad_before}*{made_after}+{past_before}>0,{cures}=0),1,0)"
        bad_after = "IF(AND({past_after}+{past_again}>0,{cures_since}=0),1,0)"
        return [
            _some(
                "became_good",
                "became good, uncured (1)",
                _of_safety(lambda _: f"={{latest_good}}*MAX({bad_before},{bad_after})"),
            ),
            _some(
                "confirmed",
                "confirmed (1)",
                _of_safety(lambda _: f"=IF(AND({count('agree')}>0,{count('apart')}+{{past_again}}=0),1,0)"),
            ),
            _some(
                "unexplained",
                "became good unexplained (1)",
                _of_safety(lambda _: f"=IF(OR(AND({{became_good}}=1,{{confirmed}}=0),{count('bad')}>0),1,0)"),
            ),
        ]

    def _state(self, rank: Callable[[Standing], Value]) -> list[Column]:
        def contradicted(item: Standing) -> str:
            past = "{past_contradicted}*IF(COUNTIFS({third:check},{label},{third:read},1)=0,1,0)"
            if item.ref not in self.judged or not self.judged[item.ref].against.before:
                return f"=IF({past}>0,1,0)"
            before = "{judging@contradicted_before}*(1-SIGN({voids}))"
            return f"=IF({{judging@contradicted_after}}+{before}+{past}>0,1,0)"

        def wrong(item: Standing) -> str:
            if item.road == "no":
                return "=1-{latest_good}*{in_date}"
            bad = _one_of("{latest}", BAD)
            return f"=IF(OR({bad},AND({{bad_before}}=1,{{cures}}=0,{{latest_good}}=0)),1,0)"

        def concern(item: Standing) -> str | None:
            odd = "{wrong}+{unexplained}+{contradicted}>0"
            return f"=IF({_required(item, odd)},1,0)" if item.safety == "yes" else None

        def open_(item: Standing) -> str | None:
            if item.road == "no" or item.safety == "no":
                return None
            return f"=IF(AND({_required(item, '{latest_good}*{in_date}=0')},{{concern}}=0),1,0)"

        def ranked(item: Standing) -> str | None:
            counted = 'SUMIFS({standing:concern},{standing:order},"<="&{order})'
            return f"=IF({{concern}}=1,{counted},0)" if item.safety == "yes" else None

        def unexamined(item: Standing) -> str | None:
            return "=1-{asked}" if item.safety == "yes" and item.asked_when == "on demand" else None

        decides = "AND({made_after}=1,OR({bad_before}=0,{bad_after}=1,{cures}>0,{confirmed}=1))"
        return [
            _some("contradicted", "contradicts another (1)", _of_safety(contradicted)),
            _some("wrong", "not as it must be (1)", _of_safety(wrong)),
            _some("concern", "grounds the car (1)", concern),
            _some("open", "still to be made on the road (1)", open_),
            _some("rank", "place among those", ranked, rank),
            _whole("made", "made (1)", _made),
            _some("unexamined", "not examined (1)", unexamined),
            _some("decides", "phase that decides", _of_safety(lambda _: f'=IF({decides},"after","before")')),
        ]


def _required(item: Standing, condition: str) -> str:
    """A condition of the checks that are required."""
    return condition if item.asked_when == "always" else f"AND({{asked}}=1,{condition})"


def _made(item: Standing) -> str:
    made = "IF(ISNUMBER(MATCH({latest},{unmade:label},0)),0,1)"
    return f"={made}" if item.asked_when == "always" else f"={{asked}}*{made}"


def _of_safety(formula: Callable[[Standing], str]) -> Callable[[Standing], str | None]:
    """The formula of a check of safety: of the others nothing that grounds a car is worked out."""
    return lambda item: formula(item) if item.safety == "yes" else None


def _past(name: str) -> Callable[[Standing], Value]:
    return lambda item: getattr(item.past, name)


def _whole(
    name: str,
    heading: str,
    formula: Callable[[Standing], str | None],
    value: Callable[[Standing], Value] | None = None,
) -> Column:
    return Column(name, heading, "whole", formula, value=value)


def _some(
    name: str,
    heading: str,
    formula: Callable[[Standing], str | None],
    value: Callable[[Standing], Value] | None = None,
) -> Column:
    """A column of the rows alone that a formula concerns."""

    def read(item: Standing) -> Value:
        if formula(item) is None:
            return ""
        found: Value = getattr(item, name) if value is None else value(item)
        return found

    return _whole(name, heading, formula, read)
