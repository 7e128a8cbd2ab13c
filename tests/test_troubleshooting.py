"""The cheapest order of repairs and the test one step ahead, held against trying everything.

The theorem (falling p/C is the cheapest order where one fault holds and each repair cures its own) is Heckerman, Breese and
Rommelse's, CACM 38(3), 1995: from memory. No worked example of theirs could be read; all orders are tried instead.
"""

import itertools
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.diagnosis.advice.troubleshooting import (
    SAVES_AT_LEAST,
    Case,
    Probe,
    best,
    best_without_test,
    cost_of_repair,
    in_order,
    outcomes,
    until,
)

NOTHING = Case((), frozenset(), 0.0)


def cases_of(weights, nothing=0, unfound=0.0):
    """Cases of one repair each, from whole weights; their probabilities sum to 1."""
    whole = sum(weights.values()) + nothing
    found = [Case(((ref, "car"),), frozenset([ref]), weight / whole, unfound) for ref, weight in weights.items()]
    return [*found, Case((), frozenset(), nothing / whole)]


def by_all_orders(weights, costs, nothing=0):
    """The least expected cost over all orders, in fractions: repairs are made one by one until the fault is gone."""
    whole = sum(weights.values()) + nothing
    found = []
    for order in itertools.permutations(weights):
        spent, expected = Fraction(0), Fraction(0)
        for number, ref in enumerate(order):
            spent += Fraction(costs[ref])
            expected += Fraction(weights[ref] + (nothing if number == 0 else 0), whole) * spent
        found.append(expected)
    return min(found)


some = st.dictionaries(
    st.sampled_from("abcdef"), st.tuples(st.integers(1, 50), st.integers(1, 2000)), min_size=1, max_size=6
)


@given(some)
def test_falling_p_over_c_is_the_cheapest_of_all_orders(drawn):
    weights, costs = {ref: p for ref, (p, _) in drawn.items()}, {ref: c for ref, (_, c) in drawn.items()}
    assert cost_of_repair(cases_of(weights), costs) == pytest.approx(float(by_all_orders(weights, costs)), rel=1e-12)


def test_by_hand():
    """p 0.5, 0.3, 0.2 at 100, 20, 50: order b, c or a by 0.015, 0.005, 0.004; 0.3·20 + 0.5·120 + 0.2·170 = 100."""
    weights, costs = {"a": 5, "b": 3, "c": 2}, {"a": 100.0, "b": 20.0, "c": 50.0}
    assert in_order(cases_of(weights), costs) == ("b", "a", "c")
    assert cost_of_repair(cases_of(weights), costs) == pytest.approx(100.0)


def test_where_nothing_is_wrong_the_first_repair_is_wasted():
    cases = cases_of({"a": 1}, nothing=3)
    assert cost_of_repair(cases, {"a": 40.0}) == pytest.approx(40.0)
    assert until(NOTHING, ("a", "b")) == ("a",)


def test_a_case_of_two_faults_needs_both_repairs():
    pair = Case((), frozenset("ac"), 1.0)
    assert until(pair, ("b", "a", "c")) == ("b", "a", "c")
    assert cost_of_repair([pair], {"a": 10.0, "c": 30.0}) == 40.0


@given(some, st.integers(0, 20), st.lists(st.floats(0.01, 0.99), min_size=7, max_size=7), st.integers(1, 500))
def test_a_test_is_called_only_if_it_saves(drawn, nothing, chances, cost):
    """By enumerating outcomes with the cheapest order of each."""
    weights, costs = {ref: p for ref, (p, _) in drawn.items()}, {ref: float(c) for ref, (_, c) in drawn.items()}
    cases = cases_of(weights, nothing)
    of = dict(zip([case.needs for case in cases], chances, strict=False))
    test = Probe("t", float(cost), lambda case: of[case.needs])
    after = 0.0
    for good in (False, True):
        left = {case.needs: case.probability * (1 - of[case.needs] if good else of[case.needs]) for case in cases}
        whole = sum(left.values())
        orders = itertools.permutations(weights)
        after += (
            min(
                sum(left[frozenset([ref])] * sum(costs[r] for r in order[: order.index(ref) + 1]) for ref in weights)
                + left[frozenset()] * costs[order[0]]
                for order in orders
            )
            if nothing == 0 and whole
            else 0.0
        )
    without = best_without_test(cases, costs, may_wait=False).cost
    plan = best(cases, costs, [test], may_wait=False)
    if nothing == 0:
        saved = without - (cost + after)
        if abs(saved - SAVES_AT_LEAST) > 1e-3:
            assert (plan.kind == "test") == (saved > SAVES_AT_LEAST)
    if plan.kind == "test":
        assert plan.cost < without - SAVES_AT_LEAST + 1e-6


def test_a_test_that_tells_nothing_is_never_called():
    cases = cases_of({"a": 1, "b": 1})
    assert best(cases, {"a": 500.0, "b": 600.0}, [Probe("t", 0.0, lambda case: 0.4)], may_wait=False).kind == "repair"


def test_the_cheaper_of_two_equal_tests_is_called():
    cases = cases_of({"a": 1, "b": 1})
    dear, cheap = (
        Probe(name, cost, lambda case: float("a" in case.needs)) for name, cost in (("dear", 9.0), ("cheap", 8.0))
    )
    assert best(cases, {"a": 500.0, "b": 500.0}, [dear, cheap], may_wait=False).ref == "cheap"
    assert best(cases, {"a": 500.0, "b": 500.0}, [cheap, dear], may_wait=False).ref == "cheap"


def test_letting_be_is_offered_only_where_it_may_be():
    cases = cases_of({"a": 1}, nothing=99, unfound=2500.0)
    assert best(cases, {"a": 400.0}, [], may_wait=True).kind == "let-be"
    assert best(cases, {"a": 400.0}, [], may_wait=False).kind == "repair"


@given(some, st.lists(st.floats(0.01, 0.99), min_size=7, max_size=7))
def test_outcomes_keep_all_probability(drawn, chances):
    cases = cases_of({ref: p for ref, (p, _) in drawn.items()}, 1)
    of = dict(zip([case.needs for case in cases], chances, strict=False))
    bad, good = outcomes(cases, Probe("t", 1.0, lambda case: of[case.needs]))
    for before, one, other in zip(cases, bad, good, strict=True):
        assert one.probability + other.probability == pytest.approx(before.probability)
        assert one.probability == pytest.approx(before.probability * of[before.needs])


@given(some, st.integers(0, 20), st.floats(0.01, 40.0))
def test_weights_need_not_sum_to_one(drawn, nothing, times):
    """The choice and what it costs are those of probabilities."""
    weights, costs = {ref: p for ref, (p, _) in drawn.items()}, {ref: float(c) for ref, (_, c) in drawn.items()}
    cases = cases_of(weights, nothing)
    test = Probe("t", 3.0, lambda case: 0.9 if "a" in case.needs else 0.1)
    plain, heavy = (
        best([replace(case, probability=case.probability * by) for case in cases], costs, [test], may_wait=False)
        for by in (1.0, times)
    )
    assert plain.cost == pytest.approx(heavy.cost, rel=1e-9)
