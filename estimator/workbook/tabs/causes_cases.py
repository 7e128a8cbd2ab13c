"""Cases, repairs and tests of one group of causes, and what they come to on average. On Causes.

A state is what is known: the readings, with or without the bad or the good outcome of a test. In each, repairs stand in falling
weight over cost, and a case costs all of those down to its own; `diagnosis.advice.troubleshooting` has the same in Python.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from estimator.appraisal import Appraisal
from estimator.boxes.keys import CheckRef, check_ref
from estimator.diagnosis.advice.advise import Adviser, GroupAdvice, Tried
from estimator.diagnosis.advice.named_part import check_of, parts_of
from estimator.diagnosis.advice.troubleshooting import BEHIND, DIGITS, Case
from estimator.diagnosis.causes.arithmetic import said
from estimator.diagnosis.causes.hypotheses import At
from estimator.limits.judging.standing import UNMADE
from estimator.records.modes import READINGS
from estimator.workbook.book import Block, Column, Value, block
from estimator.workbook.forms import Form, words

NEVER = 1000000000
PARTS = 2


class State(NamedTuple):
    """Templates of a state: what repairing costs, the number of the repair that comes first, what letting be costs."""

    repairing: str
    first: str
    waiting: str


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


class GroupTables:
    """The tables of a group; `repairs`: the template of a row of ones, as many as it has repairs."""

    def __init__(self, appraisal: Appraisal, adviser: Adviser, number: int, found: GroupAdvice, repairs: str) -> None:
        self.appraisal, self.adviser = appraisal, adviser
        self.number, self.found, self.ones_of_repairs = number, found, repairs

    def blocks(self) -> Iterator[Block]:
        """Yield its tables."""
        yield self._cases()
        yield self._repairs()
        if self.found.tests:
            yield self._tests()

    def _cases(self) -> Block:
        number, found = self.number, self.found
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
        if may_be_named(self.appraisal, found):
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

    def _repairs(self) -> Block:
        """Numbers and costs of repairs side by side; a row of ones, as many as cases."""
        found = self.found
        form = Form(f"repair_{self.number}", max(len(found.repairs), len(found.cases)) + 1)
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

    def state(self, weight: str) -> State:
        """Return a state in which the cases have these weights."""
        number, found = self.number, self.found
        numbers, costs = (f"{{repair_{number}.{row}.c2..c{len(found.repairs) + 1}}}" for row in ("number", "cost"))
        ones = f"{{repair_{number}.ones.c2..c{len(found.cases) + 1}}}"
        first, second = (f"({{case_{number}:{name}}}={numbers})" for name in ("first", "second"))
        worth = f"(MMULT({ones},{weight}*SIGN({first}+{second}))/{costs}-{numbers}/{1 / BEHIND:.0f})"
        sound = f"({{case_{number}:first}}=0)*MAX({worth})"
        down = self.ones_of_repairs
        made = "+".join(f"({worth}>=MMULT({which}*{worth},{down})+{sound})" for which in (first, second))
        return State(
            f"SUMPRODUCT({weight}*({made}>0)*{costs})",
            f"SUMPRODUCT(({worth}=MAX({worth}))*{numbers})",
            f"SUMPRODUCT({weight}*{{case_{number}:unfound}})",
        )

    @property
    def as_read(self) -> State:
        """The state of the readings alone."""
        return self.state(f"{{case_{self.number}:p}}")

    def _tests(self) -> Block:
        number, found = self.number, self.found
        whole = f"{{step.g{number}.whole}}"

        def outcome(name: str) -> Column:
            def formula(row: tuple[int, Tried]) -> str:
                chance = f"{{case_{number}:bad_{row[0]}}}"
                weight = f"{{case_{number}:p}}*{chance if name == 'bad' else f'(1-{chance})'}"
                state = self.state(weight)
                return f"=MIN({state.repairing},IF({{step.g{number}.leave}}=1,{state.waiting},{NEVER}))"

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


def is_weighed(found: GroupAdvice) -> bool:
    """Return whether anything is worked out for a group: reading errors are read again, whatever that costs."""
    return found.group.id != READINGS and bool(found.repairs)


def may_be_named(appraisal: Appraisal, found: GroupAdvice) -> bool:
    """Return whether the car has the check in which a part of a group is named."""
    return check_ref(*check_of(found.group.id)) in {item.ref for item in appraisal.looked}


def _made(ref: CheckRef, again: bool) -> str:
    """A template: more than 0 where the outcome of a test stands in a check."""
    read = f"COUNTIFS({{third:check}},{{standing.{ref}.label}},{{third:read}},1)"
    latest = ",".join(f'{{standing.{ref}.latest}}="{word}"' for word in UNMADE)
    return read if again else f"{read}+IF(OR({latest}),0,1)"
