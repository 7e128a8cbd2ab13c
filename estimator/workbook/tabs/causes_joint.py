"""The systems and the pedal taken together: what they share, and what each cause comes to. On Causes."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.ranked import Ranked, ranked_causes
from estimator.diagnosis.causes.arithmetic import Arithmetic, GroupSheet, Held, Pair, Zone, key_of, said
from estimator.diagnosis.causes.hypotheses import At, Foretold
from estimator.diagnosis.causes.result import Group
from estimator.diagnosis.causes.system_hypotheses import pan_levels
from estimator.diagnosis.causes.weigh import FLOOR_WET, LEAK_SEEN, RESERVE_FAILS, seen
from estimator.diagnosis.causes.words import CLAIMS, claim_of, weighed, words_of
from estimator.limits.judging.verdict_words import FAULT, NO_FAULT
from estimator.records.modes import READINGS
from estimator.workbook.book import Block, Column, block
from estimator.workbook.tabs.causes_heard import HEAD, SHARED_LOOKS, columns_of, pan_column
from estimator.workbook.tabs.causes_told import weighed as density_of
from estimator.workbook.tabs.common import Pair as Named

SHOWN = 3


def joint_blocks(appraisal: Appraisal) -> Iterator[Block]:
    """Yield the tables, in the order in which they rest on each other."""
    steps = appraisal.diagnosis.arithmetic
    assert steps is not None
    yield _pan(steps)
    if steps.shared.idles:
        yield _idle(steps)
    yield _reserve(steps)
    yield _leaks(steps)
    yield _pairs(steps)
    yield block(
        "joint",
        "All zones together",
        [Column("label", "figure", "label"), Column("value", "now", "si", "=SUM({pair:joint})", unit="1")],
        [Named("whole", "sum", steps.whole)],
        kind="working",
    )
    for number, group in enumerate(steps.systems, 1):
        yield _zones(number, group, len(steps.systems))
        yield _held(number, group)
    yield _groups(appraisal)
    yield _causes(appraisal)
    yield from _claims(appraisal)


# --- what all systems share ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Level:
    """Levels of the pan of all systems together, or how many leak or are dead."""

    number: int
    label: str
    mean: float
    spread: float
    chance: float

    @property
    def ref(self) -> str:
        return f"n{self.number}"


def pan_numbers(systems: int) -> dict[tuple[int, ...], int]:
    """The number of each combination of levels."""
    levels = itertools.combinations_with_replacement(range(len(pan_levels())), systems)
    return {one: number for number, one in enumerate(levels, 1)}


def _pan(steps: Arithmetic) -> Block:
    rows = []
    for levels, number in pan_numbers(len(steps.systems)).items():
        foretold = steps.shared.pan_foretold(levels)
        words = " and ".join(str(level) for level in levels)
        rows.append(Level(number, f"level {words}", foretold.mean, -foretold.spread, steps.believed.of_pan(levels)))
    return block("pan", "Fluid in the pan", _densities("levels of the systems", pan_column(steps)), rows)


def _idle(steps: Arithmetic) -> Block:
    rows = [
        Level(at, "as stated" if at == 0 else f"slow, {at}", item.mean, -item.spread, steps.believed.of_idle(at))
        for at, item in enumerate(steps.shared.idles)
    ]
    return block("idle", "Idle speed", _densities("idle speed", pan_column(steps) + 1), rows)


def _densities(what: str, column: int) -> list[Column]:
    """What is foretold of a shared reading, and its density."""
    value, u, *rest = (f"{{{HEAD}.{row}.c{column}}}" for row in ("value", "spread", "believed", "scale", "rest"))
    density = density_of(value, u, "{mean}", "{spread}", *rest)
    return [
        Column("label", what, "label"),
        Column("mean", "mean, SI", "si", unit="SI"),
        Column("spread", "variance twice, less than 0, in h² of SI", "si", unit="SI"),
        Column("chance", "density", "si", f"={density}", unit="1"),
    ]


def _reserve(steps: Arithmetic) -> Block:
    rows = [
        Level(number, f"{number} without reserve", seen(RESERVE_FAILS, number), 0.0, steps.believed.of_reserve(number))
        for number in range(len(steps.systems) + 1)
    ]
    return block("reserve", "The look for reserve", [*_looked(SHARED_LOOKS[1])], rows)


def _looked(check: str) -> Iterator[Column]:
    yield Column("label", "systems", "label")
    yield Column("mean", "probability of a fault found", "si", unit="1")
    word = f"{{seen.{check}.word}}"
    chance = f'IF({word}="{FAULT}",{{mean}},IF({word}="{NO_FAULT}",1-{{mean}},1))'
    if check == SHARED_LOOKS[0]:
        yield Column(
            "floor", "probability of a wet floor", "si", unit="1", value=lambda row: seen(FLOOR_WET, row.number)
        )
        chance += "*" + chance.replace(word, f"{{seen.{SHARED_LOOKS[2]}.word}}").replace("{mean}", "{floor}")
    yield Column("chance", "probability of what was found", "si", f"={chance}", unit="1")


@dataclass(frozen=True)
class Leaks(Level):
    """So many outside leaks of systems; the pedal's hypotheses with it."""

    with_pedal: float = 0.0
    joint: float = 0.0
    message: float = 0.0

    @property
    def base(self) -> float:
        return self.joint / self.with_pedal if self.with_pedal > 0 else 0.0


