"""The deceleration valve on the bench, and the road checks: all static checks come first."""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.limits.row_table import Row
from estimator.limits.rows.braking_rows import VALVE, valve_rows
from estimator.limits.rows.common_rows import once, published
from estimator.limits.rows.methods import Context, Found
from estimator.places import Place

# fmt: off
STOP = (
    Row("road-stop-deceleration", "a road stop", "constant deceleration of that stop: v²/(2 S)",
        "{$speed}*{$speed}/({constant.two}*{$distance})", "acceleration", "cfr-570", "brakes fully on at once"),
)
# fmt: on


def valve_tilt(context: Context, check: Check, place: Place) -> Found:
    """The angle of the ramp, less and more by its tolerance."""
    valve_rows(context)
    return Found({"service_low": f"{VALVE}.tilt-low", "service_high": f"{VALVE}.tilt-high"})


def road_balance(context: Context, check: Check, place: Place) -> Found:
    """Left against right within the share that vehicles in use are allowed (49 CFR 570.5(d))."""
    name = published(context, "brake-force-imbalance", "imbalance most", "ratio")
    return Found({"service_high": name.replace(":", ".")})


def road_stop(context: Context, check: Check, place: Place) -> Found:
    """The distance of the road stop (49 CFR 570.5(d)(2)), whatever the car's age and whatever the balance reads."""
    _stop_rows(context)
    return Found({"service_high": "yardsticks.road-stop-distance"})


@once
def _stop_rows(context: Context) -> None:
    distance = published(context, "road-stop-distance", "S road stop", "distance")
    speed = published(context, "road-stop-speed", "v road stop", "mph")
    context.workings.scope("yardsticks").add(STOP, speed=speed, distance=distance)
