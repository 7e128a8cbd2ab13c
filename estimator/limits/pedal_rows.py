"""The pedal and, in variant A, its unpowered circuit, as rows: pressure, travel, and the air that a travel betrays."""

from __future__ import annotations

from estimator.hydraulics import circuits, pedal
from estimator.hydraulics.domain import not_negative
from estimator.limits.brake_rows import application_rows
from estimator.limits.common_rows import cite, once, published
from estimator.limits.methods import Context
from estimator.limits.working import CANNOT
from estimator.places import PEDAL_CIRCUIT

PEDAL = "pedal"


def has_pedal_circuit(context: Context) -> bool:
    """Whether a master cylinder feeds pistons of this car."""
    return context.record.car.pedal.master_bore is not None and context.record.car.places.pedal_circuit


@once
def pedal_rows(context: Context) -> None:
    """Data of the pedal; the pressure of the pedal circuit at the test force."""
    rows, item = context.workings.scope(PEDAL), context.record.car.pedal
    rows.datum("ratio", "i", "travel of the pad over that of the push rod", item.ratio, "1")
    rows.datum("full-travel", "s full", "travel of the pad to the floor", item.full_travel, "length")
    rows.datum("force", "F test", "test force on the pad", item.test_force, "force")
    share = published(context, "pedal-travel-share", "share of travel", "%")
    rows.row(
        "most-travel",
        "s most",
        "travel of the pad at most, of the way to the floor",
        f"{{full-travel}}*{{{share}}}",
        lambda full, most: full * most,
        "full-travel",
        share,
        unit="length",
        source=cite("cfr-570"),
        valid="vehicles in use",
    )
    if item.master_bore is None or item.master_stroke is None:
        return
    rows.datum("bore", "d", "bore of the master cylinder", item.master_bore, "length")
    rows.datum("stroke", "stroke", "stroke of the master cylinder", item.master_stroke, "length")
    rows.row(
        "area",
        "A",
        "area of the master cylinder",
        "PI()*{bore}*{bore}/{constant.four}",
        circuits.piston_area,
        "bore",
        unit="mm²",
        source=cite("definition"),
    )
    integrity = published(context, "integrity-pedal-force", "F integrity", "force")
    for name, symbol, title, force in (
        ("pressure", "p test", "pressure of the pedal circuit at the test force", "force"),
        (
            "pressure-integrity",
            "p integrity",
            "pressure of the pedal circuit at the force of the integrity test",
            integrity,
        ),
    ):
        rows.row(
            name,
            symbol,
            f"{title}, gauge",
            f"{{{force}}}*{{ratio}}/{{area}}",
            pedal.pedal_pressure,
            force,
            "ratio",
            "bore",
            unit="pressure",
            source=cite("definition"),
            valid="a bled circuit; friction of linkage and springs left out",
        )


@once
def travel_rows(context: Context) -> None:
    """Variant A: the travel that the pedal circuit asks for, and the air that a longer one betrays."""
    pedal_rows(context)
    if not has_pedal_circuit(context):
        return
    application_rows(context, PEDAL, PEDAL_CIRCUIT, "pressure")
    rows = context.workings.scope(PEDAL)
    rows.row(
        "travel",
        "s",
        "travel of the pad that the pedal circuit asks for at the test force: i v/A",
        "{ratio}*{application}/{area}",
        pedal.pedal_travel,
        "application",
        "bore",
        "ratio",
        unit="length",
        source=cite("definition"),
        valid="rigid linkage, no free travel, a bled circuit, the whole travel of its pistons",
    )
    rows.row(
        "rod",
        "s rod",
        "travel of the push rod for it: v/A",
        "{application}/{area}",
        lambda application, area: application / area,
        "application",
        "area",
        unit="length",
        source=cite("definition"),
    )
    rows.row(
        "stroke-left",
        "stroke left",
        "stroke of the master cylinder less that travel; below 0 it bottoms before the brakes are on",
        "{stroke}-{rod}",
        lambda stroke, rod: stroke - rod,
        "stroke",
        "rod",
        unit="length",
        source=cite("definition"),
    )
    for phase in ("before", "after"):
        _air(context, phase)


def _excess(moved: float, travel: float, area: float, ratio: float) -> float:
    not_negative(travel_m=moved)
    return max(0.0, moved - travel) * area / ratio


def _air(context: Context, phase: str) -> None:
    rows, reading = context.workings.scope(PEDAL), f"judging.pedal-movement.car.si_{phase}"
    if reading not in context.readings:
        return
    rows.row(
        f"excess-{phase}",
        f"V excess {phase}",
        f"fluid of a pedal movement above that travel, {phase} work",
        f'IF({{{reading}}}<0,"{CANNOT}",MAX(0,{{{reading}}}-{{travel}})*{{area}}/{{ratio}})',
        _excess,
        reading,
        "travel",
        "area",
        "ratio",
        unit="volume",
        source=cite("boyle"),
        guarded=(reading,),
    )
    rows.row(
        f"air-{phase}",
        f"V air {phase}",
        f"air in the pedal circuit that would explain it, {phase} work, at atmospheric pressure",
        f"{{excess-{phase}}}*({{pressure}}+{{constant.atmosphere}})/{{pressure}}",
        lambda _excess, moved, travel, bore, ratio, pressure: pedal.trapped_air(moved, travel, bore, ratio, pressure),
        f"excess-{phase}",
        reading,
        "travel",
        "bore",
        "ratio",
        "pressure",
        unit="volume",
        source=cite("boyle"),
        valid="when nothing else lengthens the travel: play, soft hoses and wrong pads do the same",
    )
