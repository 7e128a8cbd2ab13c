"""Shared hours: Shapley values by brute force, printed examples, laws for every set, both spreadsheet engines."""

import itertools
import math
from statistics import NormalDist, fmean

import pytest
from engines import needs_libreoffice, recalculate_with_ironcalc, recalculate_with_libreoffice
from hours_sheet import write_hours
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.errors import DomainError
from estimator.pricing.hours import Z_P80, LineStep, chance_within, likely_shares, p80, share_visit, three_point

BASES = ("likely", "expected", "p80")
LINES = ("pads", "hose", "pump", "bleed", "tray")
hundredths = st.integers(0, 500).map(lambda n: n / 100)
triples = st.lists(hundredths, min_size=3, max_size=3).map(sorted)
rates = st.integers(0, 30_000).map(lambda n: n / 100)


@st.composite
def visits(draw):
    """Line steps of up to five lines, some of them without a step, a set that counts, and the rates."""
    lines = LINES[: draw(st.integers(1, len(LINES)))]
    rows = []
    for number in range(draw(st.integers(0, 7))):
        hours = draw(triples)
        rows += [LineStep(line, f"step {number}", *hours) for line in draw(st.sets(st.sampled_from(lines)))]
    return rows, draw(st.sets(st.sampled_from(lines))), {line: draw(rates) for line in lines}


def visit_by_hand(rows, chosen, basis):
    """Hours of the visit without any sharing: each needed step once."""
    steps = {row.visit_step: row for row in rows if row.line in chosen}
    if basis == "likely":
        return sum(row.hours_likely for row in steps.values())
    expected = sum((row.hours_low + 4 * row.hours_likely + row.hours_high) / 6 for row in steps.values())
    variance = sum((row.hours_high - row.hours_low) ** 2 / 36 for row in steps.values())
    return expected + (Z_P80 * variance**0.5 if basis == "p80" else 0)


def labor_by_hand(rows, chosen, rates, basis):
    """What the visit's labor costs: each needed step's hours at the mean rate of the lines that need it."""
    needing = {}
    for row in rows:
        if row.line in chosen:
            needing.setdefault(row.visit_step, []).append(row)
    mean_rate = {step: fmean(rates[row.line] for row in found) for step, found in needing.items()}
    first = {step: found[0] for step, found in needing.items()}
    if basis == "likely":
        return sum(mean_rate[step] * row.hours_likely for step, row in first.items())
    expected = {step: (row.hours_low + 4 * row.hours_likely + row.hours_high) / 6 for step, row in first.items()}
    variance = {step: (row.hours_high - row.hours_low) ** 2 / 36 for step, row in first.items()}
    cost = sum(mean_rate[step] * expected[step] for step in first)
    if basis == "p80" and (total := sum(variance.values())) > 0:
        cost += Z_P80 / total**0.5 * sum(mean_rate[step] * variance[step] for step in first)
    return cost


def close(found, wanted, size=1.0):
    return math.isclose(found, wanted, rel_tol=1e-9, abs_tol=1e-9 * max(size, 1.0))


# --- printed examples -------------------------------------------------------------------------------------------------


def test_three_point_example_of_taylor():
    """Taylor, project management text: activities 1, 3, 5, 7: mean 24, variance 5.0, P(<= 28) = .9633 (read)."""
    activities = {"1": (5, 8, 17), "3": (3, 5, 7), "5": (4, 6, 8), "7": (3, 4, 5)}
    rows = [LineStep("project", name, *hours) for name, hours in activities.items()]
    visit = share_visit(rows, {"project"}, {"project": 100.0})
    assert visit.expected == pytest.approx(24, abs=1e-12)
    assert visit.variance == pytest.approx(5.0, abs=1e-12)
    assert chance_within(28, visit.expected, visit.variance) == pytest.approx(0.9633, abs=2e-4)


def test_airport_game():
    """Littlechild and Owen 1973; the example as commonly printed: costs 8, 11, 13, 18, shares 2, 3, 4, 9."""
    costs = {"a": 8, "b": 11, "c": 13, "d": 18}
    pieces = [(0, 8), (8, 11), (11, 13), (13, 18)]
    needs = [(plane, f"{a} to {b}", b - a) for a, b in pieces for plane, cost in costs.items() if cost >= b]
    assert likely_shares(needs, list(costs)) == pytest.approx((2, 3, 4, 9), abs=1e-12)


