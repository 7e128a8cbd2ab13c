"""Which data of a car free which limits, most useful first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from estimator.limits.judging.judging import Limits
from estimator.limits.needs import Need


@dataclass(frozen=True)
class Frees:
    """Data that car.toml doesn't give, and the limits that can be had once it gives them all."""

    data: tuple[Need, ...]
    limits: tuple[Limits, ...]


def most_useful_first(limits: Iterable[Limits]) -> tuple[Frees, ...]:
    """Return what each datum alone frees, most limits first, then what data free together.

    A limit is one check at one place. Data that free a limit together stand as one set, with every limit that no other
    datum holds back. A value that lies outside the range of a formula frees nothing: that is seen once it is given.

    >>> from estimator.limits.judging.judging import Limits
    >>> waiting = [Limits(ref, ref, *[""] * 7, needs=frozenset([Need("[pedal]", "ratio")])) for ref in ("a.car", "b.car")]
    >>> [(item.data[0].key, len(item.limits)) for item in most_useful_first(waiting)]
    [('ratio', 2)]
    """
    waiting = [item for item in limits if item.needs]
    found = [
        Frees(tuple(sorted(needs)), tuple(item for item in waiting if item.needs <= needs))
        for needs in {item.needs for item in waiting}
    ]
    return tuple(sorted(found, key=lambda item: (len(item.data) > 1, -len(item.limits), len(item.data), item.data)))
