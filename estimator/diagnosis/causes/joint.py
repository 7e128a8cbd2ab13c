"""Probabilities of all rows at once: systems and pedal circuit share the pan, the leak that is seen, and the reserve."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from estimator.diagnosis.causes.hypotheses import Hypothesis, Shared
from estimator.diagnosis.causes.scenarios import Rows, Scenario
from estimator.diagnosis.causes.weigh import SharedReadings


@dataclass(frozen=True)
class Joint:
    """Probabilities of each scenario, of each row of each system in it, of each row of the pedal."""

    scenarios: tuple[float, ...]
    systems: tuple[tuple[tuple[float, ...], ...], ...]
    pedal: tuple[float, ...]


def joined(scenarios: Sequence[Scenario], pedal: Rows, shared: SharedReadings) -> Joint:
    """Return the probabilities, the shared readings judged for each combination of what the rows add to them."""
    known: dict[tuple[Shared, ...], float] = {}

    def likelihood(classes: tuple[Shared, ...]) -> float:
        key = tuple(sorted(classes))
        if key not in known:
            known[key] = shared.likelihood(key)
        return known[key]

    pedal_sums = _sums(pedal)
    of_pedal = dict.fromkeys(pedal_sums, 0.0)
    of_systems: list[list[dict[Shared, float]]] = []
    totals = []
    for scenario in scenarios:
        sums = [_sums(rows) for rows in scenario.systems]
        own = [dict.fromkeys(one, 0.0) for one in sums]
        total = 0.0
        for adds, pedal_sum in pedal_sums.items():
            for combination in itertools.product(*sums):
                chance = scenario.prior * shared.of_idle(scenario.idle) * likelihood((adds, *combination))
                weights = [one[item] for one, item in zip(sums, combination, strict=True)]
                for at, item in enumerate(combination):
                    own[at][item] += chance * pedal_sum * math.prod(weights[:at]) * math.prod(weights[at + 1 :])
                of_pedal[adds] += chance * math.prod(weights)
                total += chance * math.prod(weights) * pedal_sum
        of_systems.append(own)
        totals.append(total)
    whole = math.fsum(totals)

    def shares(rows: Rows, message: dict[Shared, float]) -> tuple[float, ...]:
        pairs = zip(rows.hypotheses, rows.weights, strict=True)
        return tuple(weight * message[item.shared] / whole for item, weight in pairs)

    return Joint(
        scenarios=tuple(total / whole for total in totals),
        systems=tuple(
            tuple(shares(rows, message) for rows, message in zip(scenario.systems, own, strict=True))
            for scenario, own in zip(scenarios, of_systems, strict=True)
        ),
        pedal=shares(pedal, of_pedal),
    )


def _sums(rows: Rows) -> dict[Shared, float]:
    found: dict[Shared, float] = {}
    pairs: list[tuple[Hypothesis, float]] = list(zip(rows.hypotheses, rows.weights, strict=True))
    for item, weight in pairs:
        found[item.shared] = found.get(item.shared, 0.0) + weight
    return found
