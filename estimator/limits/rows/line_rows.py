"""Pipes and hoses as rows: hoop stress at cut-out, with wall lost, and what is left until they burst. By the gauge."""

from __future__ import annotations

from estimator.limits.row_table import Row
from estimator.limits.rows.brake_rows import hose_rows, hoses
from estimator.limits.rows.common_rows import once, published
from estimator.limits.rows.methods import Context
from estimator.limits.rows.pedal_rows import PEDAL, has_pedal_circuit, pedal_rows
from estimator.limits.rows.system_rows import system_rows
from estimator.limits.working import Scope
from estimator.places import PEDAL_CIRCUIT
from estimator.quantities import Quantity
from estimator.records import Pipe

# fmt: off
WORN = (
    Row("worn", "t worn", "wall with as much lost as ends a line", "{wall}*(1-{$lost})",
        "length", "uk-mot", "general wear; a pit is worse than that"),
)
STRESS = (
    Row("thin$suffix", "S thin $words", "hoop stress, thin wall, $words: p D/(2 t)",
        "{$pressure}*{outer}/({constant.two}*{$wall})", "MPa", "barlow"),
    Row("bore$suffix", "d inner $words", "inner diameter, $words: D - 2 t",
        "{outer}-{constant.two}*{$wall}", "length", "definition"),
    Row("thick$suffix", "S thick $words", "hoop stress at the bore, thick wall, $words: p (D² + d²)/(D² - d²)",
        "{$pressure}*({outer}*{outer}+{bore$suffix}*{bore$suffix})/({outer}*{outer}-{bore$suffix}*{bore$suffix})",
        "MPa", "bhandari"),
    Row("yields$suffix", "f yield $words", "yield strength over the thin-wall stress, $words",
        "{yield}/{thin$suffix}", "1", "barlow"),
)
BURST = (
    Row("burst", "p burst", "burst pressure with the worn wall: 2 S t/D", "{constant.two}*{tensile}*{worn}/{outer}",
        "pressure", "barlow", "sound line without bends, nicks or corrosion"),
    Row("factor", "f burst", "burst pressure over the highest in use", "{burst}/{$pressure}", "1", "sae-j1065"),
    Row("factor-spare", "f to spare", "that factor less the one required; below 0 it is not met", "{factor}-{$asked}",
        "1", "sae-j1065"),
)
HOSE = (
    Row("bore-over", "d over", "bore less 1/8 in", "{bore}-{$border}", "length", "cfr-571-106"),
    Row("burst-asked", "p burst asked", "burst pressure asked of a hose of that bore",
        "IF(ROUND({bore-over},9)<=0,{$small},{$large})", "pressure", "cfr-571-106",
        "a bore within a nanometer of 1/8 in (3.175 mm) counts as 1/8 in", "read"),
    Row("burst-spare", "p burst to spare", "burst pressure less the one required; below 0 it is not met",
        "{burst}-{burst-asked}", "pressure", "cfr-571-106"),
    Row("factor", "f burst", "burst pressure over the highest in use", "{burst}/{$pressure}", "1", "cfr-571-106"),
)
# fmt: on


@once
def line_rows(context: Context) -> None:
    """Every pipe and hose."""
    hose_rows(context)
    for pipe in context.record.car.pipes:
        if pressure := pressure_of(context, pipe.source):
            _pipe(context, pipe, pressure)
    for hose in hoses(context.record.car):
        if pressure := pressure_of(context, hose.item.source):
            _hose(context, context.workings.scope(hose.scope), hose.item.burst, pressure)


def pressure_of(context: Context, source: str) -> str:
    """The row of the highest pressure in use of a source: cut-out, or the pedal circuit at the integrity force."""
    if source == PEDAL_CIRCUIT:
        pedal_rows(context)
        return f"{PEDAL}:pressure-integrity" if has_pedal_circuit(context) else ""
    system_rows(context, source)
    return f"{source}:cut-out"


def _pipe(context: Context, pipe: Pipe, pressure: str) -> None:
    name = pipe.id if pipe.id.startswith("pipe") else f"pipe-{pipe.id}"
    rows = context.workings.scope(name)
    rows.datum("outer", "D", "outer diameter", pipe.outer_diameter, "length", key="[[pipes]] outer_diameter")
    rows.datum("wall", "t", "wall, new", pipe.wall, "length", key="[[pipes]] wall")
    rows.datum(
        "tensile", "S tensile", "tensile strength", pipe.tensile_strength, "MPa", key="[[pipes]] tensile_strength"
    )
    rows.datum("yield", "S yield", "yield strength", pipe.yield_strength, "MPa", key="[[pipes]] yield_strength")
    lost = published(context, "pipe-wall-lost", "wall lost", "%")
    factor = published(context, "pipe-safety-factor", "f line", "1")
    rows.add(WORN, lost=lost)
    rows.add(STRESS, wall="wall", suffix="", words="new", pressure=pressure)
    rows.add(STRESS, wall="worn", suffix="-worn", words="worn", pressure=pressure)
    rows.add(BURST, pressure=pressure, asked=factor)


def _hose(context: Context, rows: Scope, burst: Quantity | None, pressure: str) -> None:
    rows.datum("burst", "p burst", "burst pressure", burst, "pressure", key="[[hoses]] burst")
    small = published(context, "hose-burst-small", "p burst small", "pressure")
    large = published(context, "hose-burst-large", "p burst large", "pressure")
    rows.add(
        HOSE,
        small=small,
        large=large,
        border=published(context, "hose-small-bore", "d small", "length"),
        pressure=pressure,
    )
