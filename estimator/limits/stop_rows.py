"""How a state of the brakes stops the car, as rows: adhesion used, the axle that locks first, distance."""

from __future__ import annotations

from estimator.hydraulics import braking, stopping
from estimator.limits.brake_rows import BODY
from estimator.limits.braking_rows import BRAKING
from estimator.limits.common_rows import bearing, cite, published
from estimator.limits.methods import Context
from estimator.limits.sheet_arithmetic import sheet_round
from estimator.limits.working import CANNOT, Scope

AXLE_SIDES = ("front", "rear")


def adhesion_rows(rows: Scope) -> None:
    """Axle loads at the deceleration reached, adhesion used on each axle, and which locks first."""
    mass, share, height, base = (f"{BODY}:{name}" for name in ("mass", "front-share", "height", "wheelbase"))
    weight = f"{BRAKING}:weight"
    rows.row(
        "reached",
        "a",
        "deceleration at those forces",
        f"({{force-front}}+{{force-rear}})/{{{mass}}}",
        lambda front, rear, m: braking.deceleration_of_force(front + rear, m),
        "force-front",
        "force-rear",
        mass,
        unit="acceleration",
        source=cite("gillespie"),
    )
    rows.row(
        "moved",
        "load moved",
        "load that moves to the front axle: m a h/E",
        f"{{{mass}}}*{{reached}}*{{{BRAKING}:ratio}}",
        lambda m, a, k: m * a * k,
        mass,
        "reached",
        f"{BRAKING}:ratio",
        unit="N",
        source=cite("un-r13h"),
    )
    needs = (mass, share, height, base, "reached")
    loads = {
        "front": f"{{{weight}}}*{{{share}}}+{{moved}}",
        "rear": f"{{{weight}}}*(1-{{{share}}})-{{moved}}",
    }
    lifts = f"{{moved}}>{{{weight}}}*(1-{{{share}}})"
    for side, expression in loads.items():
        rows.row(
            f"load-{side}",
            f"N {side}",
            f"{side}: load while braking",
            f'IF({lifts},"{CANNOT}",{expression})',
            lambda m, part, h, e, a, side=side: getattr(braking.axle_loads(m, part, h, e, a), side),
            *needs,
            unit="N",
            source=cite("un-r13h"),
            valid="on the flat, until the rear axle lifts",
        )
    for side in AXLE_SIDES:
        rows.row(
            f"adhesion-{side}",
            f"adhesion {side}",
            f"{side}: adhesion used, force over load",
            f'IF({{load-{side}}}>0,{{force-{side}}}/{{load-{side}}},"{CANNOT}")',
            braking.adhesion_used,
            f"force-{side}",
            f"load-{side}",
            unit="1",
            source=cite("un-r13h"),
            guarded=(f"load-{side}",),
        )
    front, rear = (rows.value(f"adhesion-{side}") for side in ("front", "rear"))
    first = CANNOT
    if not isinstance(front, str) and not isinstance(rear, str):
        first = "front axle" if sheet_round(front, 9) >= sheet_round(rear, 9) else "rear axle"
    rows.row(
        "first",
        "locks first",
        "the axle that locks first at that deceleration: the one that uses more adhesion; the rear makes the car spin",
        'IF(ROUND({adhesion-front},9)>=ROUND({adhesion-rear},9),"front axle","rear axle")',
        first,
        unit="1",
        source=cite("un-r13h"),
        valid="no wheel locked yet",
        guarded=("adhesion-front", "adhesion-rear"),
    )


