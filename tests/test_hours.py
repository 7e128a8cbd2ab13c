"""Hours and labor on the road of a visit, against what they are by definition: small labor tables, any decisions."""

import functools
import math
from random import Random
from statistics import NormalDist

import pytest
from hours_oracle import SmallVisit, Z, shapley
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pricing_road import appraised

from estimator.errors import DomainError
from estimator.pricing.hours import Z_P80, Hours, three_point, total

BASES = ("likely", "expected", "p80")
LINES = ("pads", "hose", "pump", "bleed", "tray")
hundredths = st.integers(0, 500).map(lambda n: n / 100)
triples = st.lists(hundredths, min_size=3, max_size=3).map(sorted).map(tuple)
rates = st.integers(0, 30_000).map(lambda n: n / 100)
few = functools.partial(settings, deadline=None, suppress_health_check=list(HealthCheck))


@st.composite
def visits(draw):
    """Labor tables of up to five lines, some of them without a step, and the lines that are agreed to."""
    lines = LINES[: draw(st.integers(1, len(LINES)))]
    steps = {f"step-{number}": draw(triples) for number in range(draw(st.integers(0, 6)))}
    needs = {line: tuple(step for step in steps if draw(st.booleans())) for line in lines}
    own = frozenset(draw(st.sets(st.sampled_from(sorted(steps)), max_size=3))) if steps else frozenset()
    visit = SmallVisit(steps, needs, {line: draw(rates) for line in lines}, own)
    return visit, draw(st.sets(st.sampled_from(lines))), draw(st.sampled_from(BASES))


def close(found, wanted, size=1.0):
    return math.isclose(found, wanted, rel_tol=1e-9, abs_tol=1e-9 * max(size, 1.0))


def lines_of(found):
    return {line.line.job.job_id: line for line in found.labor.lines}


# --- hours ------------------------------------------------------------------------------------------------------------


def test_z_is_the_eightieth_percentile():
    """Standard normal table; Python's own inverse gives 0.84162."""
    assert pytest.approx(NormalDist().inv_cdf(0.8), abs=5e-5) == Z_P80 == Z


@few(max_examples=60)
@given(visits())
def test_a_share_is_the_shapley_value(drawn):
    """The mean over all orders of what a line adds to the visit; of P80, in expected hours and in variance."""
    visit, chosen, basis = drawn
    for name, line in lines_of(appraised(visit, chosen, basis)).items():
        wanted = visit.share(name, chosen, basis)
        assert close(line.share_agreed, wanted)
        assert close(line.share_proposed, wanted), "nothing is asked for: what is proposed is what is agreed to"


@few(max_examples=30)
@given(visits())
def test_the_visit_is_each_needed_step_once(drawn):
    visit, chosen, basis = drawn
    found = appraised(visit, chosen, basis)
    for case in (found.labor.agreed, found.labor.proposed):
        assert all(close(getattr(case, name), getattr(visit, name)(chosen)) for name in ("likely", "expected"))
        assert close(case.variance, visit.variance(chosen)) and close(case.p80, visit.p80(chosen))
    assert close(math.fsum(line.share_agreed for line in found.labor.lines), visit.hours(chosen, basis))
    assert all(line.share_agreed == 0 for name, line in lines_of(found).items() if name not in chosen)


@few(max_examples=30)
@given(visits())
def test_savings_are_the_visit_with_less_the_visit_without(drawn):
    """In hours, and in labor to the cent, whatever the rates; nothing for a line that isn't chosen."""
    visit, chosen, basis = drawn
    for name, line in lines_of(appraised(visit, chosen, basis)).items():
        hours, labor = (
            measure(chosen, basis) - measure(chosen - {name}, basis) if name in chosen else 0.0
            for measure in (visit.hours, visit.labor)
        )
        assert close(line.saves_hours, hours)
        assert abs(float(line.saves_labor) - labor) <= 0.005 + 1e-6


@few(max_examples=30)
@given(visits())
def test_labor_is_each_step_at_the_mean_rate_of_its_lines(drawn):
    visit, chosen, basis = drawn
    found = appraised(visit, chosen, basis)
    cost = visit.labor(chosen, basis)
    assert close(math.fsum(line.share_agreed * visit.rates[name] for name, line in lines_of(found).items()), cost, cost)
    assert abs(float(found.agreed["labor"]) - cost) <= 0.005 * len(chosen) + 1e-6


