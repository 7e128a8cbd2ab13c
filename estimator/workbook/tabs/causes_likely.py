"""The likeliest hypothesis of each group beside the readings: what it foretells, what it explains. On Causes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.advice import reread
from estimator.diagnosis.advice.advise import TOO_LITTLE, words_of_step
from estimator.diagnosis.advice.named_part import RIGHT, WRONG
from estimator.diagnosis.advice.troubleshooting import SAVES_AT_LEAST
from estimator.diagnosis.causes.arithmetic import Arithmetic, said
from estimator.diagnosis.causes.explain import CANNOT, EXPLAINS
from estimator.diagnosis.causes.likeliest import (
    EXPLAINED,
    LEAK,
    NOT_EXPLAINED,
    RESERVE,
    Beside,
    Likeliest,
    beside,
    least,
    likeliest,
)
from estimator.diagnosis.causes.result import SHOWN_FROM
from estimator.diagnosis.causes.weigh import PAN
from estimator.limits.judging.verdict_words import FAULT
from estimator.workbook.book import Block, Column, Value, block
from estimator.workbook.tabs.causes_heard import HEAD, TWO, columns_of, pan_column
from estimator.workbook.tabs.common import Pair

LEVELS = (
    ("explains", "so many standard deviations explain a reading", EXPLAINS),
    ("cannot", "and beyond so many nothing does", CANNOT),
    ("shown", "a cause is shown from", SHOWN_FROM),
    ("little", "too little is explained below", TOO_LITTLE),
    ("saves", "what a test must save", SAVES_AT_LEAST),
    ("right", "how often the named part is the one at fault", RIGHT),
    ("wrong", "and another", WRONG),
)


def beside_rows(appraisal: Appraisal) -> tuple[Beside, ...]:
    """The checks that are weighed, with what is said of them; none where the car's data allow no hypotheses."""
    steps = appraisal.diagnosis.arithmetic
    return () if steps is None else tuple(beside(steps, likeliest(appraisal.diagnosis)))


def likely_blocks(appraisal: Appraisal) -> Iterator[Block]:
    """Yield the table of likeliest hypotheses and that of the checks."""
    steps = appraisal.diagnosis.arithmetic
    assert steps is not None
    found = likeliest(appraisal.diagnosis)
    yield block(
        "level",
        "Settings of what is said and advised",
        [Column("label", "setting", "label"), Column("value", "value", "si", unit="1")],
        [Pair(ref, label, value) for ref, label, value in LEVELS],
        kind="working",
    )
    yield _likely(found)
    yield _Beside(appraisal, steps, found).block()


@dataclass(frozen=True)
class _Likely:
    """The likeliest hypothesis of a group, with the numbers of its tables."""

    item: Likeliest
    number: int

    @property
    def ref(self) -> str:
        return self.item.ref

    def held(self) -> str:
        cases, share = (f"{{held_{self.number}:{name}}}" for name in ("case", "share"))
        sums = f"SUMIF({cases},{cases},{share})"
        return f"MATCH(SUMPRODUCT(MAX(({sums}=MAX({sums}))*{share})),{share},0)"

    def row(self) -> str:
        causes, share, weight, zone, tag = (
            f"{{row_{self.number}:{name}}}" for name in ("causes", "share", "weight", "zone", "tag_zone")
        )
        if not self.item.held:
            sums = f"SUMIF({causes},{causes},{share})"
            return f"MATCH(SUMPRODUCT(MAX(({sums}=MAX({sums}))*{share})),{share},0)"
        most = f"SUMPRODUCT(MAX(({causes}={{of_rows}})*SIGN(({zone}={{among}})+({tag}={{among}}))*{weight}))"
        return f"IF({self.of_held('swapped')}=1,0,MATCH({most},{weight},0))"

    def sound(self) -> str:
        causes, zone, weight = (f"{{row_{self.number}:{name}}}" for name in ("causes", "zone", "weight"))
        mine = f'({causes}="none")*({zone}={self.item.group.rows[0].zone})'
        return f"MATCH(SUMPRODUCT(MAX({mine}*{weight})),{weight},0)"

    def of_held(self, name: str) -> str:
        return f"INDEX({{held_{self.number}:{name}}},{{held}})"

    def title(self) -> str:
        return (self.of_held("title") if self.item.held else f"INDEX({{row_{self.number}:title}},{{row}})") + '&""'

    def adds(self, name: str) -> str:
        of = self.of_held(name) if self.item.held else f"INDEX({{row_{self.number}:{name}}},{{row}})"
        return f"{{group.{self.ref}.ranked}}*{of}"


