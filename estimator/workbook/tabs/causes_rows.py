"""The hypotheses of a group, a row each: what it foretells, its weight by the readings in the told. On Causes."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from estimator.diagnosis.causes.arithmetic import GroupSheet, WeighedRow, said
from estimator.diagnosis.causes.explain import picked_as
from estimator.diagnosis.causes.scenarios import COUNTS, COUNTS_SWAPPED, GAUGES, GAUGES_SWAPPED
from estimator.records.modes import PEDAL
from estimator.workbook.book import Block, Column, Value, block
from estimator.workbook.tabs.causes_heard import TWO
from estimator.workbook.tabs.causes_told import Told, weighed

# So many looks are factors; more are one sum of logarithms.
FEW_LOOKS = 2
SPREAD = "variance twice, less than 0, in h² of SI"


def row_block(group: GroupSheet, told: Told) -> Block:
    """The table of a group's hypotheses."""
    number = told.steps.groups.index(group) + 1
    names, looks = (list(enumerate(these, 1)) for these in (group.names, group.looks))
    columns = [
        Column("label", "hypothesis", "label", value=lambda row: row.ref),
        Column("causes", "causes", "words", value=lambda row: said(row.hypothesis.causes)),
        *(_constant(f"mean_{at}", f"{name}: mean, SI", _mean(name)) for at, name in names),
        *(_constant(f"spread_{at}", f"{name}: {SPREAD}", _spread(name)) for at, name in names),
        *(_constant(f"look_{at}", f"{name}: probability of a fault found", _look(name)) for at, name in looks),
        _constant("prior", "prior", lambda row: row.hypothesis.prior),
        *_classes(group),
        Column("number", "number", "whole"),
        Column("picked_as", "causes, where readings are taken as read", value=lambda row: picked_as(group, row)),
        *_weight(group, told),
    ]
    if group.zones:
        columns += _swapped(group, told) if any(row.swapped for row in group.rows) else []
    else:
        pedal = "{weight}*IF({leak}=1,{leaks.n1.message},{leaks.n0.message})"
        share = pedal if group.id == PEDAL else f"{{weight}}/SUM({{row_{number}:weight}})"
        columns.append(Column("share", "probability", "si", f"={share}", unit="1", value=lambda row: row.probability))
    return block(f"row_{number}", f"Hypotheses: {group.id.replace('-', ' ')}", columns, group.rows)


def _constant(name: str, heading: str, value: Callable[[WeighedRow], Value]) -> Column:
    return Column(name, heading, "si", unit="SI", value=value)


def _mean(name: str) -> Callable[[WeighedRow], Value]:
    return lambda row: row.hypothesis.readings[name].mean


def _spread(name: str) -> Callable[[WeighedRow], Value]:
    return lambda row: -row.hypothesis.readings[name].spread


def _look(name: str) -> Callable[[WeighedRow], Value]:
    return lambda row: row.hypothesis.looks[name]


def _classes(group: GroupSheet) -> Iterator[Column]:
    """What a row adds to the readings that all systems share."""
    if group.zones:
        yield Column("zone", "zone", "whole")
        yield Column("tag_zone", "zone of one gauge off on all", "whole", sparse=True)
    else:
        yield Column("leak", "leak to be seen", "whole", value=lambda row: row.hypothesis.shared.leak)


def _log(group: GroupSheet, told: Told, names: tuple[str, ...], other: GroupSheet | None = None) -> str:
    """The sum of the logarithms of some readings' densities, of the same readings of another system if one is given."""
    if not names:
        return "0"
    numbers = [group.names.index(name) + 1 for name in names]
    mean, spread = (f"{{{what}_{numbers[0]}..{what}_{numbers[-1]}}}" for what in ("mean", "spread"))
    whose = other or group
    value, u, *rest = (told.span(row, whose, names) for row in ("value", "spread", "believed", "scale", "rest"))
    return f"SUMPRODUCT(LN({weighed(value, u, mean, spread, *rest)}))"


def _looks(group: GroupSheet, told: Told) -> str:
    """The probability of the looks, as factors."""
    cells = [(at, told.cell("spread", told.at[group.id, name])) for at, name in enumerate(group.looks, 1)]
    return "".join(f"*(1-MAX(0,{found})+{found}*{{look_{at}}})" for at, found in cells)


def _weight(group: GroupSheet, told: Told) -> Iterator[Column]:
    looks = _looks(group, told)
    if len(group.looks) > FEW_LOOKS:
        found = told.span("spread", group, group.looks)
        looks = f"*EXP(SUMPRODUCT(LN(1-({found}+{found}*{found})/{TWO}+{found}*{{look_1..look_{len(group.looks)}}})))"
    weight = f"={{prior}}*EXP({_log(group, told, group.names)}){looks}"
    yield Column("weight", "weight", "si", weight, unit="1", value=lambda row: row.weight)


def _swapped(group: GroupSheet, told: Told) -> list[Column]:
    """What becomes of a row's weight with the counts or the gauges of the other system; for those told apart by them."""
    other = next(item for item in told.steps.systems if item.id != group.id)

    def swapped(mode: str, part: str, checks: tuple[str, ...]) -> Column:
        names = tuple(name for name in group.names if name in checks)
        factor = f"EXP({_log(group, told, names, other)}-{_log(group, told, names)})"
        return Column(
            part,
            f"weight with swapped {part}",
            "si",
            lambda row: f"={{weight}}*{factor}" if row.swapped else None,
            unit="1",
            value=lambda row: row.swapped.get(mode, ""),
        )

    return [swapped(GAUGES_SWAPPED, "gauges", GAUGES), swapped(COUNTS_SWAPPED, "counts", COUNTS)]
