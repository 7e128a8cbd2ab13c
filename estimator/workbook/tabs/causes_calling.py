"""By which cause each finding is explained, and the reasons that causes give for their jobs. On Causes and Workings."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from estimator.appraisal import Appraisal
from estimator.boxes.keys import CheckRef
from estimator.diagnosis.advice.ranked import Ranked, ranked_causes
from estimator.diagnosis.causes.arithmetic import GroupSheet
from estimator.diagnosis.causes.calling import (
    ALL,
    CALLS_AS_FIRST,
    CALLS_FROM,
    CONCERNED,
    ERROR_CODE,
    GAS_CODE,
    NEAR,
    OF_GAS,
    OTHER,
    OTHER_CODE,
    PAN_CHECK,
    SHARED,
    SOUND,
    Caller,
    Picked,
    errors_of,
    gauge_off,
)
from estimator.diagnosis.causes.explain import LOOK_EXPLAINED
from estimator.diagnosis.causes.scenarios import GAUGE_OFF
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.verdict_words import CLOSE, FAULT, OUTSIDE
from estimator.pricing.calls import NAMED, POINTED, Cured, short_title
from estimator.records.modes import READINGS
from estimator.workbook.book import Block, Column, block
from estimator.workbook.forms import Placed, live
from estimator.workbook.tabs.causes_heard import HEAD, TWO, columns_of, heard_range, pan_column, shared_numbers
from estimator.workbook.tabs.causes_told import Told


def code_columns(appraisal: Appraisal) -> dict[str, int]:
    """The columns of checks at places among the readings side by side, those that all systems share last."""
    steps = appraisal.diagnosis.arithmetic
    assert steps is not None
    at = columns_of(steps)
    own = {group.checks[name]: at[group.id, name] for group in steps.groups for name in (*group.names, *group.looks)}
    pan, further = pan_column(steps), len(shared_numbers(steps)) - 1
    return own | {check: pan + (further + at if at else 0) for at, check in enumerate(SHARED)}


def code_cell(columns: dict[str, int], check: str) -> str:
    """The cell that says by what a check is explained."""
    return f"{{{HEAD}.explained.c{columns[check]}}}"


class Codes:
    """The row that says by what each reading is explained."""

    def __init__(self, appraisal: Appraisal, told: Told) -> None:
        self.told, self.steps, self.callers = told, told.steps, appraisal.callers
        self.columns = code_columns(appraisal)
        self.looked = {str(item.ref) for item in appraisal.looked}

    def cells(self) -> Iterator[Placed]:
        """Yield its cells."""
        for number, group in enumerate(self.steps.groups, 1):
            for at, name in enumerate(group.names, 1):
                yield self._live(group.checks[name], self._of_number(number, group, at, name))
            for at, name in enumerate(group.looks, 1):
                yield self._live(group.checks[name], self._of_look(number, group, at, name))
        for check in SHARED:
            yield self._live(check, self._of_shared(check))

    def _live(self, check: str, formula: str) -> Placed:
        return live(self.columns[check], formula, self.callers.codes[check], "whole")

    def _bad(self, check: str) -> str:
        if check in self.looked:
            return f'{{seen.{check}.counts}}="{FAULT}"'
        cells = heard_range(check, "counts")
        return f'COUNTIF({cells},"{OUTSIDE}")+COUNTIF({cells},"{CLOSE}")>0'

    def _of_number(self, number: int, group: GroupSheet, at: int, name: str) -> str:
        check = group.checks[name]
        value, spread, there = (self.told.cell(row, self.columns[check]) for row in ("value", "spread", "there"))

        def near(which: str) -> str:
            row = f"{{picked.{group.id}.{which}.number}}"
            mean, other = (f"INDEX({{row_{number}:{what}_{at}}},{row})" for what in ("mean", "spread"))
            return f"ROUND(({value}-{mean})^{TWO}/({other}+{spread}),6)>={NEAR:g}"

        modes = errors_of(self.steps, group, name)
        errors = [item for item in self.callers.all if item.group == READINGS and item.cause.mode_id in modes]
        sums = "+".join(f"{{cause.{item.ref}.likely}}" for item in errors)
        otherwise = f"IF({sums}>0,{ERROR_CODE},0)" if errors else "0"
        if name in CONCERNED[GAUGE_OFF] and any(
            item.ref == f"{group.id}.{gauge_off(group)}" for item in self.callers.all
        ):
            off = f'{{picked.{group.id}.{OTHER}.key}}="{gauge_off(group)}"'
            otherwise = f"IF({off},{OTHER_CODE},{otherwise})"
        return f"IF(AND({self._bad(check)},{there}=1),IF({near(SOUND)},0,{_code(group, near, otherwise)}),0)"

    def _of_look(self, number: int, group: GroupSheet, at: int, name: str) -> str:
        def near(which: str) -> str:
            chance, sound = (
                f"INDEX({{row_{number}:look_{at}}},{{picked.{group.id}.{one}.number}})" for one in (which, SOUND)
            )
            return f"AND({chance}>={LOOK_EXPLAINED:g},{chance}>{sound})"

        return f"IF({self._bad(group.checks[name])},{_code(group, near, '0')},0)"

    def _of_shared(self, check: str) -> str:
        chosen = ",".join(_chosen(item) for item in self.callers.all if item.which and check in item.moves)
        if not chosen:
            return "0"
        conditions = f"{self._bad(check)},OR({chosen})"
        if check != PAN_CHECK:
            return f"IF(AND({conditions}),1,0)"
        column = self.columns[check]
        value, spread, believed = (self.told.cell(row, column) for row in ("value", "spread", "believed"))
        off = f"ROUND(({value}-{{pan.n1.mean}})^{TWO}/({{pan.n1.spread}}+{spread}),6)<{NEAR:g}"
        return f"IF(AND({conditions},{believed}=1),IF({off},1,0),0)"


def _code(group: GroupSheet, near: Callable[[str], str], otherwise: str) -> str:
    """The code of a finding; `near` says whether it is near to what a row foretells."""
    at = f"picked.{group.id}"
    gas = f'IF({{{at}.{OTHER}.key}}="",{GAS_CODE},IF({near(OF_GAS)},{GAS_CODE},{OTHER_CODE}))'
    either = f'IF({{{at}.{OF_GAS}.key}}="",{OTHER_CODE},{gas})'
    return f"IF({{{at}.{ALL}.number}}=0,{otherwise},IF({near(ALL)},{either},{otherwise}))"


def _chosen(item: Caller) -> str:
    """The condition that a cause is the one of its group that calls."""
    if item.group == READINGS:
        return f"{{cause.{item.ref}.likely}}=1"
    return f'{{picked.{item.group}.{item.which}.key}}="{item.key}"'


def likely_column(appraisal: Appraisal) -> Column:
    """Whether a cause is probable enough to call, and its job isn't done; 0 for one without a job."""
    of = {item.ref: item for item in appraisal.callers.all}
    spans: dict[str, list[str]] = {}
    for row in ranked_causes(appraisal.diagnosis):
        spans.setdefault(row.group.id, []).append(row.ref)

    def formula(row: Ranked) -> str | None:
        item = of.get(row.ref)
        if item is None:
            return None
        first, *_, last = spans[item.group] * 2
        top = f"ROUND(MAX({{cause.{first}.weighed~cause.{last}.weighed}}),6)"
        least = f"IF(ROUND({{weighed}},6)>={top},{CALLS_AS_FIRST:g},{CALLS_FROM:g})"
        done = [f"{{line.{line}.done_flag}}+{{line.{line}.earlier}}" for line in item.cause.lines]
        left = f"MIN({','.join(done)})=0" if len(done) > 1 else f"{done[0]}=0"
        return f"=IF(AND(ROUND({{weighed}},6)>={least},{left}),1,0)"

    return Column(
        "likely",
        "probable enough to call for its job, which isn't done (1)",
        "whole",
        formula,
        value=lambda row: of[row.ref].likely if row.ref in of else 0,
    )


