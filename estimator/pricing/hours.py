"""Hours of a visit: steps shared by the agreed jobs, each job's share, what leaving a job out saves.

A *line* is a job at a place. A *visit step* is a step at a place; one that is done for each job is a visit step of its
line alone. Hours of the visit: every visit step that at least one chosen line needs, once. A line's share: the hours of
its steps, each divided by the number of chosen lines that need it, which is the Shapley value of this cost game
(Littlechild and Owen 1973, "A Simple Expression for the Shapley Value in a Special Case", Management Science 20(3)).
Three-point estimates: see `three_point`. All hours are floats, in hours; rates in money per hour.

A spreadsheet repeats all of it with SUM, SUMIFS, INDEX, IF and SQRT, in this order of operations; names are those of
the fields below (`weight` 4, `divisor` 6 and `z` stand on their own cells).

One row per visit step (StepHours)
    expected            (low + weight*likely + high) / divisor
    variance            ((high - low) / divisor) ^ 2
    needed              SUMIFS(row.counts, row.visit_step, visit_step)
    rate_sum            SUMIFS(row.counted_rate, row.visit_step, visit_step)
    counted_likely      IF(needed > 0, likely, 0)              and so counted_expected, counted_variance
    several_variance    IF(needed > 1, variance, 0)
One row per line and step (RowHours); likely, expected, variance, needed and rate_sum are its step's, by INDEX
    counts              1 where its line is chosen, otherwise 0
    counted_rate        counts * rate                          rate is its line's
    others              needed - counts
    share_likely        IF(counts > 0, likely / needed, 0)     and so share_expected, share_variance
    sole_likely         IF(others = 0, likely, 0)              and so sole_expected, sole_variance
    rate_without        IF(others > 0, (rate_sum - counted_rate) / others, 0)
    rate_with           (rate_sum - counted_rate + rate) / (others + 1)
    rate_difference     rate_with - rate_without
    money_likely        rate_difference * likely               and so money_expected, money_variance
One row per line (LineHours)
    alone_likely        SUMIFS(row.likely, row.line, line)     and so alone_expected, alone_variance
    share_, sole_ and money_ likely, expected, variance: SUMIFS in the same way
    alone_p80           alone_expected + z*SQRT(alone_variance)
    share_p80           share_expected + z*IF(visit.variance > 0, share_variance / SQRT(visit.variance), 0)
    variance_without    visit.several_variance + SUMIFS(line.counted_sole_variance, line.line, "<>"&line)
    variance_with       variance_without + sole_variance
    sole_p80            sole_expected + z*(SQRT(variance_with) - SQRT(variance_without))
    weighted_variance   rate * share_variance
    weighted_without    visit.weighted_variance - IF(chosen, money_variance, 0)
    weighted_with       weighted_without + money_variance
    money_p80           money_expected + z*(IF(variance_with > 0, weighted_with / SQRT(variance_with), 0)
                                            - IF(variance_without > 0, weighted_without / SQRT(variance_without), 0))
    counted_sole_variance   IF(chosen, sole_variance, 0)
The visit (VisitHours)
    likely, expected, variance, several_variance: SUM of the steps' counted_ and several_ columns
    weighted_variance   SUM(line.weighted_variance)
    p80                 expected + z*SQRT(variance)

`sole_` is the visit with the line less the visit without it, in hours: what leaving a chosen line out saves, and what
adding another one would add. `money_` is the same of the labor amount (rate times share, summed over the chosen lines)
and holds where lines have different rates. It can be negative: a cheap line lowers the mean rate of steps it shares.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from typing import TypeVar

from estimator.errors import DomainError
from estimator.pricing.hours_columns import LineHours, LineStep, RowHours, StepHours, VisitHours, three_point

__all__ = [
    "LineHours",
    "LineStep",
    "RowHours",
    "StepHours",
    "VisitHours",
    "chance_within",
    "likely_shares",
    "p80",
    "share_visit",
    "three_point",
]

Z_P80 = 0.8416  # standard normal table: 80 % lies below
Item = TypeVar("Item")


def p80(expected: float, variance: float, z: float = Z_P80) -> float:
    """Hours that are enough in four visits of five: expected + z*sqrt(variance), z = 0.8416 (standard normal table).

    Parameters: expected [h], variance [h^2], z [1]. Returns [h]. Valid for variance >= 0 and for a sum of many steps,
    none of which rules; steps are taken as independent. Raises DomainError for a negative variance.

    >>> round(p80(24, 5), 4)
    25.8819
    """
    if variance < 0:
        raise DomainError(f"variance {variance} · must be 0 or more · it is a sum of squares, check the hours")
    return expected + z * math.sqrt(variance)


def chance_within(hours: float, expected: float, variance: float) -> float:
    """Chance that work takes no more than `hours`: Phi((hours - expected)/sqrt(variance)), Phi the standard normal.

    Parameters: hours, expected [h], variance [h^2]. Returns [1]. Valid as `p80` is. Raises DomainError unless
    variance > 0. Source: Taylor, project management text.

    >>> round(chance_within(28, 24, 5), 4)
    0.9632
    """
    if not variance > 0:
        raise DomainError(f"variance {variance} · must be above 0 · without a spread nothing is left to chance")
    return (1 + math.erf((hours - expected) / math.sqrt(2 * variance))) / 2


def likely_shares(needs: Iterable[tuple[str, str, float]], chosen: Sequence[str]) -> tuple[float, ...]:
    """Shares of the chosen lines, in their order, from plain (line, visit step, hours) triples.

    Parameters: hours [h]. Returns [h]. Valid and raises as `share_visit`. Source: Littlechild and Owen 1973.

    >>> likely_shares([("pads", "wheels off", 1), ("hose", "wheels off", 1), ("hose", "bleed", 2)], ["pads", "hose"])
    (0.5, 2.5)
    """
    line_steps = [LineStep(line, step, hours, hours, hours) for line, step, hours in needs]
    rates = dict.fromkeys([*(item.line for item in line_steps), *chosen], 0.0)
    visit = share_visit(line_steps, chosen, rates)
    return tuple(visit.lines[line].share_likely for line in chosen)


def share_visit(
    line_steps: Sequence[LineStep], chosen: Collection[str], rates: Mapping[str, float], z: float = Z_P80
) -> VisitHours:
    """Hours and labor amounts of a visit in which the `chosen` lines are done.

    Formulas: those of this module's docstring. Parameters: `line_steps`, hours [h]; `chosen`, ids of lines; `rates`
    [money/h] of every line, whether it has a step or not, in the order in which lines are wanted; z [1]. Returns the
    columns of every row. Valid for any set of lines, also for none. Raises DomainError for hours out of order,
    ValueError for a row that stands twice, a visit step with two sets of hours, a line without a rate.
    Source: Littlechild and Owen 1973.

    >>> both = [LineStep("pads", "wheels off", .5, .5, .5), LineStep("hose", "wheels off", .5, .5, .5)]
    >>> visit = share_visit(both, {"pads", "hose"}, {"pads": 100, "hose": 100})
    >>> visit.likely, visit.lines["hose"].share_likely, visit.lines["hose"].saves_hours.likely
    (0.5, 0.25, 0.0)
    """
    _check(line_steps, chosen, rates)
    steps = {}
    for visit_step, items in _groups(line_steps, lambda item: item.visit_step).items():
        counted = [item.line for item in items if item.line in chosen]
        steps[visit_step] = StepHours.of(items[0], len(counted), math.fsum(rates[line] for line in counted))
    rows = tuple(
        RowHours.of(item, steps[item.visit_step], item.line in chosen, rates[item.line]) for item in line_steps
    )
    rows_of = dict.fromkeys(rates, ()) | _groups(rows, lambda row: row.line)

    variance = _total(steps.values(), "counted_variance")
    several = _total(steps.values(), "several_variance")
    sole = {line: _total(rows_of[line], "sole_variance") if line in chosen else 0.0 for line in rates}
    weighted = {line: rates[line] * _total(rows_of[line], "share_variance") for line in rates}
    weighted_visit = math.fsum(weighted.values())
    expected = _total(steps.values(), "counted_expected")

    def of_line(line: str) -> LineHours:
        def total(column: str) -> float:
            return _total(rows_of[line], column)

        alone_expected, alone_variance = total("expected"), total("variance")
        share_expected, share_variance = total("share_expected"), total("share_variance")
        sole_expected, sole_variance = total("sole_expected"), total("sole_variance")
        money_expected, money_variance = total("money_expected"), total("money_variance")
        without = several + math.fsum(sole[other] for other in rates if other != line)
        with_it = without + sole_variance
        weighted_without = weighted_visit - (money_variance if line in chosen else 0.0)
        weighted_with = weighted_without + money_variance
        return LineHours(
            line=line,
            chosen=line in chosen,
            rate=rates[line],
            alone_likely=total("likely"),
            alone_expected=alone_expected,
            alone_variance=alone_variance,
            alone_p80=p80(alone_expected, alone_variance, z),
            share_likely=total("share_likely"),
            share_expected=share_expected,
            share_variance=share_variance,
            share_p80=share_expected + z * _per_deviation(share_variance, variance),
            sole_likely=total("sole_likely"),
            sole_expected=sole_expected,
            sole_variance=sole_variance,
            counted_sole_variance=sole[line],
            variance_without=without,
            variance_with=with_it,
            sole_p80=sole_expected + z * (math.sqrt(with_it) - math.sqrt(without)),
            weighted_variance=weighted[line],
            weighted_without=weighted_without,
            weighted_with=weighted_with,
            money_likely=total("money_likely"),
            money_expected=money_expected,
            money_variance=money_variance,
            money_p80=money_expected
            + z * (_per_deviation(weighted_with, with_it) - _per_deviation(weighted_without, without)),
        )

    return VisitHours(
        steps=steps,
        rows=rows,
        lines={line: of_line(line) for line in rates},
        likely=_total(steps.values(), "counted_likely"),
        expected=expected,
        variance=variance,
        several_variance=several,
        weighted_variance=weighted_visit,
        p80=p80(expected, variance, z),
    )


def _check(line_steps: Sequence[LineStep], chosen: Collection[str], rates: Mapping[str, float]) -> None:
    hours: dict[str, tuple[float, float, float]] = {}
    seen = set()
    for item in line_steps:
        if (item.line, item.visit_step) in seen:
            raise ValueError(f'the line "{item.line}" has the step "{item.visit_step}" twice; give it once')
        seen.add((item.line, item.visit_step))
        own = (item.hours_low, item.hours_likely, item.hours_high)
        if hours.setdefault(item.visit_step, own) != own:
            raise ValueError(
                f'the step "{item.visit_step}" has the hours {hours[item.visit_step]} and {own}; one is wrong'
            )
    if unpriced := sorted({*chosen, *(item.line for item in line_steps)} - set(rates)):
        raise ValueError(f"lines without a rate: {unpriced}; give each a rate")


def _groups(items: Iterable[Item], key: Callable[[Item], str]) -> dict[str, list[Item]]:
    groups: dict[str, list[Item]] = {}
    for item in items:
        groups.setdefault(key(item), []).append(item)
    return groups


def _total(items: Iterable[object], column: str) -> float:
    return math.fsum(getattr(item, column) for item in items)


def _per_deviation(amount: float, variance: float) -> float:
    return amount / math.sqrt(variance) if variance > 0 else 0.0
