"""The price band: what the visit may come to, by cause, with all that was requested and tax."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.advise import READ_AGAIN, TEST, Adviser, GroupAdvice
from estimator.diagnosis.advice.troubleshooting import Case, in_order, outcomes, until
from estimator.diagnosis.advice.visit_price import VisitPrice
from estimator.diagnosis.causes.result import READING_ERRORS
from estimator.money import half_up
from estimator.pricing.decisions import AGREED, DECLINED

LOW, HIGH = 0.10, 0.90
TOO_RARE, TOO_RARE_TOGETHER = 0.01, 0.003
STEP = Decimal(10)
_DIGITS = 6
NO_ESTIMATE = "This is no estimate: nothing is done beyond what you have authorized."
Lines = frozenset[str]


@dataclass(frozen=True)
class Band:
    """What the visit may come to: 10 % of the ways things may be lie below `low` at low hours, 10 % above `high` at high hours.

    `of_cause` has the same for each cause alone, by mode and place.
    """

    low: Decimal
    high: Decimal
    of_cause: Mapping[tuple[str, str], tuple[Decimal, Decimal]]


def base_lines(appraisal: Appraisal) -> Lines:
    """The lines that are in the visit whatever the cause: authorized, requested, or called for by what no cause explains."""
    called = {call.line for call in appraisal.calls if call.active and call.caller is None}
    return frozenset(
        item.line.ref
        for item in appraisal.decisions.decided
        if item.decision == AGREED
        or (item.decision != DECLINED and not item.settled and (item.line.asked or item.line.label in called))
    )


def price_band(appraisal: Appraisal, adviser: Adviser, groups: Sequence[GroupAdvice]) -> Band:
    """Return the band over all ways things may be, and by cause."""
    price, base = VisitPrice(appraisal), base_lines(appraisal)
    ways = [_merged(_ways(adviser, item)) for item in groups]
    together: dict[Lines, float] = {}
    for combination in itertools.product(*(way.items() for way in ways)):
        chance = 1.0
        for _, p in combination:
            chance *= p
        lines = base.union(*(lines for lines, _ in combination))
        together[lines] = together.get(lines, 0.0) + chance
    kept = {lines: chance for lines, chance in together.items() if chance >= TOO_RARE_TOGETHER} or together
    low = _quantile(((price.of(lines, "low"), chance) for lines, chance in kept.items()), LOW)
    high = _quantile(((price.of(lines, "high"), chance) for lines, chance in kept.items()), HIGH)
    of_cause = {
        cause: (
            tens(price.of(base | lines, "low"), ROUND_FLOOR),
            tens(price.of(base | lines, "high"), ROUND_CEILING),
        )
        for item in groups
        for cause, lines in _alone(adviser, item)
    }
    return Band(tens(low, ROUND_FLOOR), tens(high, ROUND_CEILING), of_cause)


def _ways(adviser: Adviser, advice: GroupAdvice) -> Iterable[tuple[Lines, float]]:
    """Each case with the lines that are done in it. A group with readings and nothing to point to adds none."""
    if advice.group.ranked and advice.step is None:
        return [(frozenset(), 1.0)]
    return [(_lines(adviser, advice, case), case.probability) for case in advice.cases]


def _alone(adviser: Adviser, advice: GroupAdvice) -> Iterable[tuple[tuple[str, str], Lines]]:
    for case in advice.cases:
        if len(case.causes) == 1:
            yield case.causes[0], _lines(adviser, advice, case)


def _lines(adviser: Adviser, advice: GroupAdvice, case: Case) -> Lines:
    """What is done if a case holds: the test, then repairs in the order that its likelier outcome leaves, until it is cured."""
    if advice.step is None or advice.step.kind not in (TEST, READ_AGAIN):
        idle = not case.needs and advice.step is None
        return frozenset() if idle else frozenset(until(case, advice.order))
    ref = f"{advice.step.id}.{advice.step.place}"
    order: Sequence[str] = advice.order
    if advice.probe is not None:
        found = outcomes(advice.cases, advice.probe)
        left = found[0 if advice.probe.bad(case) >= 0.5 else 1]
        order = in_order(left, {need: adviser.cost(need) for one in left for need in one.needs})
    mere = all(mode in READING_ERRORS for mode, _ in case.causes)
    return frozenset({ref} if mere else {ref, *until(case, order)})


def _merged(ways: Iterable[tuple[Lines, float]]) -> dict[Lines, float]:
    """The chance of each set of lines, those left out that are too rare to move the band."""
    found: dict[Lines, float] = {}
    for lines, chance in ways:
        found[lines] = found.get(lines, 0.0) + chance
    kept = {lines: chance for lines, chance in found.items() if chance >= TOO_RARE} or found
    whole = sum(kept.values())
    return {lines: chance / whole for lines, chance in kept.items()}


def _quantile(prices: Iterable[tuple[Decimal, float]], share: float) -> Decimal:
    """The least price that this share of all ways doesn't exceed.

    >>> _quantile([(Decimal(3), 0.5), (Decimal(1), 0.05), (Decimal(2), 0.45)], 0.1)
    Decimal('2')
    """
    ranked = sorted(prices)
    whole, below = sum(chance for _, chance in ranked), itertools.accumulate(chance for _, chance in ranked)
    enough = (price for (price, _), sum_ in zip(ranked, below, strict=True) if round(sum_ / whole, _DIGITS) >= share)
    return next(enough)


def tens(amount: Decimal, way: str = ROUND_HALF_UP) -> Decimal:
    """Return an amount to the next 10: what isn't known to the cent."""
    return half_up((amount / STEP).quantize(Decimal(1), way) * STEP)