def picked_block(appraisal: Appraisal) -> Block:
    """The causes of each group that call, and the most probable row of these, of the gas alone, of none."""
    steps, callers = appraisal.diagnosis.arithmetic, appraisal.callers
    assert steps is not None
    numbers = {group.id: number for number, group in enumerate(steps.groups, 1)}
    as_read = {group.id: sum(zone.case == 0 for zone in group.zones) for group in steps.groups}
    refs = {
        group.id: [f"{group.id}.{one.mode_id}.{one.at}" for one in group.in_order]
        for group in appraisal.diagnosis.groups
    }
    of_gas = {item.ref for item in callers.all if item.which == OF_GAS}

    def key(row: Picked) -> str | None:
        if row.which == ALL:
            gas, other = (f"{{picked.{row.group}.{which}.key}}" for which in (OF_GAS, OTHER))
            return f'={gas}&IF(AND({gas}<>"",{other}<>"")," + ","")&{other}'
        mine = [ref for ref in refs[row.group] if (ref in of_gas) == (row.which == OF_GAS)]
        if row.which == SOUND or not mine:
            return None
        names, likely = (f"{{cause.{mine[0]}.{what}~cause.{mine[-1]}.{what}}}" for what in ("key", "likely"))
        return f'=IFERROR(INDEX({names},MATCH(1,{likely},0)),"")'

    def rows(row: Picked) -> str:
        at = numbers[row.group]
        zones = f"*({{row_{at}:zone}}<={as_read[row.group]})" if as_read[row.group] else ""
        return f"({{row_{at}:causes}}={{key}}){zones}*"

    def best(row: Picked) -> str | None:
        return None if row.which == OTHER else f"=SUMPRODUCT(MAX({rows(row)}{{row_{numbers[row.group]}:weight}}))"

    def number(row: Picked) -> str | None:
        at = numbers[row.group]
        same = f"({{row_{at}:weight}}={{best}})*{{row_{at}:number}}"
        return None if row.which == OTHER else f"=SUMPRODUCT(MAX({rows(row)}{same}))"

    return block(
        "picked",
        "Causes that call, and the most probable row of these alone",
        [
            Column("label", "group", "label", value=lambda row: row.ref),
            Column("key", "causes", "words", key),
            Column("best", "greatest weight", "si", best, unit="1"),
            Column("number", "number of its row", "whole", number),
        ],
        [row for picked in callers.picked.values() for row in picked.values()],
    )