def road_rows(context: Context, rows: Scope, asked: str, whole: bool, where: str) -> None:
    """What the brakes and the test road give, and the stopping distance, beside the yardsticks."""
    mu = published(context, "test-road-adhesion", "μ road", "1")
    speed = published(context, "test-speed", "v test", "km/h")
    allowed = ("cold-stop", "S cold stop") if whole else ("failed-circuit-stop", "S failed circuit")
    distance = published(context, *allowed, "distance")
    mass, share, k = f"{BODY}:mass", f"{BODY}:front-share", f"{BRAKING}:ratio"
    weight = f"{BRAKING}:weight"
    rows.row(
        "brakes",
        "a brakes",
        "deceleration that the brakes would give" + where,
        f"({{force-front-work}}+{{force-rear-work}})/{{{mass}}}",
        lambda front, rear, m: braking.deceleration_of_force(front + rear, m),
        "force-front-work",
        "force-rear-work",
        mass,
        unit="acceleration",
        source=cite("gillespie"),
    )
    lifting = f"{{{mu}}}*{{{k}}}>=1-{{{share}}}"
    rows.row(
        "front-locked",
        "a front locked",
        "deceleration with the front axle locked",
        f'IF({lifting},"{CANNOT}",{{constant.gravity}}*({{{mu}}}*{{{share}}}+{{force-rear-work}}/{{{weight}}})'
        f"/(1-{{{mu}}}*{{{k}}}))",
        _front_locked,
        mu,
        share,
        "force-rear-work",
        weight,
        k,
        unit="acceleration",
        source=cite("un-r13h"),
        valid="locked wheels that keep the whole adhesion: real ones lose a tenth to a third",
    )
    rows.row(
        "rear-locked",
        "a rear locked",
        "deceleration with the rear axle locked",
        f"{{constant.gravity}}*({{force-front-work}}/{{{weight}}}+{{{mu}}}*(1-{{{share}}}))/(1+{{{mu}}}*{{{k}}})",
        lambda front, w, adhesion, part, ratio: (
            braking.STANDARD_GRAVITY_M_S2 * (front / w + adhesion * (1.0 - part)) / (1.0 + adhesion * ratio)
        ),
        "force-front-work",
        weight,
        mu,
        share,
        k,
        unit="acceleration",
        source=cite("un-r13h"),
    )
    rows.row(
        "road",
        "a road",
        "deceleration on the test road: the least of those and of both axles locked",
        f"MIN({{brakes}},{{front-locked}},{{rear-locked}},{{constant.gravity}}*{{{mu}}})",
        braking.deceleration_on_road,
        "force-front-work",
        "force-rear-work",
        mass,
        share,
        f"{BODY}:height",
        f"{BODY}:wheelbase",
        mu,
        unit="acceleration",
        source=cite("un-r13h"),
        guarded=("brakes", "front-locked", "rear-locked"),
    )
    rows.row(
        "spare",
        "a to spare",
        f"that deceleration less the one asked for; below 0 it isn't met ({bearing(context, asked)})",
        f"{{road}}-{{{asked}}}",
        lambda road, wanted: road - wanted,
        "road",
        asked,
        unit="acceleration",
        source=cite("derivation"),
    )
    rows.row(
        "stop",
        "S",
        "stopping distance from the test speed, brakes fully on at once: v²/(2 a)",
        f"{{{speed}}}*{{{speed}}}/({{constant.two}}*{{road}})",
        lambda v, a: stopping.stopping_distance(v, a),
        speed,
        "road",
        unit="distance",
        source=cite("derivation"),
        valid="on the flat, without reaction and build-up",
    )
    rows.row(
        "stop-spare",
        "S to spare",
        f"distance allowed less that one; below 0 it isn't met ({bearing(context, distance)})",
        f"{{{distance}}}-{{stop}}",
        lambda most, stop: most - stop,
        distance,
        "stop",
        unit="distance",
        source=cite("cfr-571-135"),
    )


def _front_locked(adhesion: float, share: float, rear: float, weight: float, ratio: float) -> float:
    if adhesion * ratio >= 1.0 - share:
        raise ValueError("the rear axle would lift")
    return braking.STANDARD_GRAVITY_M_S2 * (adhesion * share + rear / weight) / (1.0 - adhesion * ratio)
