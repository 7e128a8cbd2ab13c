"""What the causes that call foretell of each check beside the reading, and what is said of it. On Causes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.advice import reread
from estimator.diagnosis.advice.advise import KINDS, LET_BE, TOO_LITTLE, words_of_step
from estimator.diagnosis.advice.named_part import RIGHT, WRONG
from estimator.diagnosis.advice.troubleshooting import SAVES_AT_LEAST
from estimator.diagnosis.causes.arithmetic import Arithmetic, GroupSheet
from estimator.diagnosis.causes.explain import (
    CANNOT,
    EXPLAINED,
    EXPLAINS,
    IN_PART,
    NOT_EXPLAINED,
    PAN_CHECK,
    REMEASURE,
    SHARED,
    Beside,
    own_gauge,
    told_by_look,
)
from estimator.diagnosis.causes.result import SHOWN_FROM
from estimator.limits.judging.verdict_words import FAULT
from estimator.records.modes import READINGS
from estimator.workbook.book import Block, Column, block
from estimator.workbook.tabs.causes_heard import HEAD, TWO, columns_of, pan_column
from estimator.workbook.tabs.common import Pair
from estimator.workbook.tabs.signs import (
    ADDS,
    AGAIN,
    NUMBER,
    OTHER,
    PAN_SPREAD,
    SOUND_NUMBER,
    TITLE,
    again_at,
    picked_cell,
)

LEVELS = (
    ("explains", "so many standard deviations explain a reading", EXPLAINS),
    ("cannot", "and beyond so many nothing does", CANNOT),
    ("shown", "a cause is shown from", SHOWN_FROM),
    ("little", "too little is explained below", TOO_LITTLE),
    ("saves", "what a test must save", SAVES_AT_LEAST),
    ("waits", "a step whose place is this or more is to let be", KINDS.index(LET_BE)),
    ("right", "how often the named part is the one at fault", RIGHT),
    ("wrong", "and another", WRONG),
)


def beside_blocks(appraisal: Appraisal) -> Iterator[Block]:
    """Yield the settings, and the table of the checks."""
    steps = appraisal.diagnosis.arithmetic
    assert steps is not None
    yield block(
        "level",
        "Settings of what is said and advised",
        [Column("label", "setting", "label"), Column("value", "value", "si", unit="1")],
        [Pair(ref, label, value) for ref, label, value in LEVELS],
        kind="working",
    )
    yield _Beside(appraisal, steps).block()


@dataclass(frozen=True)
class _Beside:
    appraisal: Appraisal
    steps: Arithmetic

    def block(self) -> Block:
        return block(
            "beside",
            "What the causes that recommend a job foretell of each check",
            [
                Column("label", "check", "label", value=lambda row: reread(self.appraisal, row.check).label),
                Column(
                    "mean", "foretold, SI; of a look: probability of a fault", "si", self._foretold(NUMBER), unit="SI"
                ),
                Column("sound", "foretold of a car with no fault", "si", self._foretold(SOUND_NUMBER), unit="SI"),
                Column("off", "reading off it, in standard deviations", "si", self._off, unit="1"),
                Column("far", "and off a car with no fault", "si", self._far, unit="1"),
                Column("said", "said of it", "words", self._said),
                Column(
                    "explained",
                    "explained, if in part (1)",
                    "whole",
                    f'=IF(OR({{said}}="",{{said}}="{NOT_EXPLAINED}"),0,1)',
                ),
                Column("again", "to be remeasured, and wasn't (1)", "whole", self._again, value=self._to_reread),
                Column(
                    "words", "in words", value=lambda row: words_of_step(reread(self.appraisal, row.check).step, "")
                ),
            ],
            self.appraisal.callers.beside,
        )

    def _of(self, row: Beside) -> GroupSheet:
        return self.steps.groups[row.group - 1]

    def _is_number(self, row: Beside) -> bool:
        return row.check == PAN_CHECK or (row.group > 0 and row.name in self._of(row).names)

    def _at(self, row: Beside, name: str, column: int) -> str:
        """The cell of the row that is picked."""
        group = self._of(row)
        number = (group.names if self._is_number(row) else group.looks).index(row.name) + 1
        return f"INDEX({{row_{row.group}:{name}_{number}}},{picked_cell(group.id, column)})"

    def _pans(self, column: int) -> str:
        return "+".join(picked_cell(group.id, column) for group in self.steps.systems)

    def _foretold(self, column: int) -> Callable[[Beside], str | None]:
        def formula(row: Beside) -> str | None:
            if row.check == PAN_CHECK:
                return "={pan.n1.mean}" + (f"+{self._pans(ADDS[PAN_CHECK])}" if column == NUMBER else "")
            if row.group == 0:
                return None
            if self._is_number(row):
                cell = self._at(row, "mean", column)
            elif column == SOUND_NUMBER or not told_by_look(self._of(row), row.name):
                return None
            else:
                cell = self._at(row, "look", column)
            picked = picked_cell(self._of(row).id, column)
            return f'=IF({picked}=0,"",{cell})' if column == NUMBER else f"={cell}"

        return formula

    def _distance(self, row: Beside, mean: str, spread: str) -> str:
        """How far the reading lies, where one stands; `there` may ask for more."""
        column = pan_column(self.steps) if row.group == 0 else columns_of(self.steps)[self._of(row).id, row.name]
        value, u, there = (f"{{{HEAD}.{name}.c{column}}}" for name in ("value", "spread", "there"))
        off = f"ROUND(ABS({value}-{mean})/SQRT(-({spread}+{u})/{TWO}),6)"
        return f'=IF(AND({there}=1,{mean}<>""),{off},"")'

    def _off(self, row: Beside) -> str | None:
        if not self._is_number(row):
            return None
        spread = f"({{pan.n1.spread}}-{self._pans(PAN_SPREAD).replace('+', '-')})"
        return self._distance(row, "{mean}", self._at(row, "spread", NUMBER) if row.group else spread)

    def _far(self, row: Beside) -> str | None:
        if not self._is_number(row):
            return None
        return self._distance(row, "{sound}", self._at(row, "spread", SOUND_NUMBER) if row.group else "{pan.n1.spread}")

    def _said(self, row: Beside) -> str | None:
        title = picked_cell(self._of(row).id, TITLE) if row.group else self._first(row.check)
        if not self._is_number(row):
            if row.group and not told_by_look(self._of(row), row.name):
                return None
            often = '{mean}<>"",{mean}>={constant.look-explained.value}' if row.group else f'{title}<>""'
            return f'=IF(AND({{seen.{row.check}.word}}="{FAULT}",{often}),"{EXPLAINED}"&{title},"")'
        by = f'IF({{far}}>{{level.explains.value}},"{EXPLAINED}"&{title},"")'
        near = f"IF({{off}}<={{level.explains.value}},{by},"
        nearer = "ROUND({far}-{off},6)>{level.cannot.value}-{level.explains.value}"
        part = f'IF({nearer},"{IN_PART}"&{title}&"{REMEASURE}","")'
        if row.group == 0:
            sure = ",".join(f"{picked_cell(group.id, NUMBER)}>0" for group in self.steps.systems)
            words = f'IF(AND({sure}),IF({title}="","",{near}{part})),"")'
            over = f'IF(AND({sure},{{off}}>{{level.cannot.value}}),"{NOT_EXPLAINED}",{words})'
            return f'=IF({{off}}="","",{over})'
        words = f'IF({{off}}="","",IF({{off}}>{{level.cannot.value}},"{NOT_EXPLAINED}",{near}{part})))'
        again, error = again_at(row.name), ""
        group, gauge = self._of(row), own_gauge(self._of(row), row.name)
        doubts = []
        if group.zones and again:
            error = picked_cell(READINGS, AGAIN + again - 1)
            doubts.append(f"{error}=1")
        if gauge:
            doubts.append(f'{picked_cell(group.id, OTHER)}="{gauge}"')
        if doubts:
            either = f"OR({','.join(doubts)})" if len(doubts) > 1 else doubts[0]
            title = f"IF({error}=1,{picked_cell(READINGS, TITLE)},{title})" if error else title
            words = f'IF({either},IF({{far}}>{{level.explains.value}},"{EXPLAINED}"&{title},""),{words})'
        return f'=IF({{far}}="","",{words})'

    def _first(self, check: str) -> str:
        """The title of the first group whose causes add to a reading that all share; "" for none."""
        found = '""'
        for group in reversed(self.steps.groups):
            if group.zones or SHARED[check] == "leak":
                found = f"IF({picked_cell(group.id, ADDS[check])}>0,{picked_cell(group.id, TITLE)},{found})"
        return found

    def _again(self, row: Beside) -> str | None:
        if not self._is_number(row):
            return None
        labels = reread(self.appraisal, row.check).labels
        read = "+".join(f'COUNTIFS({{third:check}},"{label}",{{third:read}},1)' for label in labels)
        return f'=IF(ISNUMBER(FIND("{REMEASURE}",{{said}})),IF({read}=0,1,0),0)'

    def _to_reread(self, row: Beside) -> int | str:
        return int(row.again and not reread(self.appraisal, row.check).made) if self._is_number(row) else ""
