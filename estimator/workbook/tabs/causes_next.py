"""The next step: that of each group, and which of them comes first. On Causes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.boxes.keys import check_ref
from estimator.diagnosis.advice.advice import called_item, next_steps, not_believed
from estimator.diagnosis.advice.advise import (
    KINDS,
    LETTING_BE,
    Adviser,
    GroupAdvice,
    Step,
    words_of_step,
)
from estimator.diagnosis.advice.drafted_band import made
from estimator.diagnosis.advice.named_part import check_of, named
from estimator.diagnosis.advice.ranked import Ranked, ranked_causes
from estimator.diagnosis.advice.troubleshooting import DIGITS
from estimator.diagnosis.causes.arithmetic import Arithmetic, GroupSheet
from estimator.limits.judging.driving import NO_FINDING
from estimator.limits.judging.verdict_words import NOT_BELIEVABLE
from estimator.records.modes import READINGS
from estimator.workbook.book import Block, Column, block
from estimator.workbook.tabs.causes_cases import GroupTables, is_weighed, may_be_named
from estimator.workbook.tabs.causes_heard import FIRST, HEAD, columns_of, pan_column, shared_numbers
from estimator.workbook.tabs.common import Pair
from estimator.workbook.tabs.signs import FINDINGS, picked_cell

NO_STEP = 100
NEXT = "advice.next.value"


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


class NextStep:
    """The blocks of the next step."""

    def __init__(self, appraisal: Appraisal) -> None:
        self.appraisal = appraisal
        self.adviser = Adviser(appraisal)
        self.step, self.groups = next_steps(appraisal, self.adviser)
        self.causes: dict[str, list[Ranked]] = {}
        for row in ranked_causes(appraisal.diagnosis):
            self.causes.setdefault(row.group.id, []).append(row)
        self.currency = appraisal.record.shop.shop.currency
        self.options: list[Option] = []
        self.at: dict[tuple[int, str], int] = {}
        for number, found in enumerate(self.groups, 1):
            for name, step in _steps(found):
                at = self.at[number, name] = len(self.options) + 1
                self.options.append(Option(at, f"g{number}.{name}", step, words_of_step(step, self.currency)))

    def blocks(self) -> Iterator[Block]:
        for number, found in enumerate(self.groups, 1):
            if is_weighed(found):
                yield from self._tables(number, found).blocks()
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

    def _tables(self, number: int, found: GroupAdvice) -> GroupTables:
        one, other = (self.options[self.at[number, f"repair-{at}"] - 1].ref for at in (1, len(found.repairs)))
        return GroupTables(self.appraisal, self.adviser, number, found, f"{{option.{one}.one~option.{other}.one}}")

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
            return f"={self._tables(*row).as_read.first}"

        def repairing(row: tuple[int, GroupAdvice]) -> str:
            return f"={self._tables(*row).as_read.repairing}/{{whole}}"

        def waiting(row: tuple[int, GroupAdvice]) -> str:
            return f"={self._tables(*row).as_read.waiting}/{{whole}}"

        def leave(row: tuple[int, GroupAdvice]) -> str:
            found = picked_cell(row[1].group.id, FINDINGS) if row[1].group.id != READINGS else "1"
            return f"=IF(OR({{advice.wait.value}}=1,{found}=0),1,0)"

        def most(row: tuple[int, GroupAdvice]) -> str:
            of = f"case_{row[0]}"
            return f"=MAX({{{of}.c2.p~{of}.c{len(row[1].cases)}.p}})/{{whole}}"

        def some(name: str, heading: str, formula: object, value: object) -> Column:
            """A column of the groups for which more is worked out."""
            return Column(
                name,
                heading,
                "si",
                lambda row: formula(row) if is_weighed(row[1]) else None,  # type: ignore[operator]
                unit="1",
                value=lambda row: value(row) if is_weighed(row[1]) else "",  # type: ignore[operator]
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
                some("leave", "may be left as it is (1)", leave, lambda row: int(self.adviser.may_leave(row[1].group))),
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
        group = f"group.{found.group.id}"
        shown = f"ROUND({{share}},{DIGITS})>={{level.shown.value}}"
        again, mere, chosen = "0", [shown, "{mere}=1"], "0"
        if found.again:
            again = self._cell(number, "again")
            rows = [item.row.label for item in self.adviser.repeated(found.again.place)]
            read = "+".join(f'COUNTIFS({{third:check}},"{label}",{{third:read}},1)' for label in rows)
            mere.append(f"{read or 0}=0")
        if found.group.id != READINGS:
            chosen = f"IF({shown},{self._mending(number, found)},0)"
        if found.tests and found.repairs and found.group.id != READINGS:
            best = f"MIN({{test_{number}:cost}})"
            least = "IF({leave}=1,MIN({waiting},{repairing}),{repairing})"
            test = f"{self._cell(number, 'test-1')}-1+MATCH({best},{{test_{number}:cost}},0)"
            pays = f"{best}<ROUND({least}-{{level.saves.value}},{DIGITS})"
            chosen = f"IF(AND({{{group}.ranked}}=1,{pays}),{test},{chosen})"
        chosen = f"IF(AND({','.join(mere)}),{again},{chosen})"
        if found.diagnosis:
            chosen = f"IF({{{group}.gauged}}=1,{chosen},IF({shown},{self._cell(number, 'diagnosis')},0))"
        return f"={chosen}"

    def _mending(self, number: int, found: GroupAdvice) -> str:
        """The number of the repair that comes first, of the test that says which part is at fault, or of letting be."""
        left = f"IF({{advice.wait.value}}=1,{self._cell(number, 'let-be')},0)"
        if not found.repairs:
            return left
        repair = f"{self._cell(number, 'repair-1')}-1+{{first}}"
        if found.isolating:
            little = f"ROUND({{most}},{DIGITS})<{{level.little.value}}"
            if may_be_named(self.appraisal, found):
                little = f'AND({little},{{advice.named-{found.group.id}.value}}="")'
            repair = f"IF({little},{self._cell(number, 'isolating')},{repair})"
        return f"IF(AND({{leave}}=1,{{waiting}}<{{repairing}}),{left},{repair})"

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
        offers, called = "ROWS({offer:number})", "{advice.called.value}"
        amount = f"INDEX({{offer:amount}},{called})"
        item = f'"Next: "&INDEX({{offer:title}},{called})&IF({amount}=0,"",", "&FIXED({amount},0)&" {self.currency}")'
        odd = "{advice.odd.value}"
        odd = "{advice.odd.value}"
        remeasure = f'"Next: Remeasure: "&INDEX({{standing:label}},{odd})'
        otherwise = f'IF({called}<={offers},{item},IF({best}={NO_STEP},"",{chosen}))'
        wait = f'AND({{state.driving.value}}="{NO_FINDING}",{{state.made.value}}={{state.asked.value}})'
        formulas = {
            "wait": f"IF({wait},1,0)",
            "called": f'{offers}+1-SUMPRODUCT(MAX(({{offer:called_by}}<>"")*({offers}+1-{{offer:number}})))',
            "odd": f'IFERROR(MATCH("{NOT_BELIEVABLE}",{{standing:latest}},0),0)',
            "next": f"IF({again}>0,{reread},IF({odd}>0,{remeasure},IF({best}<{{level.waits.value}},{chosen},{otherwise})))",
        }
        steps = self.appraisal.diagnosis.arithmetic
        assert steps is not None
        named_columns = columns_of(steps)
        looks = [at for (ident, name), at in named_columns.items() if name in _group(steps, ident).looks]
        formulas["made"] = (
            f"SUM({{{HEAD}.there.c{FIRST}..c{pan_column(steps) + len(shared_numbers(steps)) - 1}}})"
            + "".join(f"+ABS({{{HEAD}.spread.c{at}}})" for at in looks)
        )
        rows = [
            Pair("made", "weighed checks made", made(self.appraisal)),
            Pair("wait", "nothing grounds the car, all is measured (1)", int(self.adviser.may_wait)),
            Pair("called", "first item of the estimate that a finding requires", self.called),
            Pair("odd", "first check whose latest reading isn't believable", self.odd),
            Pair("next", "next step", self.words),
        ]
        for found in self.groups:
            check, place = check_of(found.group.id)
            if may_be_named(self.appraisal, found):
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
        return words_of_step(self.step, self.currency) if self.step else ""

    @property
    def odd(self) -> int:
        """The place of the first check whose latest reading isn't believable; 0 for none."""
        item = not_believed(self.appraisal)
        return self.appraisal.standings.index(item) + 1 if item else 0

    @property
    def called(self) -> int:
        """The number of the first item that a finding calls for; the one after the last where none is."""
        item = called_item(self.appraisal)
        return item.number if item else len(self.appraisal.offers) + 1


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
    if found.diagnosis:
        yield "diagnosis", found.diagnosis
    for at, step in enumerate(found.repairs.values(), 1):
        yield f"repair-{at}", step
    yield "let-be", LETTING_BE
