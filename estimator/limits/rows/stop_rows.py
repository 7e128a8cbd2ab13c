"""How a state of the brakes stops the car, as rows: adhesion used, the axle that locks first, distance."""

from __future__ import annotations

from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import bearing, published
from estimator.limits.rows.methods import Context
from estimator.limits.working import Scope

FLAT = "on the flat, until the rear axle lifts"

# fmt: off
ADHESION = (
    Row("reached", "a", "deceleration at those forces",
        "({force-front}+{force-rear})/{body:mass}", "acceleration", "gillespie"),
    Row("moved", "load moved", "load that moves to the front axle: m a h/E",
        "{body:mass}*{reached}*{braking:ratio}", "N", "un-r13h"),
    Row("load-front", "N front", "front: load while braking",
        'IF({moved}>{braking:weight}*(1-{body:front-share}),"not known",{braking:weight}*{body:front-share}+{moved})',
        "N", "un-r13h", FLAT),
    Row("load-rear", "N rear", "rear: load while braking",
        'IF({moved}>{braking:weight}*(1-{body:front-share}),"not known",{braking:weight}*(1-{body:front-share})-{moved})',
        "N", "un-r13h", FLAT),
    Row("adhesion-front", "adhesion front", "front: adhesion used, force over load",
        'IF({load-front}>0,{force-front}/{load-front},"not known")', "1", "un-r13h", guarded="load-front"),
    Row("adhesion-rear", "adhesion rear", "rear: adhesion used, force over load",
        'IF({load-rear}>0,{force-rear}/{load-rear},"not known")', "1", "un-r13h", guarded="load-rear"),
    Row("first", "locks first",
        "the axle that locks first at that deceleration: the one that uses more adhesion; the rear makes the car spin",
        'IF(ROUND({adhesion-front},9)>=ROUND({adhesion-rear},9),"front axle","rear axle")',
        "1", "un-r13h", "no wheel locked yet", guarded="adhesion-front adhesion-rear", plain=True),
)
ROAD = (
    Row("brakes", "a brakes", "deceleration that the brakes would give$where",
        "({force-front-work}+{force-rear-work})/{body:mass}", "acceleration", "gillespie"),
    Row("front-locked", "a front locked", "deceleration with the front axle locked",
        'IF({$mu}*{braking:ratio}>=1-{body:front-share},"not known",'
        "{constant.gravity}*({$mu}*{body:front-share}+{force-rear-work}/{braking:weight})/(1-{$mu}*{braking:ratio}))",
        "acceleration", "un-r13h", "locked wheels that keep the whole adhesion: real ones lose a tenth to a third"),
    Row("rear-locked", "a rear locked", "deceleration with the rear axle locked",
        "{constant.gravity}*({force-front-work}/{braking:weight}+{$mu}*(1-{body:front-share}))/(1+{$mu}*{braking:ratio})",
        "acceleration", "un-r13h"),
    Row("road", "a road", "deceleration on the test road: the least of those and of both axles locked",
        "MIN({brakes},{front-locked},{rear-locked},{constant.gravity}*{$mu})", "acceleration", "un-r13h",
        guarded="brakes front-locked rear-locked"),
    Row("spare", "a to spare", "that deceleration less the one required; below 0 it is not met ($asked_binds)",
        "{road}-{$asked}", "acceleration", "derivation"),
    Row("stop", "S", "stopping distance from the test speed, brakes fully on at once: v²/(2 a)",
        "{$speed}*{$speed}/({constant.two}*{road})", "distance", "derivation",
        "on the flat, without reaction and build-up"),
    Row("stop-spare", "S to spare", "distance allowed less that one; below 0 it is not met ($distance_binds)",
        "{$distance}-{stop}", "distance", "cfr-571-135"),
)
# fmt: on


def adhesion_rows(rows: Scope) -> None:
    """Axle loads at the deceleration reached, adhesion used on each axle, and which locks first."""
    rows.add(ADHESION)


def road_rows(context: Context, rows: Scope, asked: str, whole: bool, where: str) -> None:
    """What the brakes and the test road give, and the stopping distance, beside the yardsticks."""
    mu = published(context, "test-road-adhesion", "μ road", "1")
    speed = published(context, "test-speed", "v test", "km/h")
    allowed = ("cold-stop", "S cold stop") if whole else ("failed-circuit-stop", "S failed circuit")
    distance = published(context, *allowed, "distance")
    rows.add(
        ROAD,
        mu=mu,
        speed=speed,
        asked=asked,
        asked_binds=bearing(context, asked),
        distance=distance,
        distance_binds=bearing(context, distance),
        where=where,
    )