@few(max_examples=30)
@given(visits())
def test_alone_depends_on_no_choice(drawn):
    visit, chosen, basis = drawn
    for name, line in lines_of(appraised(visit, chosen, basis)).items():
        assert close(line.alone, visit.hours({name}, basis))
        assert line.share_agreed <= line.alone + 1e-12


@few(max_examples=30)
@given(visits())
def test_leaving_a_line_out_lowers_no_other_share(drawn):
    visit, chosen, basis = drawn
    before = appraised(visit, chosen, basis)
    for left_out in sorted(chosen)[:1]:
        after = appraised(visit, chosen - {left_out}, basis)
        assert after.labor.agreed.p80 <= before.labor.agreed.p80 + 1e-12
        for name, line in lines_of(after).items():
            assert name == left_out or line.share_agreed >= lines_of(before)[name].share_agreed - 1e-12


def test_many_lines_share_as_few_do():
    """Twenty lines, beyond what can be tried in all orders: a step's hours fall evenly to the lines that need it."""
    rng = Random(1)
    steps = {f"step-{n}": tuple(sorted(round(rng.uniform(0, 4), 2) for _ in range(3))) for n in range(30)}
    needs = {f"job-{n}": tuple(rng.sample(sorted(steps), 8)) for n in range(20)}
    visit = SmallVisit(steps, needs, {line: round(rng.uniform(50, 150), 2) for line in needs})
    chosen = set(sorted(needs)[::2])
    users = {step: [line for line in chosen if step in needs[line]] for step in steps}
    found = lines_of(appraised(visit, chosen, "likely"))
    for line in chosen:
        assert close(found[line].share_agreed, sum(steps[step][1] / len(users[step]) for step in needs[line]))
        labor = visit.labor(chosen, "likely") - visit.labor(chosen - {line}, "likely")
        assert abs(float(found[line].saves_labor) - labor) <= 0.005 + 1e-6


def test_a_cheap_line_can_save_less_than_nothing():
    both = {"pads": ("wheels-off",), "hose": ("wheels-off",)}
    visit = SmallVisit({"wheels-off": (1.0, 1.0, 1.0)}, both, {"pads": 60.0, "hose": 100.0})
    found = lines_of(appraised(visit, {"pads", "hose"}))
    assert (found["pads"].saves_labor, found["hose"].saves_labor) == (-20, 20)
    assert found["pads"].saves_hours == 0


def test_nothing_chosen_takes_no_time():
    visit = SmallVisit(
        {"wheels-off": (0.3, 0.4, 0.6)}, {"pads": ("wheels-off",), "spare": ()}, {"pads": 60, "spare": 0}
    )
    found = appraised(visit, ())
    assert (found.labor.agreed.likely, found.labor.agreed.p80, found.agreed["labor"]) == (0, 0, 0)
    assert lines_of(found)["pads"].alone == 0.4 and lines_of(found)["spare"].alone == 0


def test_the_oracle_is_shapleys_value():
    """Its axioms, on a game without any structure: shares add up, equals get equal, who adds nothing gets nothing."""
    worth = {"": 0, "a": 3, "b": 3, "c": 0, "ab": 10, "ac": 3, "bc": 3, "abc": 10}
    found = shapley(lambda some: worth["".join(sorted(some))], "abc")
    assert found == {"a": 5, "b": 5, "c": 0}


# --- the algebra ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("hours", [(2, 1, 3), (1, 3, 2), (-1, 1, 2), (0, 1, math.inf), (math.nan, 1, 2)])
def test_hours_out_of_order_are_refused(hours):
    with pytest.raises(DomainError, match="rise from low over likely to high"):
        three_point(*hours)


def test_sums_of_nothing_and_parts_for_nobody():
    assert total([]) == Hours(0, 0, 0)
    assert Hours(1, 2, 3).over(0) == Hours(0, 0, 0) and Hours(1, 2, 3).over(2) == Hours(0.5, 1, 1.5)
