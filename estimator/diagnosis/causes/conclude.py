"""From the probabilities of rows to causes, what they explain, and what the readings can't tell."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from estimator.diagnosis.causes.explain import CANNOT, EXPLAINS, Entry, explained, of_look, top
from estimator.diagnosis.causes.hypotheses import At
from estimator.diagnosis.causes.looks import fault_seen
from estimator.diagnosis.causes.result import SHOWN_FROM, Cause, Diagnosis, Group, Weighed
from estimator.diagnosis.causes.weigh import PAN_SOUND, SharedReadings, distance
from estimator.records.modes import READINGS

BLIND_ABOVE = 0.5
DIGITS = 6


@dataclass(frozen=True)
class Weighing:
    """A group of causes with the probabilities of its rows, what it lacks to be ranked, the sets of readings of which each is
    enough, and whether that of the gauges stands."""

    id: str
    entries: Sequence[Entry]
    missing: tuple[str, ...]
    needed: tuple[tuple[tuple[str, ...], ...], ...] = ()
    gauged: bool = True

    def shares(self) -> dict[tuple[At, ...], float]:
        """The probability of each set of causes."""
        found: dict[tuple[At, ...], float] = {}
        for item in self.entries:
            found[item.causes] = found.get(item.causes, 0.0) + item.probability
        return found


def concluded(groups: Sequence[Weighing], shared: SharedReadings, cause: Callable[[At, float], Cause]) -> Diagnosis:
    """Return the diagnosis."""
    by: dict[str, At] = {}
    unexplained: list[str] = []
    tops: list[Entry] = []
    for item in groups:
        likely = top(item.entries)
        if item.missing or item.id == READINGS or likely is None:
            continue
        tops.append(likely)
        one = explained(item.entries)
        by |= one.by
        unexplained += one.not_explained
    found, not_found = _of_shared(tops, shared)
    by |= found
    unexplained += not_found
    explains: dict[At, list[str]] = {}
    for key, at in by.items():
        explains.setdefault(at, []).append(key)
    made = [_group(item, explains, cause) for item in groups]
    every = [one for group in made if group.ranked for one in group.causes]
    shown = [one for one in every if round(one.probability, DIGITS) >= SHOWN_FROM]
    known = {At(one.mode_id, one.place, one.at): one for one in every}
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
        explained={key: known[at] for key, at in by.items() if at in known},
        unexplained=tuple(dict.fromkeys(unexplained)),
        blind=tuple(blind),
        missing=tuple(dict.fromkeys(words for group in made for words in group.missing)),
    )


def _group(item: Weighing, explains: dict[At, list[str]], cause: Callable[[At, float], Cause]) -> Group:
    shares = item.shares()
    sums: dict[At, float] = {}
    for causes, share in shares.items():
        for at in causes:
            sums[at] = sums.get(at, 0.0) + share
    made = {at: replace(cause(at, share), explains=tuple(explains.get(at, ()))) for at, share in sums.items()}
    hypotheses = tuple(Weighed(tuple(made[at] for at in causes), share) for causes, share in shares.items())
    return Group(
        item.id,
        hypotheses,
        tuple(sorted(made.values(), key=lambda one: -one.probability)),
        item.missing,
        item.needed,
        item.gauged,
    )


def _of_shared(tops: Sequence[Entry], shared: SharedReadings) -> tuple[dict[str, At], list[str]]:
    """What the most probable hypotheses of all groups explain of the readings that they share."""
    by: dict[str, At] = {}
    not_explained: list[str] = []
    causes = [cause for item in tops for cause in item.every]
    for check, look in (("leaks-at-cut-out", shared.leak), ("integrity", shared.reserve)):
        if look is not None and look.fault:
            by |= of_look(check, look.key, sorted(causes, key=lambda cause: -fault_seen(check, [cause.mode])))
    if shared.pan is not None:
        foretold = shared.pan_foretold(item.hypothesis.shared.pan for item in tops)
        off = distance(foretold, shared.pan)
        leaking = [item for item in tops if item.hypothesis.shared.pan]
        if off > CANNOT:
            not_explained += shared.pan.keys
        elif leaking and off <= EXPLAINS < distance(PAN_SOUND, shared.pan):
            by |= dict.fromkeys(shared.pan.keys, leaking[0].every[-1])
    return by, not_explained
