"""From the probabilities of rows to causes, and what the readings can't tell."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from estimator.diagnosis.causes.hypotheses import At
from estimator.diagnosis.causes.result import SHOWN_FROM, Cause, Diagnosis, Group, Weighed
from estimator.records.modes import READINGS

BLIND_ABOVE = 0.5
DIGITS = 6


@dataclass(frozen=True)
class Weighing:
    """A group of causes: the causes that each of its rows takes to hold, with its probability; what it lacks to be ranked, the
    sets of readings of which each is enough, and whether that of the gauges stands."""

    id: str
    entries: Sequence[tuple[tuple[At, ...], float]]
    missing: tuple[str, ...]
    needed: tuple[tuple[tuple[str, ...], ...], ...] = ()
    gauged: bool = True


def concluded(groups: Sequence[Weighing], cause: Callable[[At, float], Cause]) -> Diagnosis:
    """Return the diagnosis."""
    made = [_group(item, cause) for item in groups]
    every = [one for group in made if group.ranked for one in group.causes]
    shown = [one for one in every if round(one.probability, DIGITS) >= SHOWN_FROM]
    blind = [
        one
        for group in made
        if group.ranked and group.id != READINGS
        for one in group.causes
        if round(one.probability, DIGITS) > round(BLIND_ABOVE * one.prior, DIGITS) and one not in shown
    ]
    return Diagnosis(
        groups=tuple(made),
        causes=tuple(sorted(shown, key=lambda one: -round(one.probability, 9))),
        blind=tuple(blind),
        missing=tuple(dict.fromkeys(words for group in made for words in group.missing)),
    )


def _group(item: Weighing, cause: Callable[[At, float], Cause]) -> Group:
    shares: dict[tuple[At, ...], float] = {}
    sums: dict[At, float] = {}
    for causes, share in item.entries:
        shares[causes] = shares.get(causes, 0.0) + share
    for causes, share in shares.items():
        for at in causes:
            sums[at] = sums.get(at, 0.0) + share
    made = {at: cause(at, share) for at, share in sums.items()}
    hypotheses = tuple(Weighed(tuple(made[at] for at in causes), share) for causes, share in shares.items())
    in_order = sorted(made.values(), key=lambda one: -one.probability)
    return Group(item.id, hypotheses, tuple(in_order), item.missing, item.needed, item.gauged)