def _leaks(steps: Arithmetic) -> Block:
    """How many systems leak outside; in the last row, those and the pedal circuit."""
    many = len(steps.systems)
    rows = [*_leak_rows(steps)]
    pedal = f"row_{many + 1}"

    def some(name: str, heading: str, rows: int, formula: Callable[[Leaks], str]) -> Column:
        """A column of the first rows alone."""
        return Column(
            name,
            heading,
            "si",
            lambda row: formula(row) if row.number < rows else None,
            unit="1",
            value=lambda row: getattr(row, name) if row.number < rows else "",
        )

    def with_pedal(row: Leaks) -> str:
        without, leaking = (f"SUMIF({{{pedal}:leak}},{leak},{{{pedal}:weight}})" for leak in (0, 1))
        return f"={without}*{{chance}}+{leaking}*{{leaks.n{row.number + 1}.chance}}"

    def message(row: Leaks) -> str:
        chances = f"{{leaks.n{row.number}.chance~leaks.n{row.number + many}.chance}}"
        return f"=SUMPRODUCT({{leaks.n0.base~leaks.n{many}.base}},{chances})/{{joint.whole.value}}"

    return block(
        "leaks",
        "The look for leaks",
        [
            *_looked(SHARED_LOOKS[0]),
            Column("number", "number", "whole"),
            some("with_pedal", "with the pedal's weights", many + 1, with_pedal),
            some("joint", "of the pairs", many + 1, lambda row: "=SUMIF({pair:leaks},{number},{pair:joint})"),
            some("base", "without the look", many + 1, lambda row: "=IFERROR({joint}/{with_pedal},0)"),
            some("message", "what makes a probability of a weight of the pedal", 2, message),
        ],
        rows,
    )


def _leak_rows(steps: Arithmetic) -> Iterator[Leaks]:
    (without, leaking), of_leak, many = steps.pedal_sums, steps.believed.of_leak, len(steps.systems)
    totals = [sum(pair.joint for pair in steps.pairs if pair.leaks == number) for number in range(many + 1)]
    both = [without * of_leak(number) + leaking * of_leak(number + 1) for number in range(many + 1)]
    for number in range(many + 2):
        last = number > many
        message = 0.0
        if number < 2:
            message = (
                sum(totals[n] / both[n] * of_leak(n + number) for n in range(many + 1) if both[n] > 0) / steps.whole
            )
        yield Leaks(
            number,
            f"{number} outside",
            seen(LEAK_SEEN, number),
            0.0,
            of_leak(number),
            0.0 if last else both[number],
            0.0 if last else totals[number],
            message,
        )


# --- zones ----------------------------------------------------------------------------------------------------------------


def _pairs(steps: Arithmetic) -> Block:
    numbers, many = pan_numbers(len(steps.systems)), len(steps.systems)

    def zone(at: int) -> Column:
        return Column(f"zone_{at}", f"zone of system {at}", "whole", value=lambda row: row.zones[at - 1].number)

    def joint(pair: Pair) -> str:
        own = "".join(f"*{{sum_{at}.{zone.ref}.weight}}" for at, zone in enumerate(pair.zones, 1))
        own += f"*{{idle.n{pair.idle}.chance}}" if steps.shared.idles else ""
        shared = f"{{reserve.n{pair.dead}.chance}}*{{leaks.n{pair.leaks}.with_pedal}}"
        return f"={{prior}}{own}*{{pan.n{numbers[pair.pan]}.chance}}*{shared}"

    return block(
        "pair",
        "Zones of the systems beside each other",
        [
            Column("label", "pair", "label", value=lambda row: row.ref),
            Column("case", "holds for all systems", "words", value=lambda row: row.mode or "nothing"),
            Column("prior", "prior", "si", unit="1"),
            *map(zone, range(1, many + 1)),
            Column("leaks", "leaks outside", "whole"),
            Column("joint", "weight of both with what they share", "si", joint, unit="1"),
        ],
        steps.pairs,
    )


