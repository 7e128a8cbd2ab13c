"""What tests told, by labor_tables/tests.csv: looks that each cause makes more or less likely, and the part that one named."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from estimator.diagnosis.causes.evidence import Evidence, Look
from estimator.diagnosis.causes.hypotheses import At, Hypothesis
from estimator.diagnosis.causes.looks import LOOKS
from estimator.diagnosis.causes.scenarios import COUNTS, GAUGES
from estimator.records import OutcomeRow

OTHER = "other"
# Weighed as numbers, with predictions of their own.
NUMBERS = (*GAUGES, *COUNTS, "precharge", "valve-tilt")
# The words for the part that an isolation test names, and the causes behind each.
PARTS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "isolated-part": {
        "pump": ("pump-weak", "feed-blocked"),
        "charging valve": ("check-valve-leaks", "cut-out-off", "cut-in-off"),
        "distribution valve": ("valve-clearance-worn", "output-off"),
        "accumulator": ("gas-low", "gas-high", "gas-gone", "diaphragm-burst"),
        "other circuit": ("other-user-leaks",),
        "outside leak": ("outside-leak",),
    },
    "pedal-isolated-part": {
        "master cylinder": ("pedal-cylinder-leaks",),
        "caliper": ("pedal-circuit-leaks",),
        "outside leak": ("pedal-circuit-leaks",),
        "air": ("pedal-air",),
        "linkage": ("pedal-linkage",),
    },
}
NAMED, NOT_NAMED = 0.9, 0.01


class Outcomes:
    """The outcomes that stand in the boxes, with the probability of each under a cause."""

    def __init__(self, rows: Iterable[OutcomeRow], evidence: Evidence) -> None:
        self._evidence = evidence
        self._tests: dict[str, dict[str, float]] = {}
        for row in rows:
            if row.check_id not in LOOKS and row.check_id not in NUMBERS:
                self._tests.setdefault(row.check_id, {})[row.mode] = row.probability

    def weighed(
        self, hypotheses: Sequence[Hypothesis], places: Sequence[str]
    ) -> tuple[tuple[Hypothesis, ...], dict[str, Look]]:
        """Return the hypotheses with the probability of each outcome at these places, and the outcomes."""
        found = list(self._at(places))
        looks = {name: look for name, _, look, _ in found}
        if not found:
            return tuple(hypotheses), looks
        with_them = tuple(
            replace(
                item, looks={**item.looks, **{name: chance(item.causes, place, of) for name, place, _, of in found}}
            )
            for item in hypotheses
        )
        return with_them, looks

    def _at(self, places: Sequence[str]) -> Iterator[tuple[str, str, Look, Mapping[str, float]]]:
        for place in places:
            for check, of in self._tests.items():
                look = self._evidence.outcome(f"{check}.{place}")
                if look is not None:
                    yield f"{check}.{place}", place, look, of
            for check, parts in PARTS.items():
                words, key = self._evidence.words(f"{check}.{place}")
                if words.casefold() in parts:
                    of = dict.fromkeys(parts[words.casefold()], NAMED) | {OTHER: NOT_NAMED}
                    yield f"{check}.{place}", place, Look(True, key), of


def chance(causes: Iterable[At], place: str, of: Mapping[str, float]) -> float:
    """Return the probability of a bad outcome at a place; a cause at another place is one without a row.

    >>> chance([At("caliper-seized", "rear-left", "rear-left")], "rear-right", {"caliper-seized": 0.95, "other": 0.05})
    0.05
    """
    here = [cause.mode for cause in causes if "car" in (place, cause.place) or place == cause.place]
    return max((of.get(mode, of[OTHER]) for mode in here), default=of[OTHER])
