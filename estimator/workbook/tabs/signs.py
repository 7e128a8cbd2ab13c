"""Which causes call for their jobs, and which findings they explain as signs of them. On Workings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from estimator.appraisal import Appraisal
from estimator.boxes.keys import CheckRef
from estimator.diagnosis.causes.arithmetic import GroupSheet
from estimator.diagnosis.causes.calling import (
    CONCERNED,
    PAN_CHECK,
    SHARED,
    SOUND,
    Caller,
    gauge_off,
    nearness,
    shared_of,
    signs_of,
    told_by_look,
)
from estimator.diagnosis.causes.evidence import Reading
from estimator.diagnosis.causes.hypotheses import Foretold
from estimator.diagnosis.causes.scenarios import COUNTS
from estimator.diagnosis.causes.weigh import PAN_SOUND
from estimator.limits.judging.verdict_words import CLOSE, FAULT, OUTSIDE
from estimator.pricing.calls import Call, sign
from estimator.records.modes import READINGS
from estimator.workbook.book import Block
from estimator.workbook.forms import Form, Placed, live, words
from estimator.workbook.tabs.causes_heard import HEAD, TWO, VOIDED, columns_of, pan_column

# The columns of what is picked in a group.
GAS, OTHER, ALL, BEST, NUMBER, SOUND_BEST, SOUND_NUMBER, FOUND, FIRST, BAR, AGAIN = range(2, 13)
# Of a sign: the verdict that counts, whether it is off, how near a sound car and what is picked foretell it, what is said.
COUNTS_AS, OFF, NEAR_SOUND, NEAR_PICKED, SAID = range(2, 7)
_TWO = "{constant.two.value}"
# Readings that the same errors of all readings concern.
AGAIN_OF: Mapping[str, tuple[str, ...]] = {
    "count": COUNTS,
    "charge time": ("charge-time",),
    "pressures": CONCERNED["gauge-off"],
    "pump starts": ("cycle-interval",),
}


def sign_blocks(appraisal: Appraisal) -> Iterator[Block]:
    """Yield the tables: what is picked in each group, and its signs; none for a car without the tab Causes."""
    if appraisal.diagnosis.arithmetic is not None:
        signs = _Signs(appraisal)
        yield signs.picked()
        yield signs.signs()


def picked_cell(group: str, column: int) -> str:
    return f"{{picked.{group}.c{column}}}"


def sign_cell(group: str, ref: str, column: int) -> str:
    return f"{{sign.{group}.{ref}.c{column}}}"


def said_groups(appraisal: Appraisal, check: str) -> list[str]:
    """The groups of which a check is a sign."""
    steps = appraisal.diagnosis.arithmetic
    return [group.id for group in steps.groups if check in signs_of(group)] if steps else []


def said_cells(appraisal: Appraisal, ref: CheckRef) -> list[str]:
    """The cells, one a group, that name a row of the inspection where a cause explains it."""
    return [sign_cell(group, ref, SAID) for group in said_groups(appraisal, appraisal.callers.check_of[ref])]


class _Signs:
    def __init__(self, appraisal: Appraisal) -> None:
        steps = appraisal.diagnosis.arithmetic
        assert steps is not None
        self.appraisal, self.steps, self.callers = appraisal, steps, appraisal.callers
        self.numbers = {group.id: number for number, group in enumerate(steps.groups, 1)}
        self.checks = {row.ref: row for row in appraisal.plan.checks}
        self.of_caller: dict[str, list[Call]] = {}
        for call in appraisal.calls:
            if call.caller is not None:
                self.of_caller.setdefault(call.caller.group, []).append(call)

    # --- what is picked in each group -------------------------------------------------------------------------------

    def picked(self) -> Block:
        form = Form("picked", AGAIN + 3)
        heads = "group|gas|other cause|causes that call|greatest weight|its row|of a sound car|its row|signs explained"
        heads += "|most probable|from which a cause calls (1)|to be repeated: count|charge time|pressures|pump starts"
        form.row("heads", [words(at, text, "small") for at, text in enumerate(heads.split("|"), 1)])
        for group in self.appraisal.diagnosis.groups:
            cells = [words(1, group.id, "label"), *self._bar(group.id)]
            if group.id != READINGS:
                sheet = next(item for item in self.steps.groups if item.id == group.id)
                cells += [*self._keys(sheet), *self._rows(sheet), *self._again(sheet)]
            form.row(group.id, cells)
        return form.block()

    def _bar(self, ident: str) -> Iterator[Placed]:
        group = next(item for item in self.appraisal.diagnosis.groups if item.id == ident)
        if not group.causes:
            return
        first, last = (
            f"cause.{ident}.{one.mode_id}.{one.at}.weighed" for one in (group.in_order[0], group.in_order[-1])
        )
        bar = self.callers.bars[ident]
        yield live(FIRST, f"ROUND(MAX({{{first}~{last}}}),6)", bar.first, "si", "1")
        half, least = "{constant.calls-from.value}", "{constant.calls-as-first.value}"
        top = picked_cell(ident, FIRST)
        yield live(BAR, f"IF({top}>={half},{half},MAX({least},{top}))", bar.least, "si", "1")

    def _keys(self, group: GroupSheet) -> Iterator[Placed]:
        picked = self.callers.picked[group.id]
        for column, is_gas, value in ((GAS, True, picked.gas), (OTHER, False, picked.other)):
            mine = [call for call in self.of_caller.get(group.id, ()) if call.caller and call.caller.is_gas == is_gas]
            if mine:
                keys, likely = (
                    f"{{call.{mine[0].ref}.{name}~call.{mine[-1].ref}.{name}}}" for name in ("verdict", "likely")
                )
                yield live(column, f'IFERROR(INDEX({keys},MATCH(1,{likely},0)),"")', value)
            else:
                yield words(column, "")
        gas, other = (picked_cell(group.id, column) for column in (GAS, OTHER))
        yield live(ALL, f'{gas}&IF(AND({gas}<>"",{other}<>"")," + ","")&{other}', picked.key)
        signs = signs_of(group)
        refs = [ref for check in signs for ref in self.callers.refs[check]]
        said = f"{{sign.{group.id}.{refs[0]}.c{SAID}~sign.{group.id}.{refs[-1]}.c{SAID}}}"
        found = sum(len(self._explained(group, check)) for check in signs)
        yield live(FOUND, f'SUMPRODUCT(1*({said}<>""))', found, "whole")

    def _rows(self, group: GroupSheet) -> Iterator[Placed]:
        picked, number = self.callers.picked[group.id], self.numbers[group.id]
        assert picked.row is not None and picked.sound is not None
        causes, weight, numbers = (f"{{row_{number}:{name}}}" for name in ("picked_as", "weight", "number"))
        every, sound_number = picked_cell(group.id, ALL), picked_cell(group.id, SOUND_NUMBER)

        def best(key: str) -> str:
            return f"SUMPRODUCT(MAX(({causes}={key})*{weight}))"

        def row(key: str, column: int) -> str:
            same = f"({weight}={picked_cell(group.id, column)})"
            return f"SUMPRODUCT(MAX(({causes}={key})*{same}*{numbers}))"

        yield live(SOUND_BEST, best(f'"{SOUND}"'), picked.sound.weight, "si", "1")
        yield live(SOUND_NUMBER, row(f'"{SOUND}"', SOUND_BEST), picked.sound.number, "whole")
        yield live(BEST, best(every), picked.row.weight if picked.key else 0.0, "si", "1")
        yield live(NUMBER, f'IF({every}="",{sound_number},{row(every, BEST)})', picked.row.number, "whole")

    def _again(self, group: GroupSheet) -> Iterator[Placed]:
        for further, name in enumerate(AGAIN_OF):
            if group not in self.steps.systems or not any(one in group.names for one in AGAIN_OF[name]):
                continue
            terms = [f"{{call.{call.ref}.likely}}" for call in self._errors(name)]
            likely = sum(call.caller.likely for call in self._errors(name) if call.caller)
            own = gauge_off(group.id)
            if name == "pressures" and any(item.group == group.id and item.key == own for item in self.callers.all):
                terms.append(f'IF({picked_cell(group.id, OTHER)}="{own}",1,0)')
                likely += self.callers.picked[group.id].other == own
            yield live(AGAIN + further, "+".join(terms) or "0", likely, "whole")

    def _errors(self, kind: str) -> list[Call]:
        """The calls of errors that concern a kind of reading, one a cause."""
        some = AGAIN_OF[kind][0]
        found: dict[str, Call] = {}
        for call in self.of_caller.get(READINGS, ()):
            if call.caller is not None and some in CONCERNED[call.caller.cause.mode_id]:
                found.setdefault(call.caller.key, call)
        return list(found.values())

    # --- signs ------------------------------------------------------------------------------------------------------

    def signs(self) -> Block:
        form = Form("sign", SAID)
        heads = ("check", "verdict that counts", "off (1)", "nearness to a sound car", "to what is picked", "explained")
        form.row("heads", [words(at, text, "small") for at, text in enumerate(heads, 1)])
        for group in self.steps.groups:
            for check in signs_of(group):
                refs = self.callers.refs[check]
                for ref in refs:
                    cells = [words(1, self.checks[ref].label, "label"), *self._cells(group, check, ref, ref == refs[0])]
                    form.row(f"{group.id}.{ref}", cells)
        return form.block()

    def _explained(self, group: GroupSheet, check: str) -> list[CheckRef]:
        if check not in self.callers.explained_in[group.id]:
            return []
        return [ref for ref in self.callers.refs[check] if ref in self.callers.explained]

    def _cells(self, group: GroupSheet, check: str, ref: CheckRef, first: bool) -> Iterator[Placed]:
        number, picked = self.numbers[group.id], self.callers.picked[group.id]
        assert picked.row is not None and picked.sound is not None
        row = picked_cell(group.id, NUMBER)
        own = sign_cell(group.id, ref, NEAR_PICKED)
        text = f", {sign(self.checks[ref])}"
        said = text if ref in self._explained(group, check) else ""
        if check in SHARED and check != PAN_CHECK:
            part = shared_of(check)
            shared = getattr(picked.row.hypothesis.shared, part)
            yield live(NEAR_PICKED, f"INDEX({{row_{number}:{part}}},{row})", shared, "whole")
            yield live(SAID, f'IF(AND({{seen.{check}.word}}="{FAULT}",{own}>0),"{text}","")', said)
            return
        name = next((name for name, one in group.checks.items() if one == check), "")
        if self.checks[ref].check.kind == "recorded":  # it is never found bad
            yield words(SAID, "")
            return
        if name in group.looks:
            at = group.looks.index(name) + 1
            if told_by_look(group, name):
                chance = picked.row.hypothesis.looks[name]
                yield live(NEAR_PICKED, f"INDEX({{row_{number}:look_{at}}},{row})", chance, "si", "1")
                often = f"{own}>={{constant.look-explained.value}}"
                yield live(SAID, f'IF(AND({{seen.{check}.word}}="{FAULT}",{often}),"{text}","")', said)
            else:
                yield words(SAID, "")
            return
        yield from self._number(group, check, ref, first, text, said)

    def _number(
        self, group: GroupSheet, check: str, ref: CheckRef, first: bool, text: str, said: str
    ) -> Iterator[Placed]:
        number, picked = self.numbers[group.id], self.callers.picked[group.id]
        assert picked.row is not None and picked.sound is not None
        standing = self.appraisal.standing_of[ref]
        again = f"*(1-{{standing.{ref}.unexplained}})" if standing.safety == "yes" else ""
        verdicts = (f"{{judging.{ref}.verdict_{phase}}}" for phase in ("after", "before"))
        latest = f"IF({{standing.{ref}.made_after}}{again}=1,{','.join(verdicts)})"
        void = VOIDED.replace("standing@", f"standing.{ref}.")
        yield live(COUNTS_AS, f'IF({void},"",{latest})', standing.calls)
        name = next((name for name, one in group.checks.items() if one == check), "")
        column = columns_of(self.steps)[group.id, name] if name else pan_column(self.steps)
        value, spread, believed = (f"{{{HEAD}.{what}.c{column}}}" for what in ("value", "spread", "believed"))
        there = f"{{{HEAD}.there.c{column}}}" if name else believed
        reading = (group.heard.readings.get(name) if name else self.steps.shared.pan) or Reading(0.0, 0.0, ())
        stands = (name in group.heard.readings) if name else self.steps.believed.pan is not None
        head = self.callers.refs[check][0]
        sound, near = (sign_cell(group.id, head, column) for column in (NEAR_SOUND, NEAR_PICKED))
        expected = picked.sound.hypothesis.readings[name] if name else PAN_SOUND
        off = standing.calls in (OUTSIDE, CLOSE) and stands and round(nearness(expected, reading), 6) < -2
        word = f'OR({sign_cell(group.id, ref, COUNTS_AS)}="{OUTSIDE}",{sign_cell(group.id, ref, COUNTS_AS)}="{CLOSE}")'
        yield live(OFF, f"IF(AND({word},{there}=1,ROUND({sound},6)<-{_TWO}),1,0)", int(off), "whole")
        is_off = sign_cell(group.id, ref, OFF)
        if not name:
            if first:
                nearest = f"({value}-{{pan.n1.mean}})^{TWO}/({{pan.n1.spread}}+{spread})"
                yield live(NEAR_SOUND, nearest, nearness(expected, reading), "si", "1")
                pan = picked.row.hypothesis.shared.pan
                yield live(NEAR_PICKED, f"INDEX({{row_{number}:pan}},{picked_cell(group.id, NUMBER)})", pan, "whole")
            yield live(SAID, f'IF({is_off}*{near}>0,"{text}","")', said)
            return
        if first:
            at = group.names.index(name) + 1
            for to, row, of in ((NEAR_SOUND, SOUND_NUMBER, picked.sound), (NEAR_PICKED, NUMBER, picked.row)):
                mean, wide = (
                    f"INDEX({{row_{number}:{what}_{at}}},{picked_cell(group.id, row)})" for what in ("mean", "spread")
                )
                found: Foretold = of.hypothesis.readings[name]
                yield live(to, f"({value}-{mean})^{TWO}/({wide}+{spread})", nearness(found, reading), "si", "1")
        close = f"(ROUND({near},6)>=-{_TWO})"
        kind = (
            next((kind for kind, names in AGAIN_OF.items() if name in names), "") if group in self.steps.systems else ""
        )
        if kind:
            close = f"({close}+{picked_cell(group.id, AGAIN + list(AGAIN_OF).index(kind))})"
        yield live(SAID, f'IF({is_off}*{close}>0,"{text}","")', said)


# --- in the table of calls --------------------------------------------------------------------------------------------


def likely_formula(call: Call) -> str | None:
    """Whether a cause is probable enough, and its job isn't done."""
    item = call.caller
    if item is None:
        return None
    done = [f"{{line.{line}.done_flag}}+{{line.{line}.earlier}}" for line in item.cause.lines]
    left = f"MIN({','.join(done)})" if len(done) > 1 else done[0]
    weighed = f"{{cause.{item.group}.{item.key}.weighed}}"
    return f"={{group.{item.group}.gauged}}*IF(AND(ROUND({weighed},6)>={picked_cell(item.group, BAR)},{left}=0),1,0)"


def calls_formula(appraisal: Appraisal, item: Caller) -> str:
    """The line of a cause while it calls."""
    steps = appraisal.diagnosis.arithmetic
    assert steps is not None
    groups = [group.id for group in steps.systems] if item.group == READINGS else [item.group]
    found = "+".join(picked_cell(group, FOUND) for group in groups)
    picked = (
        "{likely}=1"
        if item.group == READINGS
        else f"{picked_cell(item.group, GAS if item.is_gas else OTHER)}={{verdict}}"
    )
    return f'=IF(AND({picked},{found}>0),{{line}},"")'


def signs_formula(appraisal: Appraisal, call: Call) -> str | None:
    """The signs of a cause that are named while it calls."""
    item = call.caller
    if item is None or not item.named:
        return None
    said = []
    for check in item.named:
        groups = said_groups(appraisal, check)
        group = item.group if item.group in groups else groups[0]
        said.append(sign_cell(group, appraisal.callers.refs[check][0], SAID))
    return f'=IF({{active_line}}="","",{"&".join(said)})'
