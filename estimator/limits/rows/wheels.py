"""Pads and rotors: the maker's data, else the rules of vehicles in use."""

from __future__ import annotations

from estimator.facts.checks import Check
from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import once, published, wear_of
from estimator.limits.rows.methods import Context, Found, maker_rows
from estimator.limits.rows.wear_rows import wear_rows
from estimator.places import Place, axle_of

# fmt: off
PAD = (
    Row("danger", "pad least", "thinnest lining for driving: the greater of both rules", "MAX({$rivets},{$mot})",
        "length", "uk-mot cfr-570", "lining alone, at the thinnest", "read"),
)
# fmt: on


def pad_thickness(context: Context, check: Check, place: Place) -> Found:
    """Service as is common practice; danger by the greater of two rules of vehicles in use."""
    _pad_rows(context)
    wear = wear_of(context, place.id)
    if wear is not None and wear.pads_driven is not None and wear.pad_new is not None:
        rows, least = context.workings.scope(place.id), _service_row(context, check, place, "pads.service")
        wear_rows(rows, "pad", check.id, wear.pad_new, wear.pads_driven, least)
    return Found({"service_low": "pads.service", "danger_low": "pads.danger"}, estimates=("service_low",))


@once
def _pad_rows(context: Context) -> None:
    rows = context.workings.scope("pads")
    rivets = published(context, "lining-over-rivets", "lining over rivets", "length")
    mot = published(context, "pad-danger", "pad danger", "length")
    rows.add(PAD, rivets=rivets, mot=mot)
    rows.fact("pad-service", "pad service", "length", "service")


def rotor_thickness(context: Context, check: Check, place: Place) -> Found:
    """The discard thickness of the axle's rotors (49 CFR 570.5(f): the embossed limit, else the maker's)."""
    axle = axle_of(place.id)
    wear = wear_of(context, place.id)
    if f"{axle}.rotor-discard" not in context.workings.rows:
        rows = context.workings.scope(axle)
        least, key = None if wear is None else wear.rotor_discard, "[[wear]] rotor_discard"
        rows.datum("rotor-discard", "rotor least", "discard thickness of the rotors", least, "length", key=key)
    if wear is not None and wear.rotors_driven is not None and wear.rotor_new is not None:
        rows, limit = context.workings.scope(place.id), _service_row(context, check, place, f"{axle}.rotor-discard")
        wear_rows(rows, "rotor", check.id, wear.rotor_new, wear.rotors_driven, limit)
    return Found({"service_low": f"{axle}.rotor-discard"})


def _service_row(context: Context, check: Check, place: Place, computed: str) -> str:
    """How an expression names the lowest thickness for service: the maker's where car.toml gives one."""
    return maker_rows(context, check, place).get("service_low", computed).replace(".", ":", 1)