def test_z_is_the_eightieth_percentile():
    """Standard normal table; Python's own inverse gives 0.84162."""
    assert pytest.approx(NormalDist().inv_cdf(0.8), abs=5e-5) == Z_P80
    assert chance_within(p80(3, 0.25), 3, 0.25) == pytest.approx(0.8, abs=2e-5)


# --- laws -------------------------------------------------------------------------------------------------------------


@given(visits())
def test_a_share_is_the_shapley_value(visit):
    """The mean over all orders of what a line adds to the visit, for hours, expected hours and variance."""
    rows, chosen, line_rates = visit
    found = share_visit(rows, chosen, line_rates)
    for measure in ("likely", "expected", "variance"):
        cost = {
            subset: getattr(share_visit(rows, subset, line_rates), measure)
            for size in range(len(chosen) + 1)
            for subset in map(frozenset, itertools.combinations(sorted(chosen), size))
        }
        orders = list(itertools.permutations(sorted(chosen)))
        for line in line_rates:
            before = [frozenset(order[: order.index(line)]) for order in orders] if line in chosen else []
            value = fmean(cost[some | {line}] - cost[some] for some in before) if before else 0.0
            assert close(getattr(found.lines[line], f"share_{measure}"), value)


@given(visits())
def test_shares_add_up_to_the_visit(visit):
    rows, chosen, line_rates = visit
    found = share_visit(rows, chosen, line_rates)
    for basis in BASES:
        assert close(found.total.on(basis), visit_by_hand(rows, chosen, basis))
        assert close(math.fsum(line.share.on(basis) for line in found.lines.values()), found.total.on(basis))
    assert all(line.share == (0, 0, 0) for line in found.lines.values() if not line.chosen)


@given(visits())
def test_leaving_a_line_out_lowers_no_other_share(visit):
    """In hours likely and expected, and in variance; of P80 too, for the visit as a whole."""
    rows, chosen, line_rates = visit
    before = share_visit(rows, chosen, line_rates)
    for left_out in chosen:
        after = share_visit(rows, chosen - {left_out}, line_rates)
        assert after.p80 <= before.p80 + 1e-12
        for line in chosen - {left_out}:
            for column in ("share_likely", "share_expected", "share_variance", "share_p80"):
                assert getattr(after.lines[line], column) >= getattr(before.lines[line], column) - 1e-12


@given(visits())
def test_savings_are_the_visit_with_less_the_visit_without(visit):
    rows, chosen, line_rates = visit
    found = share_visit(rows, chosen, line_rates)
    for name, line in found.lines.items():
        for basis in BASES:
            hours = visit_by_hand(rows, chosen | {name}, basis) - visit_by_hand(rows, chosen - {name}, basis)
            wanted = (hours, 0.0) if name in chosen else (0.0, hours)
            assert close(line.saves_hours.on(basis), wanted[0])
            assert close(line.adds_hours.on(basis), wanted[1])


@given(visits())
def test_labor_amounts_hold_where_rates_differ(visit):
    rows, chosen, line_rates = visit
    found = share_visit(rows, chosen, line_rates)
    for basis in BASES:
        whole = labor_by_hand(rows, chosen, line_rates, basis)
        assert close(math.fsum(line.rate * line.share.on(basis) for line in found.lines.values()), whole, whole)
        for name, line in found.lines.items():
            costs = [labor_by_hand(rows, some, line_rates, basis) for some in (chosen | {name}, chosen - {name})]
            wanted = (costs[0] - costs[1], 0.0) if name in chosen else (0.0, costs[0] - costs[1])
            assert close(line.labor_saved.on(basis), wanted[0], costs[0])
            assert close(line.labor_added.on(basis), wanted[1], costs[0])


@given(visits())
def test_alone_depends_on_no_choice(visit):
    rows, chosen, line_rates = visit
    found = share_visit(rows, chosen, line_rates)
    for name, line in found.lines.items():
        for basis in BASES:
            assert close(line.alone.on(basis), visit_by_hand(rows, {name}, basis))
            assert line.share.on(basis) <= line.alone.on(basis) + 1e-12


