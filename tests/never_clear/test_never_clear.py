"""No car is cleared wrongly, and none is grounded absurdly: one changed entry on a good car, and what must follow."""

import pytest

from tests.never_clear.cases import Case, cases
from tests.never_clear.good_car import STATES, Appraised, good_car


@pytest.mark.parametrize("car", ["A", "B"])
def test_a_good_car_is_good(car):
    found = good_car(car).appraise()
    assert found.state == "no-do-not-drive-finding"
    assert found.grounding == []
    # A maker's limit that is laxer than the computed one is told, and doesn't ground a car whose reading is good.
    assert [item.what for item in found.findings if item.severity != "note" and item.rule != "limit-conflict"] == []


def test_there_are_enough_cases():
    assert len(cases()) >= 80
    assert len({case.id for case in cases()}) == len(cases())
    assert sum(case.road for case in cases()) >= 8
    assert {case.state for case in cases()} == {*STATES, ""}


@pytest.mark.parametrize("case", cases(), ids=lambda case: case.id)
def test_what_follows(case: Case):
    found = case.visit().appraise()
    if case.state:
        assert found.state == case.state, f"{case.why}; grounding: {found.grounding}"
    follows(case, found)


def follows(case: Case, found: Appraised) -> None:
    """The finding of a case is said, and the check behind a do-not-drive is the one that keeps the car off the road."""
    if case.finding:
        said = found.said(case.finding, case.about)
        assert said, (
            f"{case.why}; said: {[(item.rule, item.what) for item in found.findings if item.severity != 'note']}"
        )
        assert not case.severity or case.severity in {item.severity for item in said}
    for rule in case.also:
        assert found.said([rule]), case.why
    assert not found.said(case.absent, case.check), case.why
    if case.state == "do-not-drive" and case.check:
        assert any(case.check in ref for ref in found.grounding), f"{case.why}; grounding: {found.grounding}"
    if case.state != "not-measured":
        assert unsaid(found) == [], "each check that keeps the car off the road is named by a finding"


def unsaid(found: Appraised) -> list[str]:
    """The checks that keep the car off the road and that no finding names, by key or in words."""
    labels = {item.ref: item.label for item in found.standings}

    def named(ref: str) -> bool:
        return any(f"reading.{ref}." in item.key or labels[ref] in item.what for item in found.findings)

    return [ref for ref in found.grounding if not named(ref)]
