"""Quantities over the visits: which readings belong together, where a renewal parts them, and what is due when."""

import datetime as dt
from dataclasses import replace

import pytest
from limit_cars import demo, with_car

from estimator.car_history.due import Due, due, trends, undated
from estimator.car_history.series import all_series, in_order
from estimator.car_history.trend import trend
from estimator.quantities import Quantity
from estimator.records import Interval
from estimator.records.visits import PastReading, PastVisit

PSI, YEAR = 6894.757293168, 365.25 * 86400
GAS = "precharge.accumulator-1"


def measured_visit(document, day, values, serials=None, after=None, **more):
    """A visit with readings before work (and after it), each an SI value and its standard uncertainty."""
    readings = [
        PastReading(check=ref, phase=phase, value=f"{si:.4g}", unit="psi", verdict="within limits", si=si, u=u)
        for phase, given in (("before", values), ("after", after or {}))
        for ref, (si, u) in given.items()
    ]
    readings += [
        PastReading(check=f"accumulator-serial.{place}", phase="before", value=serial, verdict="recorded")
        for place, serial in (serials or {}).items()
    ]
    identity = demo().car.car
    car = {"car": identity.name, "chassis": identity.chassis_number, "car_id": identity.id}
    return PastVisit(
        **{"document": document, "revision": 1, "before": day, "after": day, **car, "readings": readings, **more}
    )


def year(number, psi, **more):
    return measured_visit(f"LY-{number}", dt.date(number, 5, 1), {GAS: (psi * PSI, 5 * PSI)}, **more)


def gas(visits, ref=GAS):
    found = [item for item in all_series(demo().car, visits) if item.ref == ref]
    return [[round(point.si / PSI) for point in stretch] for stretch in found[0].stretches] if found else None


def test_readings_stand_in_the_order_of_their_days_whatever_the_order_of_files():
    assert gas([year(2024, 920), year(2022, 940), year(2023, 930)]) == [[940, 930, 920]]


def test_of_each_document_the_last_revision_counts():
    assert gas([year(2022, 940, revision=2), year(2022, 990)]) == [[940]]
    assert [item.revision for item in in_order([year(2022, 940, revision=2), year(2022, 990)])] == [2]


def test_a_renewal_begins_a_new_stretch():
    again = {GAS: (930 * PSI, 5 * PSI)}
    assert gas([year(2022, 800, after=again, renewed=(GAS,)), year(2023, 925)]) == [[800], [930, 925]]
    assert gas([year(2022, 800, renewed_since=(GAS,)), year(2023, 925)]) == [[800], [925]]
    assert gas([year(2022, 800), year(2023, 925, renewed_earlier=(GAS,))]) == [[800], [925]]
    assert gas([year(2022, 800), year(2023, 790, renewed_since=(GAS,))]) == [[800, 790], []]


def test_a_second_reading_without_a_renewal_takes_the_first_one_s_place():
    assert gas([year(2022, 800, after={GAS: (803 * PSI, 5 * PSI)}), year(2023, 795)]) == [[803, 795]]


def test_gas_follows_the_serial_of_its_accumulator():
    mine = {"accumulator-1": "KR-1187"}
    assert gas([year(2022, 800, serials={"accumulator-1": "KR-0001"}), year(2023, 925, serials=mine)]) == [[800], [925]]
    # It came from another car, where it stood at another place.
    other = measured_visit(
        "LY-9",
        dt.date(2021, 5, 1),
        {"precharge.accumulator-2": (935 * PSI, 5 * PSI)},
        {"accumulator-2": "kr 1187"},
        chassis="ZZ-1",
    )
    foreign = measured_visit(
        "LY-8", dt.date(2020, 5, 1), {GAS: (700 * PSI, 5 * PSI)}, {"accumulator-1": "KR-5"}, chassis="ZZ-1"
    )
    assert gas([other, foreign, year(2023, 925, serials=mine)]) == [[935, 925]]
    # A serial that nobody read goes on as it was.
    assert gas([year(2022, 930, serials=mine), year(2023, 925), year(2024, 920, serials=mine)]) == [[930, 925, 920]]


