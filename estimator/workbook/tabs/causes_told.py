"""The readings side by side, as the rows of hypotheses need them: the first rows of Causes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from estimator.diagnosis.causes.arithmetic import Arithmetic, GroupSheet
from estimator.diagnosis.causes.diagnose import LAMPS, PRESSES
from estimator.diagnosis.causes.evidence import Look, Reading
from estimator.diagnosis.causes.scenarios import WATCHED
from estimator.diagnosis.causes.weigh import IDLE_SPEED, PAN, scale_of, wrong
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.verdict_words import FAULT, NO_FAULT
from estimator.workbook.book import Block, Cell
from estimator.workbook.forms import Form, Placed, live, words
from estimator.workbook.tabs.causes_heard import (
    FIGURES,
    HEAD,
    TWO,
    TWO_AT,
    columns_of,
    heard_range,
    is_repeated,
    latest,
    pan_column,
    shared_numbers,
    uncertain,
    voided,
)
from estimator.workbook.tabs.common import CAUTIONS

# What each of these rows is about; the first four are used in every hypothesis, whose formula has room for their short addresses.
ROWS = (
    ("value", "reading, SI"),
    ("spread", "its variance twice, less than 0; of a look: 1 if a fault was found, -1 if none"),
    ("believed", "some hypothesis explains it (1)"),
    ("scale", "range of wrong readings, times the share of the others, over √π"),
    ("rest", "how often one is wrong, less 1"),
    ("there", "a reading stands (1)"),
)


def weighed(value: str, u: str, mean: str, spread: str, believed: str, scale: str, rest: str) -> str:
    """The template of a reading's density over the range of wrong ones; 1 where it isn't believed."""
    normal = f"{scale}*EXP(({value}-{mean})^{TWO}/({spread}+{u}))/SQRT(-{spread}-{u})"
    return f"1+{believed}*({normal}+{rest})"


class Told:
    """The readings side by side, group by group, and the pan last."""

    def __init__(self, steps: Arithmetic, judged: Iterable[Judged]) -> None:
        self.steps = steps
        self.judged = {f"{item.row.check.id}.{item.row.place.id}": item for item in judged}
        self.at = columns_of(steps)
        self.pan = pan_column(steps)

    def cell(self, row: str, column: int) -> str:
        """The template of a cell."""
        return f"{{{HEAD}.{row}.c{column}}}"

    def span(self, row: str, group: GroupSheet, names: tuple[str, ...]) -> str:
        """The template of the cells of several readings, which stand side by side."""
        first, last = self.at[group.id, names[0]], self.at[group.id, names[-1]]
        return f"{{{HEAD}.{row}.c{first}..c{last}}}"

    def block(self) -> Block:
        shared = shared_numbers(self.steps)
        form = Form(HEAD, self.pan + len(shared) - 1)
        names = [words(column, f"{group} {name}") for (group, name), column in self.at.items()]
        form.row("names", [*names, *(words(column, name) for column, name in enumerate(shared, self.pan))])
        cells = [*self._cells()]
        for ref, what in ROWS:
            two = [(TWO_AT, _constant(2.0))] if ref == "value" else []
            form.row(ref, [words(1, what, "small"), *two, *(cell for row, cell in cells if row == ref)])
        for number, line in enumerate(CAUTIONS):
            form.row(f"caution-{number}", [words(1, line, "caution")])
        return form.block()

    def _cells(self) -> Iterator[tuple[str, Placed]]:
        for number, group in enumerate(self.steps.groups, 1):
            for at, name in enumerate(group.names, 1):
                told = group.heard.readings.get(name)
                columns = f"{{row_{number}:mean_{at}}}", f"{{row_{number}:spread_{at}}}"
                believed = name in group.believed.readings
                yield from self._number(
                    group.id, self.at[group.id, name], group.checks[name], name, told, believed, columns
                )
            for name in group.looks:
                yield from self._look(self.at[group.id, name], group.checks[name], group.heard.looks.get(name))
        for name, heard, believed_one in (
            (PAN, self.steps.shared.pan, self.steps.believed.pan),
            (IDLE_SPEED, self.steps.shared.idle, self.steps.believed.idle),
        ):
            if name in shared_numbers(self.steps):
                of = "pan" if name == PAN else "idle"
                column = self.pan + (name != PAN)
                rows = f"{{{of}:mean}}", f"{{{of}:spread}}"
                yield from self._number("", column, f"{name}.car", name, heard, believed_one is not None, rows)

    def _number(
        self,
        group: str,
        column: int,
        check: str,
        name: str,
        told: Reading | None,
        believed: bool,
        rows: tuple[str, str],
    ) -> Iterator[tuple[str, Placed]]:
        def cell(row: str) -> str:
            return self.cell(row, column)

        often, scale = (of(name.partition(".")[0]) for of in (wrong, scale_of))
        there, value, u = self._heard(check)
        if name in WATCHED:
            better = self.cell("believed", self.at[group, WATCHED[name]]) if (group, WATCHED[name]) in self.at else "0"
            dark = f'{{seen.{LAMPS}.word}}="{FAULT}"'  # presses to a lamp that is dark at key-on say nothing
            there = f"IF({f'OR({better}=1,{dark})' if name == PRESSES else f'{better}=1'},0,{there})"
        off = f"({cell('value')}-{rows[0]})^{TWO}/({rows[1]}+{cell('spread')})"
        normal = f"{cell('scale')}*EXP({off})/SQRT(-{rows[1]}-{cell('spread')})"
        for row, formula, found in (
            ("value", f"IF({cell('there')}=1,{value},0)", told.value if told else 0.0),
            ("spread", f"IF({cell('there')}=1,-{TWO}*({u})^{TWO},0)", -told.spread if told else 0.0),
            ("there", there, int(told is not None)),
            ("believed", f"{cell('there')}*SIGN(SUMPRODUCT(1*({normal}>1+{cell('rest')})))", int(believed)),
        ):
            yield row, live(column, formula, found, "si", "SI")
        yield "rest", (column, _constant(often - 1))
        yield "scale", (column, _constant(scale))

    def _heard(self, check: str) -> tuple[str, str, str]:
        """Whether a number stands, its value, its standard uncertainty."""
        if is_repeated(check):
            value, u = heard_range(check, "value"), heard_range(check, "u")
            return f"IF(COUNT({value})>0,1,0)", f"MEDIAN({value})", f"MAX({u})"
        item = self.judged[check]
        value = latest(item, FIGURES)
        return f"IF({voided(item.ref)},0,IF(ISNUMBER({value}),1,0))", value, uncertain(item)

    def _look(self, column: int, check: str, told: Look | None) -> Iterator[tuple[str, Placed]]:
        word = f"{{seen.{check}.word}}"
        fault = told is not None and told.fault
        sign = 0 if told is None else 1 if fault else -1
        yield "spread", live(column, f'IF({word}="{FAULT}",1,IF({word}="{NO_FAULT}",-1,0))', sign, "si", "1")


def _constant(value: float) -> Cell:
    return words(1, "")[1]._replace(value=value, look="si", unit="SI")
