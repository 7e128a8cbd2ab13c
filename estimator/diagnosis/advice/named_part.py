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
    """Return the cases of a group with their weights by what an isolation test there named; as they were without one."""
    word = named(appraisal, check_of(group))
    if not any(word in parts_of(case) for case in cases):
        return tuple(cases)
    return tuple(replace(case, probability=case.probability * factor(word, case)) for case in cases)


def factor(word: str, case: Case) -> float:
    """Return what makes of a case's weight that with a part named: nothing changes if the word is no part of its."""
    return RIGHT if word in parts_of(case) else WRONG


def parts_of(case: Case) -> tuple[str, ...]:
    """Return the parts by which a case may be named."""
    modes = {mode for mode, _ in case.causes}
    return tuple(part for parts in PARTS.values() for part, behind in parts.items() if modes & set(behind))


def check_of(group: str) -> tuple[str, str]:
    """Return the check in which a group's part is named, with its place."""
    return ("pedal-isolated-part", "pedal-circuit") if group == "pedal" else ("isolated-part", group)


def named(appraisal: Appraisal, check: tuple[str, str]) -> str:
    """Return the part that the latest words of a check name; "" for none."""
    for item in appraisal.looked:
        if (item.row.check.id, item.row.place.id) == check:
            return item.words("after" if item.words("after") else "before").strip().casefold()
    return ""
