"""How one kind of place leads to another, against design's table written out for one car."""

import pytest

from estimator.places import AXLES, LEADS_TO, PEDAL_CIRCUIT, PLACE_KINDS, WHEELS, Place, Places, axle_of

# Front: one caliper a wheel, fed by both systems. Rear: a caliper on system 2 and one on the pedal circuit.
CAR = Places(
    systems=("system-1", "system-2"),
    accumulators=(("accumulator-1", "system-1"), ("accumulator-2", "system-2"), ("accumulator-3", "system-2")),
    calipers=(
        ("front-left-caliper", "front-left"),
        ("front-right-caliper", "front-right"),
        ("rear-left-main", "rear-left"),
        ("rear-left-pedal", "rear-left"),
        ("rear-right-main", "rear-right"),
        ("rear-right-pedal", "rear-right"),
    ),
    feeds=(
        ("front-left-caliper", "system-1"),
        ("front-left-caliper", "system-2"),
        ("front-right-caliper", "system-1"),
        ("front-right-caliper", "system-2"),
        ("rear-left-main", "system-2"),
        ("rear-left-pedal", PEDAL_CIRCUIT),
        ("rear-right-main", "system-2"),
        ("rear-right-pedal", PEDAL_CIRCUIT),
    ),
    pedal_circuit=True,
)
FRONT = ["front-left-caliper", "front-right-caliper"]
REAR_MAIN = ["rear-left-main", "rear-right-main"]
REAR_PEDAL = ["rear-left-pedal", "rear-right-pedal"]


@pytest.mark.parametrize(
    ("origin", "kind", "expected"),
    [
        ("front-left-caliper", "wheel", ["front-left"]),
        ("rear-left-pedal", "axle", ["rear-axle"]),
        ("rear-left-pedal", "car", ["car"]),
        ("front-left", "axle", ["front-axle"]),
        ("front-axle", "wheel", ["front-left", "front-right"]),
        ("rear-axle", "caliper", ["rear-left-main", "rear-left-pedal", "rear-right-main", "rear-right-pedal"]),
        ("rear-left", "caliper", ["rear-left-main", "rear-left-pedal"]),
        ("front-left-caliper", "system", ["system-1", "system-2"]),
        ("rear-left-main", "system", ["system-2"]),
        ("rear-left-pedal", "system", []),
        ("rear-left-pedal", "pedal-circuit", ["pedal-circuit"]),
        ("front-right", "pedal-circuit", []),
        ("rear-right", "system", ["system-2"]),
        ("rear-right", "pedal-circuit", ["pedal-circuit"]),
        ("rear-axle", "system", ["system-2"]),
        ("front-axle", "system", ["system-1", "system-2"]),
        ("system-2", "accumulator", ["accumulator-2", "accumulator-3"]),
        ("system-1", "accumulator", ["accumulator-1"]),
        ("system-1", "car", ["car"]),
        ("system-1", "caliper", FRONT),
        ("system-2", "caliper", [*FRONT, *REAR_MAIN]),
        ("pedal-circuit", "caliper", REAR_PEDAL),
        ("system-1", "wheel", ["front-left", "front-right"]),
        ("pedal-circuit", "wheel", ["rear-left", "rear-right"]),
        ("system-1", "axle", []),
        ("pedal-circuit", "accumulator", []),
        ("accumulator-3", "system", ["system-2"]),
        ("accumulator-3", "car", ["car"]),
        ("accumulator-1", "wheel", []),
        ("car", "axle", list(AXLES)),
        ("car", "wheel", list(WHEELS)),
        ("car", "system", ["system-1", "system-2"]),
        ("car", "accumulator", ["accumulator-1", "accumulator-2", "accumulator-3"]),
        ("car", "pedal-circuit", ["pedal-circuit"]),
        ("car", "car", ["car"]),
    ],
)
def test_where_a_place_leads(origin, kind, expected):
    place = CAR.find(origin)
    found = [found.id for found in CAR.at(place, kind)]
    assert sorted(found) == sorted(expected)


@pytest.mark.parametrize("origin", CAR.all(), ids=lambda place: place.id)
def test_own_kind_and_car_are_always_reached(origin):
    assert CAR.at(origin, origin.kind) == (origin,)
    assert CAR.at(origin, "car") == (Place("car", "car"),)


@pytest.mark.parametrize("start", PLACE_KINDS)
@pytest.mark.parametrize("end", PLACE_KINDS)
def test_the_table_of_kinds_says_what_the_places_do(start, end):
    reached = any(CAR.at(origin, end) for origin in CAR.of_kind(start))
    assert reached == (end in LEADS_TO[start])


def test_places_are_unique_and_found_by_id():
    ids = [place.id for place in CAR.all()]
    assert len(set(ids)) == len(ids)
    assert [CAR.find(place_id).id for place_id in ids] == ids
    assert CAR.find("system-3") is None
    assert {place.kind for place in CAR.all()} == set(PLACE_KINDS)


def test_a_car_without_pedal_circuit_has_no_such_place():
    bare = Places(CAR.systems, CAR.accumulators, CAR.calipers[:2], CAR.feeds[:4], pedal_circuit=False)
    assert bare.of_kind("pedal-circuit") == ()
    assert bare.at(Place("car", "car"), "pedal-circuit") == ()


def test_titles_and_axles():
    assert Place("wheel", "front-left").title == "front left"
    assert [axle_of(wheel) for wheel in WHEELS] == ["front-axle", "front-axle", "rear-axle", "rear-axle"]