def _likely(found: tuple[Likeliest, ...]) -> Block:
    def some(
        name: str,
        heading: str,
        formula: Callable[[_Likely], str],
        value: Callable[[Likeliest], Value],
        look: str = "whole",
        of: Callable[[Likeliest], bool] = lambda item: item.held > 0,
    ) -> Column:
        """A column of the groups that it concerns: the systems."""
        return Column(
            name,
            heading,
            look,
            lambda row: f"={formula(row)}" if of(row.item) else None,
            unit="SI" if look == "si" else "",
            value=lambda row: value(row.item) if of(row.item) else "",
        )

    def adds(name: str, heading: str, value: Callable[[Likeliest], float], of: Callable[[Likeliest], bool]) -> Column:
        return some(name, heading, lambda row: row.adds(name), lambda item: item.ranked * value(item), "si", of)

    def systems(item: Likeliest) -> bool:
        return item.held > 0

    return block(
        "likely",
        "The likeliest hypothesis of each group",
        [
            Column("label", "group", "label", value=lambda row: row.ref),
            some("held", "row of its causes", _Likely.held, lambda item: item.held),
            some(
                "of_rows",
                "causes of its rows",
                lambda row: row.of_held("of_rows"),
                lambda item: said(item.group.held[item.held - 1].of_rows),
                "words",
            ),
            some(
                "among",
                "among rows of the zone",
                lambda row: row.of_held("among"),
                lambda item: item.group.held[item.held - 1].zone.among,
            ),
            some("row", "its row; 0 under swapped readings", _Likely.row, lambda item: item.row, of=lambda item: True),
            some("sound", "row of a car with no fault", _Likely.sound, lambda item: item.sound),
            some("title", "its causes", _Likely.title, lambda item: item.title, "words", lambda item: True),
            adds("pan", "adds to the pan, SI", lambda item: item.pan.mean, systems),
            adds("pan_spread", "variance twice, in h² of SI", lambda item: item.pan.spread, systems),
            adds("leak", "a leak to be seen (1)", lambda item: item.leak, lambda item: True),
            adds("dead", "no reserve (1)", lambda item: item.dead, systems),
        ],
        [_Likely(item, number) for number, item in enumerate(found, 1)],
    )