def test_a_cheap_line_can_save_less_than_nothing():
    rows = [LineStep("pads", "wheels off", 1, 1, 1), LineStep("hose", "wheels off", 1, 1, 1)]
    visit = share_visit(rows, {"pads", "hose"}, {"pads": 60.0, "hose": 100.0})
    assert visit.lines["pads"].labor_saved.likely == -20.0
    assert visit.lines["hose"].labor_saved.likely == 20.0
    assert visit.steps["wheels off"].needed == 2


def test_nothing_chosen_takes_no_time():
    visit = share_visit([LineStep("pads", "wheels off", 0.3, 0.4, 0.6)], (), {"pads": 60.0, "spare": 0.0})
    assert visit.total == (0, 0, 0)
    assert visit.lines["pads"].adds_hours == visit.lines["pads"].alone
    assert visit.lines["spare"].alone == (0, 0, 0)


# --- refusals ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("hours", [(2, 1, 3), (1, 3, 2), (-1, 1, 2), (0, 1, math.inf), (math.nan, 1, 2)])
def test_hours_out_of_order_are_refused(hours):
    with pytest.raises(DomainError, match="rise from low over likely to high"):
        three_point(*hours)


@pytest.mark.parametrize("variance", [0, -1, math.nan])
def test_a_chance_needs_a_spread(variance):
    with pytest.raises(DomainError, match="must be above 0"):
        chance_within(1, 1, variance)


def test_p80_refuses_a_negative_variance():
    with pytest.raises(DomainError, match="must be 0 or more"):
        p80(1, -1e-9)


@pytest.mark.parametrize(
    ("rows", "chosen", "words"),
    [
        ([LineStep("pads", "wheels off", 1, 1, 1)] * 2, (), 'the line "pads" has the step "wheels off" twice'),
        ([LineStep("pads", "off", 1, 1, 1), LineStep("hose", "off", 1, 1, 2)], (), 'the step "off" has the hours'),
        ([LineStep("pump", "off", 1, 1, 1)], (), r"lines without a rate: \['pump'\]"),
        ([], ("pump",), r"lines without a rate: \['pump'\]"),
    ],
)
def test_what_contradicts_itself_is_refused(rows, chosen, words):
    with pytest.raises(ValueError, match=words):
        share_visit(rows, chosen, {"pads": 60.0, "hose": 60.0})


# --- the same in a spreadsheet ----------------------------------------------------------------------------------------


def check_sheet(stored, recalculated):
    assert len(stored) == len(recalculated) > 0
    for cell, value in stored.items():
        assert math.isclose(recalculated[cell], value, rel_tol=1e-12, abs_tol=1e-12), cell


@settings(max_examples=15, deadline=None)
@given(visits().filter(lambda visit: visit[0]))
def test_ironcalc_agrees_with_every_column(tmp_path_factory, visit):
    rows, chosen, line_rates = visit
    path = tmp_path_factory.mktemp("hours") / "hours.xlsx"
    stored = write_hours(path, rows, chosen, line_rates, share_visit(rows, chosen, line_rates))
    check_sheet(stored, recalculate_with_ironcalc(path))


@needs_libreoffice
def test_libreoffice_agrees_with_every_column(tmp_path):
    """One visit in which nothing, some and everything counts, with steps that have no spread at all."""
    hours = {"wheels off": (0.3, 0.4, 0.6), "drain": (0.2, 0.3, 0.5), "bleed": (0.4, 1.0, 3.0), "look": (0.5, 0.5, 0.5)}
    needs = {"pads": ["wheels off", "look"], "hose": ["wheels off", "drain", "bleed"], "bleed": ["drain", "bleed"]}
    rows = [LineStep(line, step, *hours[step]) for line, steps in needs.items() for step in steps]
    line_rates = {"pads": 96.5, "hose": 118.0, "bleed": 118.0, "spare": 0.0}
    paths, stored = [], []
    for number, chosen in enumerate([set(), {"pads"}, {"pads", "hose"}, {"bleed"}, {"pads", "hose", "bleed"}]):
        paths.append(tmp_path / f"{number}.xlsx")
        visit = share_visit(rows, chosen, line_rates)
        stored.append(write_hours(paths[-1], rows, chosen, line_rates, visit))
    for wanted, found in zip(stored, recalculate_with_libreoffice(paths), strict=True):
        check_sheet(wanted, found)
