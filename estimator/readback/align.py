"""Labels as drafted against labels as found: what went where, what is gone, what stands twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from difflib import SequenceMatcher

Labels = Sequence[tuple[int, str]]  # places, ascending, each with its label
_MOST_COPIES = 20


def aligned(drafted: Labels, found: Labels, occupied: Callable[[int], bool]) -> tuple[dict[int, int], list[int]]:
    """Place as drafted -> place as found, 0 for what is gone; and the places of labels found once too often.

    Labels in their old order are paired first, then those that went elsewhere. A label that was typed over is where its
    neighbors say; at either end, where the sheet is `occupied`.

    >>> aligned([(1, "a"), (2, "b"), (3, "c")], [(1, "a"), (3, "x"), (4, "c")], lambda place: True)
    ({1: 1, 3: 4, 2: 0}, [])
    """
    wanted = Counter(label for _, label in drafted)
    most = {label: count + _MOST_COPIES for label, count in wanted.items()}
    known: list[tuple[int, str]] = []
    for place, label in found:
        if most.get(label, 0) > 0:
            most[label] -= 1
            known.append((place, label))
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


def _typed_over(
    drafted: Labels, pairs: dict[int, int], taken: set[int], occupied: Callable[[int], bool]
) -> dict[int, int]:
    """Labels without a partner whose neighbors stand as far apart as they were drafted."""
    places = [place for place, _ in drafted]
    found: dict[int, int] = {}
    for number, place in enumerate(places):
        if place in pairs:
            continue
        before = next((other for other in reversed(places[:number]) if other in pairs), None)
        after = next((other for other in places[number + 1 :] if other in pairs), None)
        if before is not None and after is not None:
            if pairs[after] - pairs[before] != after - before:
                continue
            where = pairs[before] + place - before
        elif before is not None or after is not None:
            anchor = before if before is not None else after
            assert anchor is not None
            where = pairs[anchor] + place - anchor
            if where < 1 or not occupied(where):
                continue
        else:
            continue
        if where not in taken:
            found[place] = where
    return found