@dataclass(frozen=True)
class _Beside:
    """The checks that are weighed, beside what is foretold of them."""

    appraisal: Appraisal
    steps: Arithmetic
    found: tuple[Likeliest, ...]

    def block(self) -> Block:
        return block(
            "beside",
            "What the likeliest hypotheses foretell of each check",
            [
                Column("label", "check", "label", value=lambda row: reread(self.appraisal, row.check).label),
                Column(
                    "mean", "foretold, SI; of a look: probability of a fault", "si", self._foretold("row"), unit="SI"
                ),
                Column("sound", "foretold of a car with no fault", "si", self._foretold("sound"), unit="SI"),
                Column("off", "reading off it, in standard deviations", "si", self._off, unit="1"),
                Column("said", "said of it", "words", self._said),
                Column(
                    "again",
                    "to be remeasured, and wasn't (1)",
                    "whole",
                    self._again,
                    value=lambda row: self._to_reread(row),
                ),
                Column("least", "a look is explained from", "si", unit="1", value=self._least),
                Column(
                    "words", "in words", value=lambda row: words_of_step(reread(self.appraisal, row.check).step, "")
                ),
            ],
            beside(self.steps, self.found),
        )

    def _of(self, row: Beside) -> Likeliest:
        return self.found[row.group - 1]

    def _is_number(self, row: Beside) -> bool:
        return row.group == 0 or row.name in self._of(row).group.names

    def _column(self, row: Beside, name: str) -> str:
        group = self._of(row).group
        of = group.names if row.name in group.names else group.looks
        return f"{name}_{of.index(row.name) + 1}"

    def _foretold(self, which: str) -> Callable[[Beside], str | None]:
        def formula(row: Beside) -> str | None:
            if row.check == f"{PAN}.car":
                return "={pan.n1.mean}" + ("+SUM({likely:pan})" if which == "row" else "")
            if row.group == 0:
                return None
            if not self._is_number(row) and (which == "sound" or least(row.name) > 1):
                return None
            name = self._column(row, "mean" if self._is_number(row) else "look")
            at = self._row(row) if which == "row" else self._sound(row)
            cell = f"INDEX({{row_{row.group}:{name}}},{at})"
            return f'=IF({self._row(row)}=0,"",{cell})'

        return formula

    def _row(self, row: Beside) -> str:
        return f"{{likely.{self._of(row).ref}.row}}"

    def _sound(self, row: Beside) -> str:
        return f"{{likely.{self._of(row).ref}.sound}}" if self._of(row).held else "1"

    def _told(self, row: Beside) -> tuple[str, str, str]:
        """The cells of a reading: value, spread, believed."""
        column = pan_column(self.steps) if row.group == 0 else columns_of(self.steps)[self._of(row).ref, row.name]
        value, spread, believed = (f"{{{HEAD}.{name}.c{column}}}" for name in ("value", "spread", "believed"))
        return value, spread, believed

    def _distance(self, row: Beside, mean: str, spread: str) -> str:
        value, u, _ = self._told(row)
        return f"ROUND(ABS({value}-{mean})/SQRT(-({spread}+{u})/{TWO}),6)"

    def _spread(self, row: Beside, at: str) -> str:
        return f"INDEX({{row_{row.group}:{self._column(row, 'spread')}}},{at})"

    def _off(self, row: Beside) -> str | None:
        if row.check == f"{PAN}.car":
            spread = "({pan.n1.spread}-SUM({likely:pan_spread}))"
            return f'=IF({self._told(row)[2]}=1,{self._distance(row, "{mean}", spread)},"")'
        if row.group == 0 or not self._is_number(row):
            return None
        off = self._distance(row, "{mean}", self._spread(row, self._row(row)))
        there = f"{{group.{self._of(row).ref}.ranked}}*{self._told(row)[2]}*SIGN({self._row(row)})"
        return f'=IF({there}=1,{off},"")'

    def _said(self, row: Beside) -> str | None:
        if row.check in (f"{LEAK}.car", f"{RESERVE}.car"):
            fault = f'{{seen.{row.check}.word}}="{FAULT}"'
            return f'=IF({fault},{self._by("leak" if row.name == LEAK else "dead")},"")'
        if row.group and not self._is_number(row):
            group = self._of(row)
            if least(row.name) > 1:
                return None
            fault = f'{{seen.{row.check}.word}}="{FAULT}"'
            ranked = f"{{group.{group.ref}.ranked}}*SIGN({self._row(row)})=1"
            explained = f'IF({{mean}}>={{least}},"{EXPLAINED}"&{{likely.{group.ref}.title}},"")'
            return f'=IF(AND({fault},{ranked}),{explained},"")'
        if row.group:
            sound = self._distance(row, "{sound}", self._spread(row, self._sound(row)))
            by = f'"{EXPLAINED}"&{{likely.{self._of(row).ref}.title}}'
        else:
            sound, by = self._distance(row, "{sound}", "{pan.n1.spread}"), self._by("pan")
        explained = f'IF({{off}}>{{level.explains.value}},"",IF({sound}>{{level.explains.value}},{by},""))'
        return f'=IF({{off}}="","",IF({{off}}>{{level.cannot.value}},"{NOT_EXPLAINED}",{explained}))'

    def _by(self, name: str) -> str:
        """The first group whose likeliest hypothesis makes a leak, leaves no reserve, or adds to the pan."""
        found = '""'
        for item in reversed(self.found):
            if item.held or name == "leak":
                cell = f"{{likely.{item.ref}.{name}}}"
                found = f'IF({cell}>0,"{EXPLAINED}"&{{likely.{item.ref}.title}},{found})'
        return found

    def _least(self, row: Beside) -> Value:
        return least(row.name) if row.group and not self._is_number(row) else ""

    def _again(self, row: Beside) -> str | None:
        if not self._is_number(row) or row.check in (f"{LEAK}.car", f"{RESERVE}.car"):
            return None
        labels = reread(self.appraisal, row.check).labels
        read = "+".join(f'COUNTIFS({{third:check}},"{label}",{{third:read}},1)' for label in labels)
        return f'=IF({{said}}="{NOT_EXPLAINED}",IF({read}=0,1,0),0)'

    def _to_reread(self, row: Beside) -> int | str:
        if self._again(row) is None:
            return ""
        return int(row.said == NOT_EXPLAINED and not reread(self.appraisal, row.check).made)
