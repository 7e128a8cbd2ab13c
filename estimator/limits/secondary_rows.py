"""The lowest pressure of each system at which secondary braking is still met, as rows."""

from __future__ import annotations

from estimator.hydraulics import gas
from estimator.limits.braking_rows import feeding
from estimator.limits.common_rows import cite, known, once, published
from estimator.limits.methods import Context
from estimator.limits.state_rows import state_rows
from estimator.limits.working import CANNOT


@once
def secondary_rows(context: Context, system_id: str) -> None:
    """`secondary` (gauge) and `secondary-abs`: by this system with every other one lost, where it can, else by all."""
    state_rows(context)
    rows = context.workings.scope(system_id)
    systems = feeding(context.record.car)
    others = [system for system in systems if system != system_id]
    together = "braking-everything:needed-secondary"
    if system_id not in systems:
        rows.row(
            "secondary",
            "p secondary gauge",
            "secondary braking: it feeds no brake",
            f'"{CANNOT}"',
            CANNOT,
            unit="pressure",
        )
    elif others:
        alone = f"braking-{others[0]}-lost:needed"
        value = rows.value(alone)
        cut_out = float(rows.value("cut-out"))
        enough = known(value) and float(value) < cut_out
        rows.row(
            "secondary",
            "p secondary gauge",
            "lowest pressure for secondary braking, gauge: by this system with the other lost; where it can't, by both",
            f"IF(ISNUMBER({{{alone}}}),IF({{{alone}}}<{{cut-out}},{{{alone}}},{{{together}}}),{{{together}}})",
            value if enough else rows.value(together),
            unit="pressure",
            source=cite("derivation", "un-r13h"),
            valid="with the pedal circuit, where there is one, at the test force",
        )
    else:
        rows.row(
            "secondary",
            "p secondary gauge",
            "lowest pressure for secondary braking, gauge",
            f"{{{together}}}",
            lambda pressure: pressure,
            together,
            unit="pressure",
            source=cite("derivation", "un-r13h"),
            valid="with the pedal circuit, where there is one, at the test force",
        )
    rows.row(
        "secondary-abs",
        "p secondary",
        "that pressure, absolute",
        "{secondary}+{constant.atmosphere}",
        gas.absolute_pressure,
        "secondary",
        unit="pressure",
        source=cite("si-brochure"),
    )


@once
def stroke_rows(context: Context) -> None:
    """How many strokes the yardsticks ask for: after the lamp has lit, and from cut-out."""
    rows = context.workings.scope("yardsticks")
    for fact, name, symbol, title in (
        ("warning-strokes", "strokes-to-come", "strokes to come", "strokes still to come when the lamp lights"),
        (
            "reserve-strokes",
            "strokes-stored",
            "strokes stored",
            "strokes that the stored volume must give from cut-out",
        ),
    ):
        printed = published(context, fact, fact.replace("-", " "), "count")
        rows.row(
            name,
            symbol,
            f"{title}, the last of them at secondary braking ({context.record.fact(fact).kind})",
            f"{{{printed}}}+1",
            lambda strokes: strokes + 1.0,
            printed,
            unit="count",
            source=context.record.fact(fact).source,
            status=context.record.fact(fact).status,
        )
