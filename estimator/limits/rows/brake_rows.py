"""The source map as rows: what each source's pistons clamp with, the fluid they take, and that of the hoses.

A brake is the pistons that one source feeds in one caliper; each has a scope of its own, as has each hose.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Generic, TypeVar

from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import once, total
from estimator.limits.rows.methods import Context
from estimator.limits.working import Scope
from estimator.places import AXLES, axle_of
from estimator.quantities import Quantity
from estimator.records import Brake, Car, Hose

BODY, FITTED = "body", "fitted"
# The rows that stand for what a car tells nothing of.
BRAKES, HOSES = f"{FITTED}:brakes", f"{FITTED}:hoses"
Item = TypeVar("Item", Brake, Hose)

# fmt: off
PISTONS = (
    Row("piston-area", "A piston", "area of one piston", "PI()*{bore}*{bore}/{constant.four}", "mm²", "definition"),
    Row("area", "A", "area that clamps: the pistons on one side of the rotor",
        "{piston-area}*{pistons}$sides", "mm²", "definition", "pistons of one bore; opposed ones in pairs"),
    Row("gain", "G", "force at the road for each unit of pressure: 2 μ A r/R",
        "{constant.two}*{friction}*{area}*{radius}/{body:tire-radius}", "mm²", "disc-brake-torque",
        "pads bedded and below fade; no wheel locked"),
    Row("displaced", "V pistons", "fluid that the pistons take in one application",
        "{pistons}*{piston-area}*{travel}", "volume", "definition",
        "travel with pad compression; a warped rotor or play in the hub adds to it"),
)
# The fluid behind the pistons once the pads are worn: it gives way under pressure.
CAVITY = (
    Row("cavity", "V cavity", "fluid behind the pistons, pads worn out",
        "{pistons}*{piston-area}*{lining}", "volume", "definition"),
)
HOSE = (
    Row("swells", "V swell", "fluid that the hose takes as it swells",
        "{length}*{swell}", "volume", "cfr-571-106", "a sound hose; an old one swells more"),
    Row("holds", "V inside", "fluid inside the hose",
        "PI()*{bore}*{bore}/{constant.four}*{length}", "volume", "definition"),
)
TAKEN = (
    Row("displaced", "V pistons", "fluid that all its pistons take", "$displaced", "volume"),
    Row("swells", "V swell", "fluid that its hoses take", "$swells", "volume"),
    Row("filled", "V filled", "fluid under pressure: calipers with worn pads, and hoses", "$filled", "volume"),
)
APPLICATION = (
    Row("application", "v", "fluid that one full application takes",
        "IF({$pressure}<={constant.compression}*{bulk-modulus},"
        '{displaced}+{swells}+{filled}*{$pressure}/{bulk-modulus},"not known")', "volume",
        "hydraulic-handbook cfr-571-106",
        "bled circuits, pressure to 5% of K; what steel lines hold is not counted (their lengths are not given)"),
)
# fmt: on


@dataclass(frozen=True)
class Scoped(Generic[Item]):
    """A brake or a hose of the car with the name of its scope."""

    scope: str
    item: Item


def brakes(car: Car) -> tuple[Scoped[Brake], ...]:
    """Each brake with its scope: wheel, caliper, source."""
    return tuple(_scoped(car.brakes, (f"{item.caliper_place}-{item.source}" for item in car.brakes)))


def hoses(car: Car) -> tuple[Scoped[Hose], ...]:
    """Each hose with its scope: wheel, source."""
    return tuple(_scoped(car.hoses, (f"hose-{item.wheel}-{item.source}" for item in car.hoses)))


def _scoped(items: Iterable[Item], names: Iterable[str]) -> Iterator[Scoped[Item]]:
    seen: dict[str, int] = {}
    for item, name in zip(items, names, strict=True):
        seen[name] = seen.get(name, 0) + 1
        yield Scoped(name if seen[name] == 1 else f"{name}-{seen[name]}", item)


@once
def body_rows(context: Context) -> None:
    """Mass and geometry of the car."""
    rows, body = context.workings.scope(BODY), context.record.car.body
    height = body.center_of_gravity_height
    for name, symbol, title, quantity, unit, key in (
        ("mass", "m", "mass as tested", body.mass, "kg", "mass"),
        ("wheelbase", "E", "wheelbase", body.wheelbase, "m", "wheelbase"),
        ("height", "h", "height of the center of gravity", height, "m", "center_of_gravity_height"),
        (
            "front-share",
            "front share",
            "front axle's share of the weight at rest",
            body.front_share,
            "1",
            "front_share",
        ),
        ("tire-radius", "R", "tire radius under load", body.tire_radius, "m", "tire_radius"),
    ):
        rows.datum(name, symbol, title, quantity, unit, key=f"[body] {key}")


@once
def brake_rows(context: Context) -> None:
    """Area, force per pressure, displacement and cavity of the pistons of each brake."""
    body_rows(context)
    if not context.record.car.brakes:
        rows = context.workings.scope(FITTED)
        rows.datum("brakes", "brakes", "pistons and their sources", None, "1", key="[[brakes]]")
        for axle in AXLES:
            _lining(context, rows, axle, f"lining-{axle}")
    for brake in brakes(context.record.car):
        _brake(context, brake.scope, brake.item)


def _brake(context: Context, scope: str, brake: Brake) -> None:
    rows = context.workings.scope(scope)
    pistons = None if brake.pistons is None else Quantity.of(brake.pistons, "count")
    for name, symbol, title, quantity, unit, key in (
        ("pistons", "pistons", "pistons", pistons, "count", "pistons"),
        ("bore", "d", "bore of each piston", brake.bore, "length", "bore"),
        ("travel", "travel", "travel of each piston in an application", brake.travel, "length", "travel"),
        ("radius", "r", "effective radius", brake.effective_radius, "length", "effective_radius"),
        ("friction", "μ", "friction of pad on rotor", brake.friction, "1", "friction"),
    ):
        rows.datum(name, symbol, title, quantity, unit, key=f"[[brakes]] {key}")
    if brake.opposed is None:
        rows.datum("opposed", "opposed", "whether the pistons are opposed", None, "1", key="[[brakes]] opposed")
    rows.add(PISTONS, sides={True: "/{constant.two}", False: "", None: "*{opposed}"}[brake.opposed])
    _lining(context, rows, axle_of(brake.wheel), "lining")
    rows.add(CAVITY)


def _lining(context: Context, rows: Scope, axle: str, name: str) -> None:
    wear = next((item for item in context.record.car.wear if item.axle == axle), None)
    new = None if wear is None else wear.pad_new
    rows.datum(name, "lining", "new lining of the axle", new, "length", key="[[wear]] pad_new", where=axle)


@once
def hose_rows(context: Context) -> None:
    """Swell and inner volume of each hose."""
    if not context.record.car.hoses:
        context.workings.scope(FITTED).datum("hoses", "hoses", "hoses at the wheels", None, "1", key="[[hoses]]")
    for hose in hoses(context.record.car):
        rows, item = context.workings.scope(hose.scope), hose.item
        rows.datum("bore", "d", "bore", item.bore, "length", key="[[hoses]] bore")
        rows.datum("length", "L", "length", item.length, "length", key="[[hoses]] length")
        rows.datum("swell", "s", "swell of a length of hose", item.swell, "mL/m", key="[[hoses]] swell")
        rows.add(HOSE)


def application_rows(context: Context, scope: str, source: str, pressure: str) -> None:
    """What one application takes from a source, in rows of a scope; `pressure` names the row of its gauge pressure."""
    brake_rows(context)
    hose_rows(context)
    car, rows = context.record.car, context.workings.scope(scope)
    fed = [brake for brake in brakes(car) if brake.item.source == source]
    leading = [hose for hose in hoses(car) if hose.item.source == source]
    no_pistons, no_hoses = "0" if car.brakes else f"{{{BRAKES}}}", "0" if car.hoses else f"{{{HOSES}}}"
    linings = () if car.brakes else (BRAKES, *(f"{FITTED}:lining-{axle}" for axle in AXLES))
    cavities = total([*(f"{brake.scope}:cavity" for brake in fed), *linings]) or "0"
    holding = total(f"{hose.scope}:holds" for hose in leading) or no_hoses
    rows.add(
        TAKEN,
        displaced=total(f"{brake.scope}:displaced" for brake in fed) or no_pistons,
        swells=total(f"{hose.scope}:swells" for hose in leading) or no_hoses,
        filled="+".join(part for part in (cavities, holding) if part != "0") or "0",
    )
    rows.datum("bulk-modulus", "K", "bulk modulus of the fluid", car.fluid.bulk_modulus, "bar")
    rows.add(APPLICATION, pressure=pressure)
