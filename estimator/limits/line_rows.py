"""Pipes and hoses as rows: hoop stress at cut-out, with wall lost, and what is left until they burst. By the gauge."""

from __future__ import annotations

from estimator.hydraulics import lines
from estimator.limits.brake_rows import hose_rows, hoses
from estimator.limits.common_rows import cite, once, published
from estimator.limits.methods import Context
from estimator.limits.pedal_rows import PEDAL, has_pedal_circuit, pedal_rows
from estimator.limits.system_rows import system_rows
from estimator.limits.working import Scope
from estimator.places import PEDAL_CIRCUIT
from estimator.records import Pipe


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
    rows.datum("outer", "D", "outer diameter", pipe.outer_diameter, "length")
    rows.datum("wall", "t", "wall, new", pipe.wall, "length")
    rows.datum("tensile", "S tensile", "tensile strength", pipe.tensile_strength, "MPa")
    rows.datum("yield", "S yield", "yield strength", pipe.yield_strength, "MPa")
    lost = published(context, "pipe-wall-lost", "wall lost", "%")
    factor = published(context, "pipe-safety-factor", "f pipe", "1")
    rows.row(
        "worn",
        "t worn",
        "wall with as much lost as ends a pipe",
        f"{{wall}}*(1-{{{lost}}})",
        lines.wall_left,
        "wall",
        lost,
        unit="length",
        source=cite("uk-mot"),
        valid="general wear; a pit is worse than that",
    )
    for wall, suffix, words in (("wall", "", "new"), ("worn", "-worn", "worn")):
        _stresses(rows, wall, suffix, words, pressure)
    rows.row(
        "burst",
        "p burst",
        "burst pressure with the worn wall: 2 S t/D",
        "{constant.two}*{tensile}*{worn}/{outer}",
        lines.thin_wall_pressure,
        "tensile",
        "outer",
        "worn",
        unit="pressure",
        source=cite("barlow"),
        valid="sound pipe without bends, nicks or corrosion",
    )
    _factor(context, rows, pressure, factor)


def _stresses(rows: Scope, wall: str, suffix: str, words: str, pressure: str) -> None:
    rows.row(
        f"thin{suffix}",
        f"S thin {words}",
        f"hoop stress, thin wall, {words}: p D/(2 t)",
        f"{{{pressure}}}*{{outer}}/({{constant.two}}*{{{wall}}})",
        lines.thin_wall_stress,
        pressure,
        "outer",
        wall,
        unit="MPa",
        source=cite("barlow"),
    )
    rows.row(
        f"bore{suffix}",
        f"d inner {words}",
        f"inner diameter, {words}: D - 2 t",
        f"{{outer}}-{{constant.two}}*{{{wall}}}",
        lambda outer, thickness: outer - 2.0 * thickness,
        "outer",
        wall,
        unit="length",
        source=cite("definition"),
    )
    squares = f"({{outer}}*{{outer}}SIGN{{bore{suffix}}}*{{bore{suffix}}})"
    rows.row(
        f"thick{suffix}",
        f"S thick {words}",
        f"hoop stress at the bore, thick wall, {words}: p (D² + d²)/(D² - d²)",
        f"{{{pressure}}}*{squares.replace('SIGN', '+')}/{squares.replace('SIGN', '-')}",
        lambda p, outer, thickness, _bore: lines.thick_wall_stress(p, outer, thickness),
        pressure,
        "outer",
        wall,
        f"bore{suffix}",
        unit="MPa",
        source=cite("bhandari"),
    )
    rows.row(
        f"yields{suffix}",
        f"f yield {words}",
        f"yield strength over the thin-wall stress, {words}",
        f"{{yield}}/{{thin{suffix}}}",
        lambda strength, stress: strength / stress,
        "yield",
        f"thin{suffix}",
        unit="1",
        source=cite("barlow"),
    )


def _factor(context: Context, rows: Scope, pressure: str, asked: str) -> None:
    rows.row(
        "factor",
        "f burst",
        "burst pressure over the highest in use",
        f"{{burst}}/{{{pressure}}}",
        lines.factor_of_safety,
        "burst",
        pressure,
        unit="1",
        source=cite("sae-j1065"),
    )
    rows.row(
        "factor-spare",
        "f to spare",
        "that factor less the one asked for; below 0 it isn't met",
        f"{{factor}}-{{{asked}}}",
        lambda factor, wanted: factor - wanted,
        "factor",
        asked,
        unit="1",
        source=cite("sae-j1065"),
    )


def _hose(context: Context, rows: Scope, burst, pressure: str) -> None:
    rows.datum("burst", "p burst", "burst pressure", burst, "pressure")
    small = published(context, "hose-burst-small", "p burst small", "pressure")
    large = published(context, "hose-burst-large", "p burst large", "pressure")
    bore = published(context, "hose-small-bore", "d small", "length")
    rows.row(
        "burst-asked",
        "p burst asked",
        "burst pressure asked of a hose of that bore",
        f"IF({{bore}}<={{{bore}}},{{{small}}},{{{large}}})",
        lambda own, border, most, least: most if own <= border else least,
        "bore",
        bore,
        small,
        large,
        unit="pressure",
        source=cite("cfr-571-106"),
        status="read",
    )
    rows.row(
        "burst-spare",
        "p burst to spare",
        "burst pressure less the one asked for; below 0 it isn't met",
        "{burst}-{burst-asked}",
        lambda own, asked: own - asked,
        "burst",
        "burst-asked",
        unit="pressure",
        source=cite("cfr-571-106"),
    )
    rows.row(
        "factor",
        "f burst",
        "burst pressure over the highest in use",
        f"{{burst}}/{{{pressure}}}",
        lines.factor_of_safety,
        "burst",
        pressure,
        unit="1",
        source=cite("cfr-571-106"),
    )
