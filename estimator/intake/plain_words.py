"""Names found by plain words: a job, a package, a car or a place, as a person would say it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from estimator.places import ALL, Place


def words_of(text: str) -> tuple[str, ...]:
    """The words of a text, in lower case.

    >>> words_of("front-caliper-overhaul"), words_of("Brake fluid flush, all")
    (('front', 'caliper', 'overhaul'), ('brake', 'fluid', 'flush', 'all'))
    """
    return tuple(re.findall(r"\w+", text.casefold().replace("_", " ")))


def meant(typed: str, names: Mapping[str, Iterable[str]]) -> list[str]:
    """The ids whose names hold each typed word or its beginning; the one alone that is named in full, by its id first.

    names: of each id, what it is called besides.

    >>> jobs = {"front-pads": ["Replace front pads, both sides"], "rear-pads": ["Replace rear pads, both sides"]}
    >>> meant("front pads", jobs), meant("pads", jobs), meant("fro pad", jobs), meant("wing", jobs)
    (['front-pads'], ['front-pads', 'rear-pads'], ['front-pads'], [])
    """
    wanted = words_of(typed)
    if not wanted:
        return []
    called = {name: [words_of(text) for text in (name, *texts)] for name, texts in names.items()}
    if by_id := [name for name, texts in called.items() if wanted == texts[0]]:
        return by_id
    if full := [name for name, texts in called.items() if wanted in texts]:
        return full
    return [
        name
        for name, texts in called.items()
        if all(any(word.startswith(part) for text in texts for word in text) for part in wanted)
    ]


def places_meant(typed: str, places: Iterable[Place]) -> list[str]:
    """The places that words name: "all", "front", "left", "accumulator 2".

    >>> wheels = [Place("wheel", "front-left"), Place("wheel", "front-right"), Place("wheel", "rear-left")]
    >>> places_meant("front", wheels), places_meant("all", wheels)[2:], places_meant("rear right", wheels)
    (['front-left', 'front-right'], ['rear-left'], [])
    """
    names = {place.id: (place.title,) for place in places}
    return list(names) if words_of(typed) == (ALL,) else meant(typed, names)
