"""The latest number and the latest look of each check that causes are weighed with. On Causes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.boxes.keys import CheckRef
from estimator.diagnosis.causes.arithmetic import Arithmetic
from estimator.diagnosis.causes.diagnose import LAMPS
from estimator.diagnosis.causes.evidence import Evidence
from estimator.diagnosis.causes.weigh import IDLE_SPEED, PAN
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.standing import VOID
from estimator.limits.judging.visual_checks import Looked
from estimator.workbook.book import Block, Column, Value, block

VOIDED = f"{{standing@latest}}={{unmade.{VOID.replace(' ', '-')}.label}}"
# The readings side by side.
HEAD = "told"
# The first column of readings there.
FIRST = 3
# The cell of the number 2, near enough for short addresses.
TWO_AT = 2
TWO = f"{{{HEAD}.value.c{TWO_AT}}}"
SHARED_LOOKS = ("leaks-at-cut-out.car", "integrity.car", "first-floor.car", LAMPS)


@dataclass(frozen=True)
class HeardNumber:
    """The latest number of a row of readings."""

    item: Judged
    value: Value
    u: Value

    @property
    def ref(self) -> str:
        return self.item.ref

    @property
    def label(self) -> str:
        return self.item.label


@dataclass(frozen=True)
class SeenLook:
    """The latest word of a look."""

    item: Looked
    word: str

    @property
    def ref(self) -> str:
        return self.item.ref

    @property
    def label(self) -> str:
        return self.item.label


def heard_range(check: str, column: str) -> str:
    """The template of the cells of a check at a place, several where it is read more than once."""
    first, last = CheckRef(check), CheckRef(check)
    if check.partition(".")[0] in ("cut-out", "cut-in"):
        first, last = CheckRef(f"{check}.1"), CheckRef(f"{check}.3")
    return f"{{heard.{first}.{column}~heard.{last}.{column}}}"


def columns_of(steps: Arithmetic) -> dict[tuple[str, str], int]:
    """The columns of readings side by side, group by group; after all numbers the looks."""
    named = [(group.id, name) for group in steps.groups for name in group.names]
    named += [(group.id, name) for group in steps.groups for name in group.looks]
    return {key: column for column, key in enumerate(named, FIRST)}


def pan_column(steps: Arithmetic) -> int:
    """The column of the pan, after the others."""
    return FIRST + len(columns_of(steps))


def shared_numbers(steps: Arithmetic) -> list[str]:
    """The checks of numbers that all systems share, whose columns follow each other: the pan, the idle speed if it is stated."""
    return [PAN, IDLE_SPEED] if steps.shared.idles else [PAN]


def heard_blocks(appraisal: Appraisal) -> Iterator[Block]:
    """Yield the tables of numbers and of looks."""
    steps = appraisal.diagnosis.arithmetic
    assert steps is not None
    evidence = Evidence(appraisal.judged, appraisal.looked, appraisal.standings)
    numbers = [check for group in steps.groups for name in group.names if (check := group.checks[name])]
    looks = [check for group in steps.groups for name in group.looks if (check := group.checks[name])]
    yield _heard(appraisal, evidence, [*numbers, *(f"{name}.car" for name in shared_numbers(steps))])
    yield _seen(appraisal, evidence, [*looks, *SHARED_LOOKS])


def _heard(appraisal: Appraisal, evidence: Evidence, checks: list[str]) -> Block:
    by_place: dict[str, list[Judged]] = {}
    for item in appraisal.judged:
        by_place.setdefault(f"{item.row.check.id}.{item.row.place.id}", []).append(item)
    rows = []
    for check in checks:
        for item in by_place[check]:
            read, phase = evidence.number(item), evidence.phase(item.ref)
            judged = item.phases[phase].judged if phase else ""
            rows.append(HeardNumber(item, judged, "" if read is None else read.u))

    def value(row: HeardNumber) -> str:
        name = "judged" if row.item.derived.before else "si"
        return f'=IF({VOIDED},"",IF({{standing@made_after}}=1,{{judging@{name}_after}},{{judging@{name}_before}}))'

    def u(row: HeardNumber) -> str:
        if row.item.fixed_u != "":
            return '=IF(ISNUMBER({value}),{judging@fixed_u}*{judging@factor}/{constant.two.value},"")'
        name, half = ("u_any", "/{constant.two.value}") if row.item.derived.before else ("gauge_u", "+0")
        both = f"IF({{standing@made_after}}=1,{{judging@{name}_after}},{{judging@{name}_before}})"
        return f'=IF(ISNUMBER({{value}}),IFERROR({both}{half},0),"")'

    return block(
        "heard",
        "The latest numbers",
        [
            Column("label", "check", "label"),
            Column("value", "value, SI", "si", value, unit="SI"),
            Column("u", "standard uncertainty, SI", "si", u, unit="SI"),
        ],
        rows,
    )


def _seen(appraisal: Appraisal, evidence: Evidence, checks: list[str]) -> Block:
    looked = {item.ref: item for item in appraisal.looked}
    rows = []
    for check in checks:
        item = looked[CheckRef(check)]
        phase = evidence.phase(item.ref)
        rows.append(SeenLook(item, item.verdict(phase) if phase else ""))
    after = "IF({standing@made_after}=1,{looked@verdict_after},{looked@verdict_before})"
    return block(
        "seen",
        "The latest looks",
        [
            Column("label", "check", "label"),
            Column("word", "word", "words", f'=IF({VOIDED},"",{after})'),
        ],
        rows,
    )