# --- reasons --------------------------------------------------------------------------------------------------------


def cause_reason(appraisal: Appraisal, item: Caller) -> str:
    """The formula of a cause's reason: nothing while it calls for nothing."""
    columns, refs = code_columns(appraisal), appraisal.callers.refs
    rows = {row.ref: row for row in appraisal.plan.checks}
    cells = {check: code_cell(columns, check) for check in item.moves}
    terms = [(rows[refs[check][0]], f"{cells[check]}={1 if check in SHARED else item.code}") for check in item.moves]
    some = [f"COUNTIF({span},{item.code})" for span in _spans(appraisal, item)]
    some += [cells[check] for check in item.moves if check in SHARED]
    if item.group == READINGS:
        some = [f"OR({','.join(condition for _, condition in terms)})"]
    words = f'"{POINTED} {item.cause.pointed_to}: "&{_listed(terms)}'
    return f'=IF(AND({_chosen(item)},{"+".join(some)}>0),{words},"")'


def _spans(appraisal: Appraisal, item: Caller) -> Iterator[str]:
    """The cells of the codes of a group's numbers, then of its looks."""
    steps = appraisal.diagnosis.arithmetic
    assert steps is not None
    columns = columns_of(steps)
    for group in steps.groups:
        for names in (group.names, group.looks):
            if group.id == item.group and names:
                first, last = columns[group.id, names[0]], columns[group.id, names[-1]]
                yield f"{{{HEAD}.explained.c{first}..c{last}}}"


def cured_reason(appraisal: Appraisal, item: Cured) -> str:
    """The formula of what was found before work and a job cures."""
    judged = {row.ref for row in appraisal.judged}

    def was_bad(ref: CheckRef) -> str:
        where, word = ("judging", OUTSIDE) if ref in judged else ("looked", FAULT)
        return f'{{{where}.{ref}.verdict_before}}="{word}"'

    return f"={_listed([(row, was_bad(row.ref)) for row in item.rows])}"


def _listed(terms: Iterable[tuple[CheckRow, str]]) -> str:
    """What the first checks are called of which a condition holds, each once, with commas between."""
    of_title: dict[str, list[str]] = {}
    for row, condition in terms:
        of_title.setdefault(short_title(row), []).append(condition)
    some = []
    for at, (title, either) in enumerate(of_title.items()):
        earlier = "+".join(f"OR({','.join(one)})" for one in list(of_title.values())[:at])
        more = f",{earlier}<{NAMED}" if at >= NAMED else ""
        some.append(f'IF(AND(OR({",".join(either)}){more}),", {title}","")')
    return f"MID({'&'.join(some)},3,300)"
