"""Which causes call for their jobs, on Causes, and which findings they explain as signs of them, on Workings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from estimator.appraisal import Appraisal
from estimator.boxes.keys import CheckRef
from estimator.diagnosis.causes.arithmetic import GroupSheet, WeighedRow
from estimator.diagnosis.causes.calling import Caller, signs_of
from estimator.diagnosis.causes.explain import CONCERNED, PAN_CHECK, SHARED, SOUND, probability_of, told_by_look
from estimator.diagnosis.causes.result import Group
from estimator.diagnosis.causes.scenarios import COUNTS
from estimator.diagnosis.causes.system_hypotheses import pan_levels
from estimator.limits.judging.verdict_words import CLOSE, FAULT, OUTSIDE
from estimator.pricing.calls import Call, sign
from estimator.records.modes import READINGS
from estimator.workbook.book import Block
from estimator.workbook.forms import Form, Placed, live, words
from estimator.workbook.tabs.causes_heard import VOIDED

# The columns of what is picked in a group; of the readings: which of them are to be repeated.
GAS, OTHER, ALL, TITLE, NOTHING, BEST, NUMBER, SOUND_BEST, SOUND_NUMBER, FOUND, FIRST, BAR, FINDINGS = range(2, 15)
PAN, PAN_SPREAD, LEAK, DEAD, AGAIN = range(15, 20)
ADDS = dict(zip(SHARED, (PAN, LEAK, DEAD), strict=True))
# Of a sign: the verdict that counts, what is said.
COUNTS_AS, SAID = 2, 3
# Readings that the same errors of all readings concern.
AGAIN_OF: Mapping[str, tuple[str, ...]] = {
    "count": COUNTS,
    "charge time": ("charge-time",),
    "pressures": CONCERNED["gauge-off"],
    "pump starts": ("cycle-interval",),
}


def sign_blocks(appraisal: Appraisal) -> Iterator[Block]:
    """Yield the signs, for Workings; none for a car without the tab Causes."""
    if appraisal.diagnosis.arithmetic is not None:
        yield _Signs(appraisal).signs()


def picked_block(appraisal: Appraisal) -> Block:
    """The table of what is picked in each group, for Causes."""
    return _Signs(appraisal).picked()


def again_at(name: str) -> int:
    """The number, from 1, of the kind of a reading that an error may concern; 0 for none."""
    return next((at for at, names in enumerate(AGAIN_OF.values(), 1) if name in names), 0)


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
        self.looks = {item.ref for item in appraisal.looked}
        self.of_caller: dict[str, list[Call]] = {}
        for call in appraisal.calls:
            if call.caller is not None:
                self.of_caller.setdefault(call.caller.group, []).append(call)

    # --- what is picked in each group -------------------------------------------------------------------------------

    def picked(self) -> Block:
        form = Form("picked", AGAIN + len(AGAIN_OF) - 1)
        heads = "group|gas|other cause|causes that call|in words|probability that nothing is wrong|greatest probability"
        heads += "|its row|of a sound car|its row|signs explained|most probable|from which a cause calls (1)|findings"
        heads += "|adds to the pan, SI|variance twice, in h² of SI|a leak to be seen (1)|no reserve (1)"
        heads += "".join(f"|to be repeated: {kind}" for kind in AGAIN_OF)
        form.row("heads", [words(at, text, "small") for at, text in enumerate(heads.split("|"), 1)])
        for group in self.appraisal.diagnosis.groups:
            cells = [words(1, group.id, "label"), *self._bar(group), *self._keys(group.id)]
            if group.id == READINGS:
                cells += self._again()
            else:
                sheet = next(item for item in self.steps.groups if item.id == group.id)
                cells += [*self._found(sheet), *self._rows(sheet, group), *self._adds(sheet)]
            form.row(group.id, cells)
        return form.block()

    def _bar(self, group: Group) -> Iterator[Placed]:
        if not group.causes:
            return
        first, last = (
            f"cause.{group.id}.{one.mode_id}.{one.at}.weighed" for one in (group.in_order[0], group.in_order[-1])
        )
        bar = self.callers.bars[group.id]
        yield live(FIRST, f"ROUND(MAX({{{first}~{last}}}),6)", bar.first, "si", "1")
        half, least = "{constant.calls-from.value}", "{constant.calls-as-first.value}"
        top = picked_cell(group.id, FIRST)
        yield live(BAR, f"IF({top}>={half},{half},MAX({least},{top}))", bar.least, "si", "1")

    def _keys(self, ident: str) -> Iterator[Placed]:
        picked = self.callers.picked[ident]
        titles = []
        for column, is_gas, value in ((GAS, True, picked.gas), (OTHER, False, picked.other)):
            mine = [call for call in self.of_caller.get(ident, ()) if call.caller and call.caller.is_gas == is_gas]
            if not mine:
                yield words(column, "")
                continue
            keys, likely = (
                f"{{call.{mine[0].ref}.{name}~call.{mine[-1].ref}.{name}}}" for name in ("verdict", "likely")
            )
            yield live(column, f'IFERROR(INDEX({keys},MATCH(1,{likely},0)),"")', value)
            key = (
                f'SUBSTITUTE({picked_cell(ident, column)},".car","")'
                if ident == READINGS
                else picked_cell(ident, column)
            )
            titles.append(f'IFERROR(INDEX({{cause:label}},MATCH({key},{{cause:key}},0)),"")')
        gas, other = (picked_cell(ident, column) for column in (GAS, OTHER))
        both = f'IF(AND({gas}<>"",{other}<>"")," and ","")'
        yield live(TITLE, f"&{both}&".join(titles) or '""', picked.title)
        yield live(ALL, f'{gas}&IF(AND({gas}<>"",{other}<>"")," + ","")&{other}', picked.key)

    def _again(self) -> Iterator[Placed]:
        """Which kinds of readings are to be repeated first."""
        other = self.callers.picked[READINGS].other
        for further, names in enumerate(AGAIN_OF.values()):
            wrong = [f"{mode}.car" for mode, concerned in CONCERNED.items() if names[0] in concerned]
            either = ",".join(f'{picked_cell(READINGS, OTHER)}="{key}"' for key in wrong)
            yield live(AGAIN + further, f"IF(OR({either}),1,0)", int(other in wrong), "whole")

    def _found(self, group: GroupSheet) -> Iterator[Placed]:
        signs = signs_of(group)
        refs = [ref for check in signs for ref in self.callers.refs[check]]
        said = f"{{sign.{group.id}.{refs[0]}.c{SAID}~sign.{group.id}.{refs[-1]}.c{SAID}}}"
        found = sum(len(self._explained(group, check)) for check in signs)
        yield live(FOUND, f'SUMPRODUCT(1*({said}<>""))', found, "whole")
        counts = said.replace(f".c{SAID}", f".c{COUNTS_AS}")
        bad = [f'COUNTIF({counts},"{word}")' for word in (OUTSIDE, CLOSE)]
        looks = [check for check in signs if check in self.looks]
        bad += [f'IF({{seen.{check}.word}}="{FAULT}",1,0)' for check in looks]
        yield live(FINDINGS, "+".join(bad), self.callers.picked[group.id].findings, "whole")

    def _rows(self, group: GroupSheet, whole: Group) -> Iterator[Placed]:
        picked, number = self.callers.picked[group.id], self.numbers[group.id]
        assert picked.sound is not None
        causes, numbers = (f"{{row_{number}:{name}}}" for name in ("picked_as", "number"))
        share, none = f"{{row_{number}:share}}", f'{{row_{number}:causes}},"none",{{row_{number}:share}}'
        if group.zones:
            share = (
                f"{{row_{number}:weight}}*SUMIF({{sum_{number}:number}},{{row_{number}:zone}},{{sum_{number}:message}})"
            )
            case = next(held.case for held in group.held if not held.causes)
            none = f"{{held_{number}:case}},{case},{{held_{number}:share}}"
        every, sound_number = picked_cell(group.id, ALL), picked_cell(group.id, SOUND_NUMBER)

        def best(key: str) -> str:
            return f"SUMPRODUCT(MAX(({causes}={key})*{share}))"

        def row(key: str, column: int) -> str:
            return f"SUMPRODUCT(MAX(({causes}={key})*({share}={picked_cell(group.id, column)})*{numbers}))"

        def most(row: WeighedRow | None) -> float:
            return probability_of(group, row) if row else 0.0

        yield live(NOTHING, f"ROUND(SUMIF({none}),6)", picked.nothing, "si", "1")
        yield live(SOUND_BEST, best(f'"{SOUND}"'), most(picked.sound), "si", "1")
        yield live(SOUND_NUMBER, row(f'"{SOUND}"', SOUND_BEST), picked.sound.number, "whole")
        yield live(BEST, best(every), most(picked.row) if picked.key else 0.0, "si", "1")
        sure = f"AND({{group.{group.id}.ranked}}=1,{picked_cell(group.id, NOTHING)}>={{constant.calls-from.value}})"
        at = picked.row.number if picked.row else 0
        yield live(NUMBER, f'IF({every}="",IF({sure},{sound_number},0),{row(every, BEST)})', at, "whole")

    def _adds(self, group: GroupSheet) -> Iterator[Placed]:
        """What is picked adds to the readings that all systems share."""
        picked, number, at = self.callers.picked[group.id], self.numbers[group.id], picked_cell(group.id, NUMBER)
        if not group.zones:
            leak = f"IF({at}=0,0,INDEX({{row_{number}:leak}},{at}))"
            yield live(LEAK, leak, picked.adds("leaks-at-cut-out.car"), "whole")
            return
        level = pan_levels()[picked.adds(PAN_CHECK)]
        values = {PAN: level.mean, PAN_SPREAD: level.spread}
        values |= {ADDS[check]: picked.adds(check) for check in SHARED if check != PAN_CHECK}
        for column, name in ((PAN, "pan"), (PAN_SPREAD, "pan_spread"), (LEAK, "leak"), (DEAD, "dead")):
            zone = f"INDEX({{row_{number}:zone}},{at})"
            formula = f"IF({at}=0,0,INDEX({{sum_{number}:{name}}},{zone}))"
            yield live(column, formula, values[column], "si", "SI")

    # --- signs ------------------------------------------------------------------------------------------------------

    def signs(self) -> Block:
        form = Form("sign", SAID)
        form.row(
            "heads",
            [words(at, text, "small") for at, text in enumerate(("check", "verdict that counts", "explained"), 1)],
        )
        for group in self.steps.groups:
            for check in signs_of(group):
                for ref in self.callers.refs[check]:
                    cells = [words(1, self.checks[ref].label, "label"), *self._cells(group, check, ref)]
                    form.row(f"{group.id}.{ref}", cells)
        return form.block()

    def _explained(self, group: GroupSheet, check: str) -> list[CheckRef]:
        if check not in self.callers.explained_in[group.id]:
            return []
        return [ref for ref in self.callers.refs[check] if ref in self.callers.explained]

    def _cells(self, group: GroupSheet, check: str, ref: CheckRef) -> Iterator[Placed]:
        name = next((name for name, one in group.checks.items() if one == check), "")
        text = f", {sign(self.checks[ref])}"
        if self.checks[ref].check.kind == "recorded":  # it is never found bad
            yield words(SAID, "")
            return
        terms = [f"{{beside.{check}.explained}}=1"]
        if check in SHARED:
            terms.append(f"{picked_cell(group.id, ADDS[check])}>0")
        if check == PAN_CHECK or name in group.names:
            standing = self.appraisal.standing_of[ref]
            again = f"*(1-{{standing.{ref}.unexplained}})" if standing.safety == "yes" else ""
            verdicts = (f"{{judging.{ref}.verdict_{phase}}}" for phase in ("after", "before"))
            latest = f"IF({{standing.{ref}.made_after}}{again}=1,{','.join(verdicts)})"
            yield live(COUNTS_AS, f'IF({VOIDED.replace("standing@", f"standing.{ref}.")},"",{latest})', standing.calls)
            counts = sign_cell(group.id, ref, COUNTS_AS)
            terms.append(f'OR({counts}="{OUTSIDE}",{counts}="{CLOSE}")')
        elif name and not told_by_look(group, name):
            yield words(SAID, "")
            return
        said = text if ref in self._explained(group, check) else ""
        yield live(SAID, f'IF(AND({",".join(terms)}),"{text}","")', said)


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
    picked = f"{picked_cell(item.group, GAS if item.is_gas else OTHER)}={{verdict}}"
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
