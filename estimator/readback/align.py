"""Labels as drafted against labels as found: what went where, what is gone, what stands twice."""

from __future__ import annotations

from bisect import bisect
from collections import Counter
from collections.abc import Callable, Sequence
from difflib import SequenceMatcher

Labels = Sequence[tuple[int, str]]  # places, ascending, each with its label
_MOST_COPIES = 20


def aligned(drafted: Labels, found: Labels, occupied: Callable[[int], bool]) -> tuple[dict[int, int], list[int]]:
    """Place as drafted -> place as found, 0 for what is gone; and the places of labels found once too often.

    Labels in their old order are paired first, then those that went elsewhere. A label that was typed over is where its
    neighbors say; at either end, where the sheet is `occupied`. So is what has no label (""), but one neighbor is enough.

    >>> aligned([(1, "a"), (2, "b"), (3, "c")], [(1, "a"), (3, "x"), (4, "c")], lambda place: True)
    ({1: 1, 3: 4, 2: 0}, [])
    """
    known = _known(drafted, found)
    pairs: dict[int, int] = {}
    old, new = [label for _, label in drafted], [label for _, label in known]
    for first, second, size in SequenceMatcher(None, old, new, autojunk=False).get_matching_blocks():
        for step in range(size):
            pairs[drafted[first + step][0]] = known[second + step][0]
    taken = set(pairs.values())
    spare: dict[str, list[int]] = {}
    for place, label in known:
        if place not in taken:
            spare.setdefault(label, []).append(place)
    for place, label in drafted:
        if place not in pairs and spare.get(label):
            pairs[place] = spare[label].pop(0)
    taken = set(pairs.values())
    for place, where in _typed_over(drafted, pairs, taken, occupied).items():
        pairs[place] = where
    for place, _ in drafted:
        pairs.setdefault(place, 0)
    return pairs, sorted(place for places in spare.values() for place in places)


def _known(drafted: Labels, found: Labels) -> list[tuple[int, str]]:
    """Return the labels found that were drafted, of each but a few copies."""
    wanted = Counter(label for _, label in drafted if label)
    most = {label: count + _MOST_COPIES for label, count in wanted.items()}
    known: list[tuple[int, str]] = []
    for place, label in found:
        if most.get(label, 0) > 0:
            most[label] -= 1
            known.append((place, label))
    return known


def _typed_over(
    drafted: Labels, pairs: dict[int, int], taken: set[int], occupied: Callable[[int], bool]
) -> dict[int, int]:
    """Places without a partner, found by the neighbors that have one."""
    found: dict[int, int] = {}
    paired = [place for place, _ in drafted if place in pairs]
    for place, label in drafted:
        if place in pairs:
            continue
        at = bisect(paired, place)
        before, after = paired[max(at - 1, 0) : at], paired[at : at + 1]
        guesses = {pairs[other] + place - other for other in (*before, *after)}
        if len(guesses) == 2 and label:
            continue  # something was inserted or deleted around it, and nothing says where it is
        sure = len(before) == len(after) == 1 and len(guesses) == 1
        for where in sorted(guesses):
            if where > 0 and where not in taken and (sure or occupied(where)):
                found[place] = where
                break
    return found
