"""A mistake of what people wrote, before it is put to its file, and the words that such mistakes share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from estimator.errors import nearest
from estimator.intake.model_errors import choices


class Wrong(NamedTuple):
    """A mistake and its place in its file."""

    place: str
    found: str
    allowed: str
    fix: str = ""


def at(table: str, index: int, key: str = "") -> str:
    """A place in a list of tables, counted from 0.

    >>> at("brakes", 2, "bore")
    '[[brakes]] number 3, key "bore"'
    """
    return f"[[{table}]] number {index + 1}" + (f', key "{key}"' if key else "")


def doubled(table: str, key: str, ids: Iterable[str]) -> Iterator[Wrong]:
    """Each id of a list of tables that stood there before."""
    first: dict[str, int] = {}
    for index, name in enumerate(ids):
        earlier = first.setdefault(name, index)
        if earlier != index:
            found = f'"{name}" stands twice'
            yield Wrong(
                at(table, index, key), found, f"number {earlier + 1} has it already", "give this one another id"
            )


def unknown(place: str, name: str, known: Iterable[str], what: str) -> Wrong:
    """An id that names nothing."""
    known = list(known)
    listed = f"{what}: {choices(known)}" if 0 < len(known) <= 12 else f"use an id of {what}"
    return Wrong(place, f'"{name}" names nothing{nearest(name, known)}', listed, "correct the id or add what it names")