def test_readings_of_another_car_are_not_this_ones():
    assert gas([year(2022, 930, chassis="ZZ-1")]) is None
    assert gas([year(2022, 930, chassis="vlc 0268")]) == [[930]]


def limits_of(**levels):
    return {GAS: {side: level * PSI for side, level in levels.items()}}


FALLING = [year(2020 + n, 930 - 12 * n + (1, -1)[n % 2]) for n in range(6)]


def one_trend(visits):
    return next((line for line in trends(all_series(demo().car, visits)) if line.series.ref == GAS), None)


def test_no_trend_before_the_fourth_visit():
    assert one_trend(FALLING[:3]) is None and one_trend(FALLING[:4]) is not None
    renewed = [*FALLING[:5], year(2025, 930, renewed_earlier=(GAS,))]
    assert one_trend(renewed) is None


def test_the_band_holds_the_hand_reckoned_crossing():
    """930 falling 12 psi a year is 741 psi after 15.75 years: February 2036."""
    found = one_trend(FALLING).crossing("service", 741 * PSI)
    assert found.earliest < dt.date(2036, 1, 30) < found.latest
    assert dt.date(2033, 1, 1) < found.earliest and found.latest < dt.date(2040, 1, 1)


def test_what_rises_crosses_from_below():
    lost = "hold.system-1"
    visits = [
        measured_visit(f"LY-{n}", dt.date(2020 + n, 5, 1), {lost: ((40 + 10 * n + (1, -1)[n % 2]) * PSI, 2 * PSI)})
        for n in range(5)
    ]
    line = next(line for line in trends(all_series(demo().car, visits)) if line.series.ref == lost)
    found = line.crossing("service", 140 * PSI)
    assert found.earliest < dt.date(2030, 5, 1) < found.latest
    assert line.crossing("service", 70 * PSI).latest == dt.date(2024, 5, 1)  # crossed already


def test_what_gets_better_or_stands_still_has_no_day():
    rising = [year(2020 + n, 900 + 12 * n) for n in range(5)]
    assert one_trend(rising).crossing("service", 741 * PSI) is None
    still = [year(2020 + n, 900 + (1, -1)[n % 2]) for n in range(5)]
    assert one_trend(still).crossing("service", 741 * PSI) is None  # not within 20 years


def test_a_falling_quantity_whose_slope_is_doubtful_has_no_end_in_sight():
    doubtful = [year(2020 + n, psi) for n, psi in enumerate((930, 860, 925, 850))]
    found = one_trend(doubtful).crossing("service", 741 * PSI)
    assert found is not None and found.latest is None and found.earliest <= dt.date(2024, 12, 31)


# --- what is due ------------------------------------------------------------------------------------------------------


def due_of(visits, limits=None, **changes):
    car = with_car(demo(), demo().car.model_copy(update=changes)).car
    found = due(car, visits, all_series(car, visits), limits or {})
    return {item.title: item for item in found}, {item.title for item in undated(car, visits)}


FLUID = Interval(
    title="Flush", every=Quantity.of(2, "years"), jobs=("complete-fluid-renewal",), source="a manual (invented)"
)


def test_an_interval_counts_from_when_it_was_done_last():
    found, _ = due_of([year(2023, 930, done=("complete-fluid-renewal.car",))], intervals=(FLUID,))
    assert found["Flush"].earliest == dt.date(2025, 5, 1) and not found["Flush"].banded
    later = FLUID.model_copy(update={"last": dt.date(2024, 1, 1)})
    assert (
        due_of([year(2023, 930, done=("complete-fluid-renewal.car",))], intervals=(later,))[0]["Flush"].earliest.year
        == 2026
    )
    assert due_of([year(2023, 930)], intervals=(FLUID,))[1] >= {"Flush"}
    assert any(
        "[[intervals]]" in item.why
        for item in undated(with_car(demo(), demo().car.model_copy(update={"intervals": ()})).car, [])
    )


