"""The next step: what repairs and tests come to on average, group by group. On Causes.

A state is what is known: the readings, with or without the bad or the good outcome of a test. In each, repairs stand in falling
weight over cost, and a case costs all of those down to its own; `diagnosis.advice.troubleshooting` has the same in Python.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.boxes.keys import CheckRef, check_ref
from estimator.diagnosis.advice.advice import next_steps
from estimator.diagnosis.advice.advise import (
    KINDS,
    LETTING_BE,
    Adviser,
    GroupAdvice,
    Step,
    Tried,
    words_of_step,
)
from estimator.diagnosis.advice.drafted_band import made
from estimator.diagnosis.advice.named_part import check_of, named, parts_of
from estimator.diagnosis.advice.ranked import Ranked, ranked_causes
from estimator.diagnosis.advice.troubleshooting import BEHIND, DIGITS, Case
from estimator.diagnosis.causes.arithmetic import Arithmetic, GroupSheet, said
from estimator.diagnosis.causes.hypotheses import At
from estimator.limits.judging.driving import NO_FINDING
from estimator.limits.judging.standing import UNMADE
from estimator.records.modes import READINGS
from estimator.workbook.book import Block, Column, Value, block
from estimator.workbook.forms import Form, words
from estimator.workbook.tabs.causes_heard import FIRST, HEAD, columns_of, pan_column, shared_numbers
from estimator.workbook.tabs.common import Pair

NEVER, NO_STEP = 1000000000, 100
NEXT = "advice.next.value"
PARTS = 2


@dataclass(frozen=True)
class Option:
    """A step that may be the next one, and its number among them."""

    number: int
    ref: str
    step: Step
    words: str

    @property
    def label(self) -> str:
        return self.ref

    @property
    def kind(self) -> int:
        return KINDS.index(self.step.kind) + 1


@dataclass(frozen=True)
class NumberedCase:
    """A case with the numbers of the repairs that cure it, twice the same where one does."""

    number: int
    case: Case
    needs: tuple[int, int]

    @property
    def ref(self) -> str:
        return f"c{self.number}"

    @property
    def causes(self) -> str:
        return said([At(mode, at, at) for mode, at in self.case.causes])


class NextStep:
    """The blocks of the next step."""

    def __init__(self, appraisal: Appraisal) -> None:
        self.appraisal = appraisal
        self.adviser = Adviser(appraisal)
        self.step, self.groups = next_steps(appraisal, self.adviser)
        self.causes: dict[str, list[Ranked]] = {}
        for row in ranked_causes(appraisal.diagnosis):
            self.causes.setdefault(row.group.id, []).append(row)
        currency = appraisal.record.shop.shop.currency
        self.options: list[Option] = []
        self.at: dict[tuple[int, str], int] = {}
        for number, found in enumerate(self.groups, 1):
            for name, step in _steps(found):
                at = self.at[number, name] = len(self.options) + 1
                self.options.append(Option(at, f"g{number}.{name}", step, words_of_step(step, currency)))

    def blocks(self) -> Iterator[Block]:
        for number, found in enumerate(self.groups, 1):
            if self._weighed(found):
                yield self._cases(number, found)
                yield self._repairs(number, found)
                if found.tests:
                    yield self._tests(number, found)
        yield block(
            "option",
            "Steps that may be next, with what they cost by themselves as drafted",
            [
                Column("label", "step", "label"),
                Column("kind", "1 remeasure, 2 test, 3 repair, 4 let be", "whole"),
                Column("number", "number", "whole"),
                Column("one", "one", "whole", value=lambda _: 1),
                Column("words", "in words"),
            ],
            self.options,
        )
        yield self._steps()
        yield self._next()

    @staticmethod
    def _weighed(found: GroupAdvice) -> bool:
        """Whether anything is worked out for a group: reading errors are read again, whatever that costs."""
        return found.group.id != READINGS and bool(found.repairs)

    # --- a group ----------------------------------------------------------------------------------------------------------

    def _cases(self, number: int, found: GroupAdvice) -> Block:
        order = {ref: at for at, ref in enumerate(found.repairs, 1)}
        rows = []
        for at, case in enumerate(found.cases, 1):
            needs = sorted(order[ref] for ref in case.needs) or [0]
            rows.append(NumberedCase(at, case, (needs[0], needs[-1])))
        steps = self.appraisal.diagnosis.arithmetic
        assert steps is not None
        group = [item.id for item in steps.groups].index(found.group.id) + 1
        of = "SUMIF({held_N:case},{number},{held_N:share})"
        if group > len(steps.systems):
            of = "SUMIF({row_N:causes},{causes},{row_N:share})"
        of = of.replace("N", str(group))
        if self._may_be_named(found):
            word = f"{{advice.named-{found.group.id}.value}}"
            any_part = "+".join(f"COUNTIF({{case_{number}:part_{at}}},{word})" for at in range(1, PARTS + 1))
            mine = ",".join(f"{{part_{at}}}={word}" for at in range(1, PARTS + 1))
            of += f'*IF({word}="",1,IF({any_part}=0,1,IF(OR({mine}),{{level.right.value}},{{level.wrong.value}})))'

        def part(at: int) -> Column:
            def value(row: NumberedCase) -> Value:
                return (*parts_of(row.case), *[""] * PARTS)[at - 1]

            return Column(f"part_{at}", f"part by which it may be named, {at}", value=value)

        def bad(at: int, tried: Tried) -> Column:
            def value(row: NumberedCase) -> Value:
                return tried.probe.bad(row.case)

            return Column(f"bad_{at}", f"bad outcome of test {at}", "si", unit="1", value=value)

        return block(
            f"case_{number}",
            f"Ways things may be: {found.group.id.replace('-', ' ')}",
            [
                Column("label", "case", "label", value=lambda row: row.ref),
                Column("causes", "causes", "words"),
                Column("number", "number", "whole"),
                *map(part, range(1, PARTS + 1)),
                Column("first", "cured by repair", "whole", value=lambda row: row.needs[0]),
                Column("second", "and by", "whole", value=lambda row: row.needs[1]),
                Column("unfound", "costs if it stays unfound", "si", unit="1", value=lambda row: row.case.unfound),
                *itertools.starmap(bad, enumerate(found.tests, 1)),
                Column("p", "weight", "si", f"={of}", unit="1", value=lambda row: row.case.probability),
            ],
            rows,
        )

    def _repairs(self, number: int, found: GroupAdvice) -> Block:
        """Numbers and costs of repairs side by side; a row of ones, as many as cases."""
        form = Form(f"repair_{number}", max(len(found.repairs), len(found.cases)) + 1)
        costs = [self.adviser.cost(ref) for ref in found.repairs]
        for ref, what, values in (
            ("number", "repair", list(range(1, len(costs) + 1))),
            ("cost", "its cost", costs),
            ("ones", "one for each case", [1] * len(found.cases)),
        ):
            cells = [
                (at, words(1, "")[1]._replace(value=value, look="si", unit="1")) for at, value in enumerate(values, 2)
            ]
            form.row(ref, [words(1, what, "small"), *cells])
        return form.block()

    def _state(self, number: int, found: GroupAdvice, weight: str) -> tuple[str, str, str]:
        """Templates of a state: what repairing costs, the number of the repair that comes first, what letting be costs."""
        numbers, costs = (f"{{repair_{number}.{row}.c2..c{len(found.repairs) + 1}}}" for row in ("number", "cost"))
        ones = f"{{repair_{number}.ones.c2..c{len(found.cases) + 1}}}"
        one, other = (self.options[self.at[number, f"repair-{at}"] - 1].ref for at in (1, len(found.repairs)))
        down = f"{{option.{one}.one~option.{other}.one}}"
        first, second = (f"({{case_{number}:{name}}}={numbers})" for name in ("first", "second"))
        worth = f"(MMULT({ones},{weight}*SIGN({first}+{second}))/{costs}-{numbers}/{1 / BEHIND:.0f})"
        sound = f"({{case_{number}:first}}=0)*MAX({worth})"
        made = "+".join(f"({worth}>=MMULT({which}*{worth},{down})+{sound})" for which in (first, second))
        return (
            f"SUMPRODUCT({weight}*({made}>0)*{costs})",
            f"SUMPRODUCT(({worth}=MAX({worth}))*{numbers})",
            f"SUMPRODUCT({weight}*{{case_{number}:unfound}})",
        )

    def _tests(self, number: int, found: GroupAdvice) -> Block:
        whole = f"{{step.g{number}.whole}}"

        def outcome(name: str) -> Column:
            def formula(row: tuple[int, Tried]) -> str:
                chance = f"{{case_{number}:bad_{row[0]}}}"
                weight = f"{{case_{number}:p}}*{chance if name == 'bad' else f'(1-{chance})'}"
                repairing, _, waiting = self._state(number, found, weight)
                return f"=MIN({repairing},IF({{advice.wait.value}}=1,{waiting},{NEVER}))"

            return Column(
                name,
                f"{name} outcome, times its weight",
                "si",
                formula,
                unit="1",
                value=lambda row: getattr(row[1], name),
            )

        def made(row: tuple[int, Tried]) -> str:
            flags = [_made(ref, row[1].again) for ref in row[1].rests]
            return f"=IF({'+'.join(flags) or 0}>0,1,0)"

        def cost(row: tuple[int, Tried]) -> Value:
            return NEVER if row[1].made else round(row[1].cost, DIGITS)

        return block(
            f"test_{number}",
            f"Tests one step ahead: {found.group.id.replace('-', ' ')}",
            [
                Column("label", "test", "label", value=lambda row: row[1].step.title),
                Column("itself", "costs by itself", "si", unit="1", value=lambda row: row[1].probe.cost),
                Column("made", "made (1)", "whole", made, value=lambda row: int(row[1].made)),
                outcome("bad"),
                outcome("good"),
                Column(
                    "cost",
                    "costs in all on average, if not made",
                    "si",
                    f"=IF({{made}}=1,{NEVER},ROUND({{itself}}+({{bad}}+{{good}})/{whole},{DIGITS}))",
                    unit="1",
                    value=cost,
                ),
            ],
            list(enumerate(found.tests, 1)),
            ref=lambda row: f"t{row[0]}",
        )

    # --- all groups -------------------------------------------------------------------------------------------------------

    def _steps(self) -> Block:
        rows = [row for row in enumerate(self.groups, 1) if row[1].group.causes]

        def causes(row: tuple[int, GroupAdvice], column: str) -> str:
            mine = self.causes[row[1].group.id]
            return f"{{cause.{mine[0].ref}.{column}~cause.{mine[-1].ref}.{column}}}"

        def share(row: tuple[int, GroupAdvice]) -> str:
            return f"=MAX({causes(row, 'weighed')})"

        def mere(row: tuple[int, GroupAdvice]) -> str:
            return f"=INDEX({causes(row, 'mere')},MATCH({{share}},{causes(row, 'weighed')},0))"

        def first(row: tuple[int, GroupAdvice]) -> str:
            return "=" + self._state(row[0], row[1], f"{{case_{row[0]}:p}}")[1]

        def repairing(row: tuple[int, GroupAdvice]) -> str:
            return "=" + self._state(row[0], row[1], f"{{case_{row[0]}:p}}")[0] + "/{whole}"

        def waiting(row: tuple[int, GroupAdvice]) -> str:
            return "=" + self._state(row[0], row[1], f"{{case_{row[0]}:p}}")[2] + "/{whole}"

        def most(row: tuple[int, GroupAdvice]) -> str:
            of = f"case_{row[0]}"
            return f"=MAX({{{of}.c2.p~{of}.c{len(row[1].cases)}.p}})/{{whole}}"

        def some(name: str, heading: str, formula: object, value: object) -> Column:
            """A column of the groups for which more is worked out."""
            return Column(
                name,
                heading,
                "si",
                lambda row: formula(row) if self._weighed(row[1]) else None,  # type: ignore[operator]
                unit="1",
                value=lambda row: value(row) if self._weighed(row[1]) else "",  # type: ignore[operator]
            )

        return block(
            "step",
            "The next step of each group",
            [
                Column("label", "group", "label", value=lambda row: row[1].group.id),
                Column(
                    "share", "its likeliest cause", "si", share, unit="1", value=lambda row: self._lead(row[1]).weighed
                ),
                Column("mere", "a reading error (1)", "whole", mere, value=lambda row: self._lead(row[1]).mere),
                some(
                    "whole",
                    "weight of all cases",
                    lambda row: f"=SUM({{case_{row[0]}:p}})",
                    lambda row: row[1].whole,
                ),
                some("most", "probability of the likeliest case with a cause", most, lambda row: row[1].most),
                some(
                    "first", "repair that comes first", first, lambda row: [*row[1].repairs].index(row[1].order[0]) + 1
                ),
                some("repairing", "repairing costs on average", repairing, lambda row: row[1].repairing),
                some("waiting", "letting be costs on average", waiting, lambda row: row[1].waiting),
                Column("at", "step", "whole", self._at, value=lambda row: self._number(row[0], row[1])),
                Column(
                    "rank",
                    "its place",
                    "si",
                    f"=IF({{at}}=0,{NO_STEP},INDEX({{option:kind}},{{at}})-{{share}})",
                    unit="1",
                    value=lambda row: self._rank(row[0], row[1]),
                ),
            ],
            rows,
            ref=lambda row: f"g{row[0]}",
        )

    def _at(self, row: tuple[int, GroupAdvice]) -> str:
        number, found = row
        again = self._cell(number, "again") if found.again else "0"
        wait = self._cell(number, "let-be")
        if found.group.id == READINGS:
            chosen = again
        elif not found.repairs:
            chosen = f"IF({{mere}}=1,{again},IF({{advice.wait.value}}=1,{wait},0))"
        else:
            repair = f"{self._cell(number, 'repair-1')}-1+{{first}}"
            if found.isolating:
                repair = (
                    f"IF(ROUND({{most}},{DIGITS})<{{level.little.value}},{self._cell(number, 'isolating')},{repair})"
                )
            repair = f"IF(AND({{advice.wait.value}}=1,{{waiting}}<{{repairing}}),{wait},{repair})"
            if found.tests:
                best = f"MIN({{test_{number}:cost}})"
                least = "IF({advice.wait.value}=1,MIN({waiting},{repairing}),{repairing})"
                test = f"{self._cell(number, 'test-1')}-1+MATCH({best},{{test_{number}:cost}},0)"
                repair = f"IF({best}<ROUND({least}-{{level.saves.value}},{DIGITS}),{test},{repair})"
            chosen = f"IF({{mere}}=1,{again},{repair})"
        return f"=IF(ROUND({{share}},{DIGITS})<{{level.shown.value}},0,{chosen})"

    def _cell(self, number: int, name: str) -> str:
        """The cell of a step's number."""
        return f"{{option.{self.options[self.at[number, name] - 1].ref}.number}}"

    def _lead(self, found: GroupAdvice) -> Ranked:
        """The likeliest cause of a group."""
        return max(self.causes[found.group.id], key=lambda row: row.weighed)

    def _number(self, number: int, found: GroupAdvice) -> int:
        """The option that is a group's step; 0 for none."""
        if found.step is None:
            return 0
        return self.at[number, next(name for name, step in _steps(found) if step is found.step)]

    def _rank(self, number: int, found: GroupAdvice) -> float:
        at = self._number(number, found)
        return self.options[at - 1].kind - self._lead(found).weighed if at else NO_STEP

    def _next(self) -> Block:
        again, best = "SUM({beside:again})", "MIN({step:rank})"
        reread = "INDEX({beside:words},MATCH(1,{beside:again},0))"
        chosen = f"INDEX({{option:words}},INDEX({{step:at}},MATCH({best},{{step:rank}},0)))"
        wait = f'AND({{state.driving.value}}="{NO_FINDING}",{{state.made.value}}={{state.asked.value}})'
        formulas = {
            "wait": f"IF({wait},1,0)",
            "next": f'IF({again}>0,{reread},IF({best}={NO_STEP},"",{chosen}))',
        }
        steps = self.appraisal.diagnosis.arithmetic
        assert steps is not None
        named_columns = columns_of(steps)
        looks = [at for (ident, name), at in named_columns.items() if name in _group(steps, ident).looks]
        formulas["made"] = (
            f"SUM({{{HEAD}.there.c{FIRST}..c{pan_column(steps) + len(shared_numbers(steps)) - 1}}})"
            + "".join(f"+ABS({{told.spread.c{at}}})" for at in looks)
        )
        rows = [
            Pair("made", "weighed checks made", made(self.appraisal)),
            Pair("wait", "nothing grounds the car, all is measured (1)", int(self.adviser.may_wait)),
            Pair("next", "next step", self.words),
        ]
        for found in self.groups:
            check, place = check_of(found.group.id)
            if self._may_be_named(found):
                boxes = [f"{{{keys.reading(check_ref(check, place), phase)}}}" for phase in ("after", "before")]
                ref = f"named-{found.group.id}"
                formulas[ref] = f'LOWER(TRIM(IF({boxes[0]}="",{boxes[1]},{boxes[0]})))'
                rows.append(Pair(ref, f"part named, {found.group.id}", named(self.appraisal, (check, place))))
        return block(
            "advice",
            "What is advised",
            [
                Column("label", "figure", "label"),
                Column(
                    "value",
                    "now",
                    lambda row: "words" if isinstance(row.value, str) else "whole",
                    lambda row: f"={formulas[row.ref]}",
                ),
            ],
            rows,
            kind="working",
        )

    @property
    def words(self) -> str:
        """The next step in a line; "" for none."""
        return words_of_step(self.step, self.appraisal.record.shop.shop.currency) if self.step else ""

    def _may_be_named(self, found: GroupAdvice) -> bool:
        """Whether the car has the check in which a part of a group is named."""
        return check_ref(*check_of(found.group.id)) in {item.ref for item in self.appraisal.looked}


def _group(steps: Arithmetic, ident: str) -> GroupSheet:
    return next(group for group in steps.groups if group.id == ident)


def _steps(found: GroupAdvice) -> Iterator[tuple[str, Step]]:
    """The steps that may be a group's next, by name."""
    if found.again:
        yield "again", found.again
    for at, tried in enumerate(found.tests, 1):
        yield f"test-{at}", tried.step
    if found.isolating:
        yield "isolating", found.isolating
    for at, step in enumerate(found.repairs.values(), 1):
        yield f"repair-{at}", step
    yield "let-be", LETTING_BE


def _made(ref: CheckRef, again: bool) -> str:
    """A template: more than 0 where the outcome of a test stands in a check."""
    read = f"COUNTIFS({{third:check}},{{standing.{ref}.label}},{{third:read}},1)"
    latest = ",".join(f'{{standing.{ref}.latest}}="{word}"' for word in UNMADE)
    return read if again else f"{read}+IF(OR({latest}),0,1)"
