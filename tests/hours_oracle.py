"""Hours and labor of a visit by definition: each step that a chosen line needs, once; shares by Shapley's formula.

Nothing here is the program's but the deviate of 80 %: costs of any set of lines are added up step by step, and a share
is the mean, over all orders in which the lines could have been chosen, of what a line adds.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from statistics import NormalDist, fmean

Z = round(NormalDist().inv_cdf(0.8), 4)
Triple = tuple[float, float, float]


@dataclass(frozen=True)
class SmallVisit:
    """Steps with their hours (low, likely, high), the steps that each line needs, and the lines' rates.

    A step in `own` is done anew for each line that needs it; others are shared.
    """

    steps: Mapping[str, Triple]
    needs: Mapping[str, Collection[str]]
    rates: Mapping[str, float]
    own: frozenset[str] = frozenset()

    def needing(self, chosen: Collection[str]) -> list[tuple[Triple, list[str]]]:
        """Each piece of work that the chosen lines make necessary, with the lines that need it."""
        found = []
        for step, hours in self.steps.items():
            lines = [line for line in self.needs if line in chosen and step in self.needs[line]]
            found += [(hours, [line]) for line in lines] if step in self.own else [(hours, lines)] if lines else []
        return found

    def likely(self, chosen: Collection[str]) -> float:
        return sum(likely for (_, likely, _), _ in self.needing(chosen))

    def expected(self, chosen: Collection[str]) -> float:
        return sum(mean(hours) for hours, _ in self.needing(chosen))

    def variance(self, chosen: Collection[str]) -> float:
        return sum(variance(hours) for hours, _ in self.needing(chosen))

    def p80(self, chosen: Collection[str]) -> float:
        return self.expected(chosen) + Z * self.variance(chosen) ** 0.5

    def hours(self, chosen: Collection[str], basis: str) -> float:
        return {"likely": self.likely, "expected": self.expected, "p80": self.p80}[basis](chosen)

    def labor(self, chosen: Collection[str], basis: str) -> float:
        """What the work costs: each piece at the mean rate of the lines that need it, and its share of the spread."""
        found = [(hours, fmean(self.rates[line] for line in lines)) for hours, lines in self.needing(chosen)]
        if basis == "likely":
            return sum(rate * hours[1] for hours, rate in found)
        cost = sum(rate * mean(hours) for hours, rate in found)
        spread = self.variance(chosen)
        if basis == "p80" and spread > 0:
            cost += Z / spread**0.5 * sum(rate * variance(hours) for hours, rate in found)
        return cost

    def share(self, line: str, chosen: Collection[str], basis: str) -> float:
        """A line's share of the hours: Shapley's value; of P80, that of the expected and of the variance, in hours."""
        if line not in chosen:
            return 0.0
        if basis != "p80":
            return shapley({"likely": self.likely, "expected": self.expected}[basis], chosen)[line]
        spread = self.variance(chosen)
        of_spread = shapley(self.variance, chosen)[line] / spread**0.5 if spread > 0 else 0.0
        return shapley(self.expected, chosen)[line] + Z * of_spread


def mean(hours: Triple) -> float:
    low, likely, high = hours
    return (low + 4 * likely + high) / 6


def variance(hours: Triple) -> float:
    return (hours[2] - hours[0]) ** 2 / 36


def shapley(cost: Callable[[Collection[str]], float], players: Collection[str]) -> dict[str, float]:
    """Each player's mean contribution over all orders; for a handful of players.

    >>> shapley(lambda some: max([0, *({"a": 8, "b": 11}[player] for player in some)]), ["a", "b"])
    {'a': 4.0, 'b': 7.0}
    """
    of = {
        some: cost(some)
        for size in range(len(players) + 1)
        for some in map(frozenset, itertools.combinations(sorted(players), size))
    }
    orders = list(itertools.permutations(sorted(players)))

    def adds(player: str, order: tuple[str, ...]) -> float:
        before = frozenset(order[: order.index(player)])
        return of[before | {player}] - of[before]

    return {player: fmean(adds(player, order) for order in orders) for player in sorted(players)}
