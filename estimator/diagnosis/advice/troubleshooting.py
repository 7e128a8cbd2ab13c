"""Expected cost of repair, and the test that lowers it most, one step ahead.

One fault of several holds (or a pair that needs two repairs), each repair cures what it cures for certain and is followed by a
check that shows whether it did, and costs don't depend on the order. Then repairs in falling p/C are cheapest on average
(Heckerman, Breese and Rommelse 1995, "Decision-theoretic troubleshooting", CACM 38(3); from memory, and held by trying all
orders). Where a case needs two repairs the order is a rule of thumb.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

SAVES_AT_LEAST = 5.0  # what a test must save to be called: a setting, in the shop's currency
CENT = 0.01  # what a repair costs at least
# By how much a repair falls behind the one before it in the alphabet, so that equals have an order.
BEHIND = 1e-12
DIGITS = 6


@dataclass(frozen=True)
class Case:
    """One way things may be: the causes that hold (mode and place), the repairs that cure it (none where nothing is wrong), its
    weight (those of all cases needn't sum to 1), what it costs if it stays unfound."""

    causes: tuple[tuple[str, str], ...]
    needs: frozenset[str]
    probability: float
    unfound: float = 0.0


@dataclass(frozen=True)
class Probe:
    """A test: its reference, its cost, and the probability of its bad outcome in a case."""

    ref: str
    cost: float
    bad: Callable[[Case], float]


@dataclass(frozen=True)
class Choice:
    """What to do: `kind` is let-be, test or repair; `ref` the test or the first repair; `cost` what is expected in all (times the
    weight of all cases where no test was looked at)."""

    kind: str
    ref: str
    cost: float


def in_order(cases: Sequence[Case], costs: Mapping[str, float]) -> tuple[str, ...]:
    """Return the repairs in falling p/C, p being the sum over the cases that need one.

    >>> in_order([Case((), frozenset("a"), 0.3), Case((), frozenset("b"), 0.6)], {"a": 10.0, "b": 30.0})
    ('a', 'b')
    """
    weights = {ref: 0.0 for ref in sorted({ref for case in cases for ref in case.needs})}
    for case in cases:
        for ref in case.needs:
            weights[ref] += case.probability
    worth = {
        ref: weight / max(costs[ref], CENT) - BEHIND * number for number, (ref, weight) in enumerate(weights.items(), 1)
    }
    return tuple(sorted(worth, key=lambda ref: -worth[ref]))


def until(case: Case, order: Sequence[str]) -> tuple[str, ...]:
    """Return the repairs that are made in this order until the case is cured; the first where nothing is wrong."""
    last = max((order.index(ref) for ref in case.needs), default=0)
    return tuple(order[: last + 1])


def cost_of_repair(cases: Sequence[Case], costs: Mapping[str, float]) -> float:
    """Return the expected cost of repair: for each case, its probability times all repairs made until it is cured.

    >>> round(cost_of_repair([Case((), frozenset("a"), 0.3), Case((), frozenset("b"), 0.7)], {"a": 10.0, "b": 30.0}), 6)
    31.0
    """
    order = in_order(cases, costs)
    return math.fsum(case.probability * math.fsum(costs[ref] for ref in until(case, order)) for case in cases)


def best_without_test(cases: Sequence[Case], costs: Mapping[str, float], *, may_wait: bool) -> Choice:
    """Return the cheaper of repairing and, where that may be offered at all, letting be."""
    order = in_order(cases, costs)
    repair = Choice("repair", order[0] if order else "", cost_of_repair(cases, costs))
    waiting = Choice("let-be", "", math.fsum(case.probability * case.unfound for case in cases))
    return waiting if not order or (may_wait and waiting.cost < repair.cost) else repair


def best(cases: Sequence[Case], costs: Mapping[str, float], tests: Sequence[Probe], *, may_wait: bool) -> Choice:
    """Return what costs least on average, tests looked at one step ahead.

    >>> sure = Probe("t", 1.0, lambda case: 1.0 if "b" in case.needs else 0.0)
    >>> cases = [Case((), frozenset("a"), 0.5), Case((), frozenset("b"), 0.5)]
    >>> best(cases, {"a": 100.0, "b": 110.0}, [sure], may_wait=False).kind
    'test'
    """
    whole = math.fsum(case.probability for case in cases)
    found = best_without_test(cases, costs, may_wait=may_wait)
    found = replace(found, cost=found.cost / whole)
    for test in tests:
        cost = test.cost + math.fsum(after(cases, costs, test, may_wait=may_wait)) / whole
        limit = found.cost if found.kind == "test" else found.cost - SAVES_AT_LEAST
        if round(cost, DIGITS) < round(limit, DIGITS):
            found = Choice("test", test.ref, cost)
    return found


def after(cases: Sequence[Case], costs: Mapping[str, float], test: Probe, *, may_wait: bool) -> tuple[float, float]:
    """Return what the bad and the good outcome of a test cost, times how often each comes."""
    bad, good = (best_without_test(left, costs, may_wait=may_wait).cost for left in outcomes(cases, test))
    return bad, good


def outcomes(cases: Sequence[Case], test: Probe) -> tuple[list[Case], list[Case]]:
    """Return the cases after the bad and after the good outcome of a test, each with its weight times the outcome's chance."""
    chances = [test.bad(case) for case in cases]
    bad = [replace(case, probability=case.probability * chance) for case, chance in zip(cases, chances, strict=True)]
    good = [
        replace(case, probability=case.probability * (1 - chance)) for case, chance in zip(cases, chances, strict=True)
    ]
    return bad, good
