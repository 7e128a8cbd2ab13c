"""The part that an isolation test names: what it makes of the cases before the next step is chosen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.troubleshooting import Case

# The words for a part, by the check in which they are written, and the causes behind each.
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
# How often the named part is the one at fault, and how often another is named: ours, invented.
RIGHT, WRONG = 0.9, 0.01


def with_named_part(appraisal: Appraisal, group: str, cases: Sequence[Case]) -> tuple[Case, ...]:
    """Return the cases of a group with what an isolation test there named, by Bayes' rule; as they were without one."""
    modes = _named(appraisal, "pedal-circuit" if group == "pedal" else group)
    if not modes:
        return tuple(cases)
    factors = [RIGHT if any(mode in modes for mode, _ in case.causes) else WRONG for case in cases]
    weights = [case.probability * factor for case, factor in zip(cases, factors, strict=True)]
    return tuple(replace(case, probability=weight / sum(weights)) for case, weight in zip(cases, weights, strict=True))


def _named(appraisal: Appraisal, place: str) -> tuple[str, ...]:
    for item in appraisal.looked:
        parts = PARTS.get(item.row.check.id)
        if parts is not None and item.row.place.id == place:
            phase = "after" if item.words("after") else "before"
            return parts.get(item.words(phase).strip().casefold(), ())
    return ()
