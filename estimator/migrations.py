"""What each version renamed: keys and words of workbooks, records and entries.

A step leads from one version to the next and declares by patterns what got another name. `*` in a pattern stands for any
letters, dots too, and the `*` of the new name take them over in their order. Keys of cells and boxes have dots
(`line.road-test.car.decision`), fields of the record have slashes (`/tables/calls/12/verdict`). A table of the workbook
is renamed by all of its keys (`"line.*": "job.*"`).

A name that was given up never comes back with another meaning, so that walking the steps leaves present names as they are.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

_FIRST = (0,)


@dataclass(frozen=True)
class Step:
    """From one version to the next.

    keys: pattern of old keys → pattern of new ones; the first that fits decides. A field of the record keeps its place,
    only its last name changes.
    words: pattern of keys, as they are called after this step → old fixed word → new one.
    """

    before: str
    after: str
    keys: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    def key(self, key: str) -> str:
        """The name of a key after this step.

        >>> Step("1", "2", {"line.*.decision": "job.*.choice"}).key("line.road-test.car.decision")
        'job.road-test.car.choice'
        """
        for old, new in self.keys.items():
            if found := _pattern(old).fullmatch(key):
                return "".join(part + taken for part, taken in zip(new.split("*"), (*found.groups(), ""), strict=True))
        return key

    def word(self, key: str, word: Any, later: Iterable[Step] = ()) -> Any:
        """What a fixed word at a key is called after this step; capitals don't matter.

        key: as it is called after this step, or after the later ones.

        >>> Step("1", "2", words={"*.decision": {"agreed": "authorized"}}).word("line.road-test.car.decision", "Agreed")
        'authorized'
        """
        if not isinstance(word, str):
            return word
        for pattern, words in self.words.items():
            if any(_pattern(name).fullmatch(key) for name in (pattern, key_now(pattern, later))):
                for old, new in words.items():
                    if old.casefold() == word.casefold():
                        return new
        return word


_LOOKS = {
    "no fault seen": "no fault found",
    "fault seen": "fault found",
    "could not be checked": "unable to check",
}
_WORDS_OF_0_3 = {
    "*/unit": {"a": "years"},
    "*.decision": {"agreed": "authorized"},
    "line.*.done": {"done": "completed"},
    "consent.*.stage": {"strip-down": "teardown", "added work": "additional work"},
    "reading.*.why": {"no gauge for it": "no suitable gauge", "measured again": "repeat reading"},
    "reading.*.before": _LOOKS,
    "reading.*.after": _LOOKS,
    "/tables/calls/*/verdict": _LOOKS
    | {
        "outside limit": "out of limits",
        "too close to call": "too close to limit",
        "could not be measured": "unable to measure",
    },
    "state.driving.value": {
        "shop road test only": "SHOP ROAD TEST ONLY",
        "no do-not-drive finding in the checks made": "no finding prohibits driving",
    },
}
_TO_0_3 = Step("0.2.0", "0.3.0", {"/job/notes": "/job/shop_notes"}, _WORDS_OF_0_3)
# In the order of the versions; each version has its step, an empty one where it renamed nothing.
STEPS = (Step("0.1.0", "0.2.0"), _TO_0_3, Step("0.3.0", "0.4.0"), Step("0.4.0", "1.0.0"))


@functools.cache
def _pattern(pattern: str) -> re.Pattern[str]:
    return re.compile("(.*)".join(map(re.escape, pattern.split("*"))))


def steps_since(program: str) -> tuple[Step, ...]:
    """The steps that lead from a version to the present one: all of them where it can't be told which version it is."""
    return tuple(step for step in STEPS if _number(step.before) >= _number(program))


def _number(version: str) -> tuple[int, ...]:
    parts = version.split(".")
    return tuple(map(int, parts)) if all(part.isascii() and part.isdecimal() for part in parts) else _FIRST


def key_now(key: str, steps: Iterable[Step] | None = None) -> str:
    """What a key is called now; steps: those to walk, all if left out."""
    for step in STEPS if steps is None else steps:
        key = step.key(key)
    return key


def word_now(key: str, word: Any, steps: Iterable[Step] | None = None) -> Any:
    """What a word at a key is called now; key: as it was called before the steps, or as it is called now."""
    steps = STEPS if steps is None else tuple(steps)
    for number, step in enumerate(steps, start=1):
        key = step.key(key)
        word = step.word(key, word, steps[number:])
    return word


def record_now(data: Any, steps: Iterable[Step]) -> Any:
    """The record of a workbook, as JSON holds it, with present names of fields and present words.

    Raises ValueError for a step that moves a field elsewhere.
    """
    for step in steps:
        if any(name.startswith("/") for name in (*step.keys, *step.words)):
            data = _renamed(data, step, "", "")
    return data


def _renamed(data: Any, step: Step, old: str, new: str) -> Any:
    if isinstance(data, dict):
        found = {}
        for name, value in data.items():
            path = f"{old}/{name}"
            parent, _, last = step.key(path).rpartition("/")
            if parent != old or last in found:
                raise ValueError(f"the step to {step.after} moves the field {path}")
            found[last] = _renamed(value, step, path, f"{new}/{last}")
        return found
    if isinstance(data, list):
        return [_renamed(item, step, f"{old}/{number}", f"{new}/{number}") for number, item in enumerate(data)]
    return step.word(new, data)