def _zones(number: int, group: GroupSheet, systems: int) -> Block:
    def weight(zone: Zone) -> str:
        return f"={{factor}}*SUMIF({{row_{number}:{zone.zone}}},{{among}},{{row_{number}:{zone.source}}})"

    def pan_of(zone: Zone) -> Foretold:
        return pan_levels()[zone.shared.pan]

    def message(_: Zone) -> str:
        total = f"SUMIF({{pair:zone_{number}}},{{number}},{{pair:joint}})"
        return f"=IFERROR({total}/{{weight}}/{{joint.whole.value}},0)"

    return block(
        f"sum_{number}",
        f"Zones: {group.id.replace('-', ' ')}",
        [
            Column("label", "zone", "label", value=lambda zone: zone.ref),
            Column("number", "number", "whole"),
            Column("among", "among rows of the zone", "whole"),
            Column("factor", "factor", "si", unit="1"),
            Column("weight", "sum of weights", "si", weight, unit="1"),
            Column("message", "what makes a probability of a weight", "si", message, unit="1"),
            Column("pan", "adds to the pan, SI", "si", unit="SI", value=lambda zone: pan_of(zone).mean),
            Column(
                "pan_spread", "variance twice, in h² of SI", "si", unit="SI", value=lambda zone: pan_of(zone).spread
            ),
            Column("leak", "a leak to be seen (1)", "whole", value=lambda zone: zone.shared.leak),
            Column("dead", "no reserve (1)", "whole", value=lambda zone: zone.shared.dead),
        ],
        group.zones,
    )


def _held(number: int, group: GroupSheet) -> Block:
    def share(row: Held) -> str:
        zone = row.zone
        rows = f"{{row_{number}:causes}},{{of_rows}},{{row_{number}:{zone.zone}}},{{among}}"
        factors = f"{{sum_{number}.{zone.ref}.factor}}*{{sum_{number}.{zone.ref}.message}}"
        return f"=SUMIFS({{row_{number}:{zone.source}}},{rows})*{factors}"

    def cause(at: int) -> Column:
        names = ("gas", "other")
        return Column(names[at], f"{names[at]}: cause", "words", value=lambda row: _nth(row.causes, at))

    return block(
        f"held_{number}",
        f"Causes by zone: {group.id.replace('-', ' ')}",
        [
            Column("label", "row", "label", value=lambda row: row.ref),
            Column("of_rows", "causes of the rows", "words", value=lambda row: said(row.of_rows)),
            Column("among", "among rows of the zone", "whole", value=lambda row: row.zone.among),
            *map(cause, (0, 1)),
            Column("case", "case", "whole"),
            Column("share", "probability", "si", share, unit="1", value=lambda row: row.probability),
        ],
        group.held,
    )


def _nth(causes: tuple[At, ...], at: int) -> str:
    return key_of(causes[at]) if len(causes) > at else ""


# --- causes ---------------------------------------------------------------------------------------------------------------


def _groups(appraisal: Appraisal) -> Block:
    """Whether each group has readings enough."""
    steps = appraisal.diagnosis.arithmetic
    assert steps is not None
    groups = appraisal.diagnosis.groups

    def of(column: str, at: int) -> Callable[[Group], str]:
        """Whether a set stands; of what all systems share, of each."""

        def formula(group: Group) -> str:
            if group.id == READINGS:
                return "=MIN(" + ",".join(f"{{group.{item.id}.{column}}}" for item in steps.systems) + ")"
            sets = group.needed[1:] if at else group.needed[:1]
            found = [*(["{gauged}"] if at else []), *(stand_formula(steps, group, one) for one in sets)]
            return f"=MAX({','.join(found)})" if len(found) > 1 else f"={found[0]}"

        return formula

    return block(
        "group",
        "Groups of causes",
        [
            Column("label", "group", "label", value=lambda group: group.id),
            Column("gauged", "has those of gauges (1)", "whole", of("gauged", 0), value=lambda one: int(one.gauged)),
            Column("ranked", "has readings enough (1)", "whole", of("ranked", 1), value=lambda one: int(one.ranked)),
        ],
        groups,
        ref=lambda group: group.id,
    )


