"""The source map as rows: what each source's pistons clamp with, the fluid they take, and that of the hoses.

A brake is the pistons that one source feeds in one caliper; each has a scope of its own, as has each hose.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from estimator.hydraulics import braking, circuits
from estimator.limits.common_rows import cite, once, total, wear_of
from estimator.limits.methods import Context
from estimator.limits.working import CANNOT
from estimator.places import axle_of
from estimator.quantities import Quantity
from estimator.records import Brake, Car, Hose

BODY = "body"


@dataclass(frozen=True)
class Scoped:
    """A brake or a hose of the car with the name of its scope."""

    scope: str
    item: Brake | Hose


def brakes(car: Car) -> tuple[Scoped, ...]:
    """Each brake with its scope: wheel, caliper, source."""
    return tuple(_scoped(car.brakes, (f"{item.caliper_place}-{item.source}" for item in car.brakes)))


def hoses(car: Car) -> tuple[Scoped, ...]:
    """Each hose with its scope: wheel, source."""
    return tuple(_scoped(car.hoses, (f"hose-{item.wheel}-{item.source}" for item in car.hoses)))


def _scoped(items: Iterable[Brake | Hose], names: Iterable[str]) -> Iterator[Scoped]:
    seen: dict[str, int] = {}
    for item, name in zip(items, names, strict=True):
        seen[name] = seen.get(name, 0) + 1
        yield Scoped(name if seen[name] == 1 else f"{name}-{seen[name]}", item)


@once
def body_rows(context: Context) -> None:
    """Mass and geometry of the car."""
    rows, body = context.workings.scope(BODY), context.record.car.body
    rows.datum("mass", "m", "mass as tested", body.mass, "kg")
    rows.datum("wheelbase", "E", "wheelbase", body.wheelbase, "m")
    rows.datum("height", "h", "height of the center of gravity", body.center_of_gravity_height, "m")
    rows.datum("front-share", "front share", "front axle's share of the weight at rest", body.front_share, "1")
    rows.datum("tire-radius", "R", "tire radius under load", body.tire_radius, "m")


@once
def brake_rows(context: Context) -> None:
    """Area, force per pressure, displacement and cavity of the pistons of each brake."""
    body_rows(context)
    for brake in brakes(context.record.car):
        _brake(context, brake.scope, brake.item)


def _brake(context: Context, scope: str, brake: Brake) -> None:
    rows = context.workings.scope(scope)
    rows.datum("pistons", "pistons", "pistons", Quantity.of(brake.pistons, "count"), "count")
    rows.datum("bore", "d", "bore of each piston", brake.bore, "length")
    rows.datum("travel", "travel", "travel of each piston in an application", brake.travel, "length")
    rows.datum("radius", "r", "effective radius", brake.effective_radius, "length")
    rows.datum("friction", "μ", "friction of pad on rotor", brake.friction, "1")
    rows.row(
        "piston-area",
        "A piston",
        "area of one piston",
        "PI()*{bore}*{bore}/{constant.four}",
        circuits.piston_area,
        "bore",
        unit="mm²",
        source=cite("definition"),
    )
    sides = "/{constant.two}" if brake.opposed else ""
    rows.row(
        "area",
        "A",
        "area that clamps: the pistons on one side of the rotor",
        f"{{piston-area}}*{{pistons}}{sides}",
        lambda bore, pistons: circuits.clamping_area(bore, int(pistons), brake.opposed),
        "bore",
        "pistons",
        unit="mm²",
        source=cite("definition"),
        valid="pistons of one bore; opposed ones in pairs",
    )
    rows.row(
        "gain",
        "G",
        "force at the road for each unit of pressure: 2 μ A r/R",
        "{constant.two}*{friction}*{area}*{radius}/{body:tire-radius}",
        lambda area, radius, friction, tire: braking.brake_force(_circuit(brake, area, radius, friction), 1.0, tire),
        "area",
        "radius",
        "friction",
        f"{BODY}:tire-radius",
        unit="mm²",
        source=cite("disc-brake-torque"),
        valid="pads bedded and below fade; no wheel locked",
    )
    rows.row(
        "displaced",
        "V pistons",
        "fluid that the pistons take in one application",
        "{pistons}*{piston-area}*{travel}",
        lambda bore, pistons, travel: circuits.piston_displacement(bore, int(pistons), travel),
        "bore",
        "pistons",
        "travel",
        unit="volume",
        source=cite("definition"),
        valid="travel with pad compression; a warped rotor or play in the hub adds to it",
    )
    _cavity(context, scope, brake)


def _circuit(brake: Brake, area: float, radius: float, friction: float) -> circuits.Brake:
    axle = axle_of(brake.wheel)
    return circuits.Brake(brake.wheel, axle, brake.source, area, radius, friction, brake.behind_valve)


def _cavity(context: Context, scope: str, brake: Brake) -> None:
    """The fluid behind the pistons once the pads are worn: it gives way under pressure."""
    rows = context.workings.scope(scope)
    wear = wear_of(context, brake.wheel)
    if wear is None:
        return
    rows.datum("lining", "lining", "new lining of the axle", wear.pad_new, "length")
    rows.row(
        "cavity",
        "V cavity",
        "fluid behind the pistons, pads worn out",
        "{pistons}*{piston-area}*{lining}",
        lambda pistons, area, lining: pistons * area * lining,
        "pistons",
        "piston-area",
        "lining",
        unit="volume",
        source=cite("definition"),
    )


@once
def hose_rows(context: Context) -> None:
    """Swell and inner volume of each hose."""
    for hose in hoses(context.record.car):
        rows, item = context.workings.scope(hose.scope), hose.item
        rows.datum("bore", "d", "bore", item.bore, "length")
        rows.datum("length", "L", "length", item.length, "length")
        rows.datum("swell", "s", "swell of a length of hose", item.swell, "mL/m")
        rows.row(
            "swells",
            "V swell",
            "fluid that the hose takes as it swells",
            "{length}*{swell}",
            circuits.hose_swell,
            "length",
            "swell",
            unit="volume",
            source=cite("cfr-571-106"),
            valid="a sound hose; an old one swells more",
        )
        rows.row(
            "holds",
            "V inside",
            "fluid inside the hose",
            "PI()*{bore}*{bore}/{constant.four}*{length}",
            lambda bore, length: circuits.piston_area(bore) * length,
            "bore",
            "length",
            unit="volume",
            source=cite("definition"),
        )


def application_rows(context: Context, scope: str, source: str, pressure: str) -> None:
    """What one application takes from a source, in rows of a scope; `pressure` names the row of its gauge pressure."""
    brake_rows(context)
    hose_rows(context)
    car, rows = context.record.car, context.workings.scope(scope)
    fed = [brake for brake in brakes(car) if brake.item.source == source]
    leading = [hose for hose in hoses(car) if hose.item.source == source]
    cavities = [f"{brake.scope}:cavity" for brake in fed if f"{brake.scope}.cavity" in context.workings.rows]

    def add(name: str, symbol: str, title: str, names: list[str]) -> None:
        rows.row(name, symbol, title, total(names) or "0", lambda *parts: sum(parts, 0.0), *names, unit="volume")

    add("displaced", "V pistons", "fluid that all its pistons take", [f"{brake.scope}:displaced" for brake in fed])
    add("swells", "V swell", "fluid that its hoses take", [f"{hose.scope}:swells" for hose in leading])
    holding = [f"{hose.scope}:holds" for hose in leading]
    add("filled", "V filled", "fluid under pressure: calipers with worn pads, and hoses", [*cavities, *holding])
    rows.datum("bulk-modulus", "K", "bulk modulus of the fluid", car.fluid.bulk_modulus, "bar")
    rows.row(
        "application",
        "v",
        "fluid that one full application takes",
        f"IF({{{pressure}}}<={{constant.compression}}*{{bulk-modulus}},"
        f'{{displaced}}+{{swells}}+{{filled}}*{{{pressure}}}/{{bulk-modulus}},"{CANNOT}")',
        circuits.application_volume,
        "displaced",
        "swells",
        "filled",
        pressure,
        "bulk-modulus",
        unit="volume",
        source=cite("hydraulic-handbook", "cfr-571-106"),
        valid="bled circuits, pressure to 5 % of K; what steel pipes hold isn't counted (their lengths aren't given)",
    )
