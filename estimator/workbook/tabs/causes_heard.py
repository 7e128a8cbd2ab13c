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
from estimator.facts.checks import check_by_id
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.standing import VOID
from estimator.limits.judging.visual_checks import Looked
from estimator.workbook.book import Block, Column, Value, block

VOIDED = f"{{standing@latest}}={{unmade.{VOID.replace(' ', '-')}.label}}"
# The readings side by side.
HEAD = "told"
# The first column of readings there.
FIRST = 3
# The figures of a reading, judged by a working and as read.
FIGURES = ("judged", "si")
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
    """The template of the cells of a check at a place that is read more than once."""
    return f"{{heard.{CheckRef(f'{check}.1')}.{column}~heard.{CheckRef(f'{check}.3')}.{column}}}"


def is_repeated(check: str) -> bool:
    """Whether a check is read more than once, so that the middle one of its latest readings counts."""
    return check_by_id(check.partition(".")[0]).repeats > 1


def latest(item: Judged, names: tuple[str, str]) -> str:
    """The template of a figure of a number's latest reading: named so where it is judged by a working, else so."""
    name = names[0] if item.derived.before else names[1]
    after, before = (f"{{judging.{item.ref}.{name}_{phase}}}" for phase in ("after", "before"))
    return f"IF({{standing.{item.ref}.made_after}}=1,{after},{before})"


def uncertain(item: Judged) -> str:
    """The template of its standard uncertainty."""
    if item.fixed_u != "":
        return f"{{judging.{item.ref}.fixed_u}}*{{judging.{item.ref}.factor}}/{TWO}"
    half = f"/{TWO}" if item.derived.before else "+0"
    return f"IFERROR({latest(item, ('u_any', 'gauge_u'))}{half},0)"


def voided(ref: str) -> str:
    """The template of whether a job done since voids the latest reading of a check."""
    return VOIDED.replace("standing@", f"standing.{ref}.")


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
        for item in by_place[check] if is_repeated(check) else ():
            read, phase = evidence.number(item), evidence.phase(item.ref)
            judged = item.phases[phase].judged if phase else ""
            rows.append(HeardNumber(item, judged, "" if read is None else read.u))

    def value(row: HeardNumber) -> str:
        return f'=IF({voided(row.ref)},"",{latest(row.item, FIGURES)})'

    def u(row: HeardNumber) -> str:
        return f'=IF(ISNUMBER({{value}}),{uncertain(row.item)},"")'

    return block(
        "heard",
        "The latest numbers of checks that are read more than once",
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