def test_places_with_one_date_stand_together():
    hoses = Interval(
        title="Hoses",
        every=Quantity.of(10, "years"),
        jobs=("wheel-hose-renewal",),
        at=("front-left", "front-right", "rear-left"),
        last=dt.date(2017, 6, 30),
        source="a manual (invented)",
    )
    found, _ = due_of([year(2023, 930, done=("wheel-hose-renewal.front-left",))], intervals=(hoses,))
    assert {title: item.earliest.year for title, item in found.items()} == {
        "Hoses, front left": 2033,
        "Hoses, front right, rear left": 2027,
    }


def aged(number, psi, years, **more):
    ages = {GAS: (psi * PSI, 5 * PSI), "accumulator-age.accumulator-1": (years * YEAR, 0.05 * YEAR)}
    return measured_visit(f"LY-{number}", dt.date(number, 5, 1), ages, **more)


def test_an_accumulator_s_age_counts_from_its_date_stamp():
    found, gaps = due_of([aged(2022, 930, 4.0)])
    assert abs(found["replace accumulator 1"].earliest - dt.date(2029, 5, 1)) <= dt.timedelta(days=1)
    assert "replace accumulator 2" in gaps
    exchanged = aged(2022, 930, 4.0, renewed_since=("accumulator-age.accumulator-1",))
    assert "replace accumulator 1" in due_of([exchanged])[1]


def test_a_trend_brings_a_date_forward_and_never_past_the_manufacturers_age():
    """930 psi falling 12 a year reaches 850 psi in 2026 or 2027 and 741 in 2036; by age it goes in 2031."""
    visits = [aged(2020 + n, 930 - 12 * n + (1, -1)[n % 2], n) for n in range(6)]
    found, _ = due_of(visits, limits_of(service_low=850, danger_low=500))
    by_age, by_gas = found["replace accumulator 1"], found["precharge, accumulator 1: service limit"]
    assert by_gas.earliest < by_age.earliest and by_gas.banded and by_gas.latest <= by_age.earliest
    soon, _ = due_of(
        [aged(2020 + n, 930 - 12 * n + (1, -1)[n % 2], n + 4.5) for n in range(6)], limits_of(service_low=850)
    )
    assert soon["precharge, accumulator 1: service limit"].latest == soon["replace accumulator 1"].earliest
    late, _ = due_of(visits, limits_of(service_low=741, danger_low=500))
    assert not any(title.startswith("precharge, accumulator 1") for title in late)
    assert min(item.earliest for item in late.values() if "accumulator 1" in item.title) == by_age.earliest


def test_dues_stand_by_their_days():
    found = due_of([aged(2022, 930, 4.0)])[0].values()
    days = [item.earliest for item in found]
    assert days == sorted(days) and all(isinstance(item, Due) for item in found)


def test_shared_uncertainty_does_not_average_out():
    many = [measured_visit(f"LY-{n}", dt.date(2000 + n, 5, 1), {GAS: ((930 - n) * PSI, 8 * PSI)}) for n in range(20)]
    line = one_trend(many)
    assert line.band(dt.date(2020, 5, 1))[1] == pytest.approx(16 * PSI, rel=1e-6)
    assert trend(replace(line.series, stretches=((),))) is None


def test_an_absurd_age_or_day_has_no_date():
    from never_clear.good_car import good_car

    from estimator.car_history.visit import visit_of
    from estimator.letters.due_next import due_next

    visit = good_car("A")
    visit.read("accumulator-age.accumulator-1", 1e9)
    visit.set("visit.before.date", 2958465.0)  # 9999-12-31
    found = visit.appraise().appraisal
    assert visit_of(found).before == visit.record.job.date
    gaps = {item.title for item in undated(found.record.car, [visit_of(found)])}
    assert "replace accumulator 1" in gaps and not any("accumulator 1" in item for item in due_next(found))
