"""What is judged in place of a reading: precharge at its reference temperature, loss of the hold check; each with U.

Uncertainties are combined in quadrature; U is twice the standard uncertainty. Readings of one gauge are taken as if
their errors had nothing in common: that of its class is then counted in full in both, on the safe side.
"""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.limits.judging.judging import Derived
from estimator.limits.judging.verdict_words import PHASES
from estimator.limits.rows.hold_rows import hold_rows
from estimator.limits.rows.leak_rows import leak_rows
from estimator.limits.rows.methods import Context
from estimator.limits.rows.reference_rows import read_at_reference
from estimator.places import Place


def precharge_at_reference(context: Context, check: Check, place: Place) -> Derived:
    """p ref = (p + atmosphere) T0/T - atmosphere, from the gauge on the gas valve and the gas temperature."""
    read_at_reference(context, place.id)
    return _labels(context, place, "reference", "u-reference")


def hold_loss(context: Context, check: Check, place: Place) -> Derived:
    """Loss = the settled pressure, brought to the temperature at the end, less the pressure at the end."""
    for phase in PHASES:
        hold_rows(context.workings.scope(place.id), place.id, phase)
        leak_rows(context, place.id, phase)
    return _labels(context, place, "loss", "u-loss")


def _labels(context: Context, place: Place, value: str, u: str) -> Derived:
    def label(name: str, phase: str) -> str:
        return context.workings.rows[f"{place.id}.{name}-{phase}"].label

    return Derived(label(value, "before"), label(value, "after"), label(u, "before"), label(u, "after"))
