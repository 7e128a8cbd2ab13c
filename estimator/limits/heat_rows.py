"""Heat of one stop as rows: the energy of the test speed, and how much warmer the rotors of an axle get."""

from __future__ import annotations

from estimator.hydraulics.wear import rotor_warming, stop_energy
from estimator.limits.brake_rows import BODY
from estimator.limits.braking_rows import states_of
from estimator.limits.common_rows import cite, once, published
from estimator.limits.methods import Context
from estimator.limits.state_rows import scope_of, state_rows
from estimator.places import AXLES

HEAT = "heat"


@once
def heat_rows(context: Context) -> None:
    """The energy of a stop; per axle its share of it with everything working, and what its rotors take up."""
    state_rows(context)
    rows = context.workings.scope(HEAT)
    speed = published(context, "test-speed", "v test", "km/h")
    iron = published(context, "iron-specific-heat", "c iron", "J/(kg·K)")
    rows.row(
        "energy",
        "E stop",
        "heat of one stop from the test speed: m v²/2",
        f"{{{BODY}:mass}}*{{{speed}}}*{{{speed}}}/{{constant.two}}",
        stop_energy,
        f"{BODY}:mass",
        speed,
        unit="kJ",
        source=cite("physics-exercise"),
        valid="on the flat; drag would take up to a tenth of it, turning masses add some percent",
    )
    everything = scope_of(states_of(context.record.car)[0])
    forces = {axle: f"{everything}:force-{axle.removesuffix('-axle')}" for axle in AXLES}
    for wear in context.record.car.wear:
        if wear.rotor_mass is None:
            continue
        side = wear.axle.removesuffix("-axle")
        rows.datum(f"rotor-{side}", f"rotor {side}", f"mass of one rotor, {side}", wear.rotor_mass, "kg")
        rows.row(
            f"share-{side}",
            f"share {side}",
            f"{side} axle's share of the braking force with everything working, at the deceleration asked for",
            f"{{{forces[wear.axle]}}}/({'+'.join(f'{{{name}}}' for name in forces.values())})",
            lambda own, *both: own / sum(both),
            forces[wear.axle],
            *forces.values(),
            unit="%",
            source=cite("definition"),
        )
        rows.row(
            f"rise-{side}",
            f"ΔT {side}",
            f"how much warmer both rotors of the {side} axle get in that stop: share E/(2 m c)",
            f"{{share-{side}}}*{{energy}}/({{constant.two}}*{{rotor-{side}}}*{{{iron}}})",
            lambda share, energy, rotor, heat: rotor_warming(energy, share, 2.0 * rotor, heat),
            f"share-{side}",
            "energy",
            f"rotor-{side}",
            iron,
            unit="K",
            source=cite("physics-exercise"),
            valid="mean of the rotor, nothing cooled off; the rubbing surface is far hotter; fluid boils after many stops",
        )