def stand_formula(steps: Arithmetic, group: Group, needed: Sequence[Sequence[str]]) -> str:
    """Whether all that a set needs stands: 1 or 0; of several named together one is enough."""
    parts = []
    for several in needed:
        cells = ",".join(_stands(steps, group.id, check) for check in several)
        parts.append(f"MAX({cells})" if len(several) > 1 else cells)
    return f"MIN({','.join(parts)})" if parts else "0"


def _stands(steps: Arithmetic, ident: str, check: str) -> str:
    """The cell that holds 1 where a reading stands; of a look its spread without sign."""
    group = next(item for item in steps.groups if item.id == ident)
    name = next(name for name, one in group.checks.items() if one == check)
    column = columns_of(steps)[ident, name]
    return f"ABS({{{HEAD}.spread.c{column}}})" if name in group.looks else f"{{{HEAD}.there.c{column}}}"


def _causes(appraisal: Appraisal) -> Block:
    steps = appraisal.diagnosis.arithmetic
    assert steps is not None
    numbers = {group.id: at for at, group in enumerate(steps.groups, 1)}

    def probability(row: Ranked) -> str:
        if row.group.id == READINGS:
            return "SUMIF({pair:case},{key},{pair:joint})/{joint.whole.value}"
        number = numbers[row.group.id]
        if number <= len(steps.systems):
            both = (f"SUMIF({{held_{number}:{name}}},{{key}},{{held_{number}:share}})" for name in ("gas", "other"))
            return "+".join(both)
        return f"SUMIF({{row_{number}:causes}},{{key}},{{row_{number}:share}})"

    def ranked(row: Ranked) -> str:
        return f"={{group.{row.group.id}.ranked}}*ROUND({probability(row)},6)-{{order}}/1000000000000"

    return block(
        "cause",
        "Causes",
        [
            Column("label", "cause", "label"),
            Column("key", "word", "words"),
            Column("job", "job", "words", value=lambda row: row.cause.job_id),
            Column("prior", "prior", "si", unit="1", value=lambda row: row.cause.prior),
            Column("mere", "a reading error (1)", "whole"),
            Column("order", "order", "whole"),
            Column("weighed", "probability to six decimals, if ranked; ties by order", "si", ranked, unit="1"),
        ],
        ranked_causes(appraisal.diagnosis),
    )


@dataclass(frozen=True)
class Shown:
    """A cause by its place among the most probable."""

    number: int
    share: float
    cause: str
    claim: str

    @property
    def ref(self) -> str:
        return f"top{self.number}"

    @property
    def label(self) -> str:
        return f"cause {self.number}"

    @property
    def words(self) -> str:
        return words_of(self.claim, self.cause)


def _claims(appraisal: Appraisal) -> Iterator[Block]:
    rows = [Named(f"claim-{at}", words or "nothing", least) for at, (least, words) in enumerate(CLAIMS)]
    yield block(
        "claim",
        "What is said of a probability from this on",
        [
            Column("label", "step", "label", value=lambda row: row.ref),
            Column("least", "from", "si", unit="1", value=lambda row: row.value),
            Column("words", "words", value=lambda row: "" if row.label == "nothing" else row.label),
        ],
        rows,
    )
    yield block(
        "top",
        "The most probable causes",
        [
            Column("label", "place", "label"),
            Column("number", "number", "whole"),
            Column("share", "probability", "si", "=MAX(0,ROUND(LARGE({cause:weighed},{number}),6))", unit="1"),
            Column(
                "cause",
                "cause",
                "words",
                "=INDEX({cause:label},MATCH(LARGE({cause:weighed},{number}),{cause:weighed},0))",
            ),
            Column("claim", "claim", "words", '=INDEX({claim:words},MATCH({share},{claim:least},1))&""'),
            Column("words", "in words", "words", '=IF({claim}="","",{claim}&": "&{cause})'),
        ],
        most_probable(appraisal),
    )


def most_probable(appraisal: Appraisal) -> list[Shown]:
    """Return the causes that the Summary names."""
    if appraisal.diagnosis.arithmetic is None:
        return []
    first = sorted(ranked_causes(appraisal.diagnosis), key=lambda row: -row.weighed)[:SHOWN]
    shares = [weighed(row.cause, row.group) for row in first]
    return [
        Shown(at, share, row.label, claim_of(share))
        for at, (share, row) in enumerate(zip(shares, first, strict=True), 1)
    ]
