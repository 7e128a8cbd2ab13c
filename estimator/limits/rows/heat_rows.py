"""Heat of one stop as rows: the energy of the test speed, and how much warmer the rotors of an axle get."""

from __future__ import annotations

from estimator.hydraulics.states import states
from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import once, published
from estimator.limits.rows.methods import Context
from estimator.limits.rows.state_rows import scope_of, state_rows

HEAT = "heat"

# fmt: off
ENERGY = (
    Row("energy", "E stop", "heat of one stop from the test speed: m v²/2",
        "{body:mass}*{$speed}*{$speed}/{constant.two}", "kJ", "physics-exercise",
        "on the flat; drag would take up to a tenth of it, turning masses add some percent"),
)
RISE = (
    Row("share-$side", "share $side",
        "$side axle's share of the braking force with everything working, at the deceleration required",
        "{$everything:force-$side}/({$everything:force-front}+{$everything:force-rear})", "%", "definition"),
    Row("rise-$side", "ΔT $side",
        "how much warmer both rotors of the $side axle get in that stop: share E/(2 m c)",
        "{share-$side}*{energy}/({constant.two}*{rotor-$side}*{$iron})", "K", "physics-exercise",
        "mean of the rotor, nothing cooled off; the rubbing surface is far hotter; fluid boils after many stops"),
)
# fmt: on


@once
def heat_rows(context: Context) -> None:
    """The energy of a stop; per axle its share of it with everything working, and what its rotors take up."""
    state_rows(context)
    rows = context.workings.scope(HEAT)
    speed = published(context, "test-speed", "v test", "km/h")
    iron = published(context, "iron-specific-heat", "c iron", "J/(kg·K)")
    rows.add(ENERGY, speed=speed)
    found = states(context.record.car.brakes)
    for wear in context.record.car.wear:
        if wear.rotor_mass is None or not found:
            continue
        everything = scope_of(found[0])
        side = wear.axle.removesuffix("-axle")
        rows.datum(f"rotor-{side}", f"rotor {side}", f"mass of one rotor, {side}", wear.rotor_mass, "kg")
        rows.add(RISE, side=side, everything=everything, iron=iron)
