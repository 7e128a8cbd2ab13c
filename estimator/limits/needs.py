"""The data that a figure waits for, as car.toml calls them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

_NAMED = 2


class Need(NamedTuple):
    """A datum that car.toml doesn't give: its table, its key, and where on the car ("" where there is one alone)."""

    table: str
    key: str
    where: str = ""

    @classmethod
    def of(cls, written: str, scope: str = "") -> Need:
        """Return the need of a datum by its table and key, and the scope that it has among the working rows.

        A table in single brackets stands once in a car, and a whole table has no place: their scope says nothing more.

        >>> Need.of("[[systems]] cut_out", "system-1")
        Need(table='[[systems]]', key='cut_out', where='system 1')
        >>> Need.of("[body] mass", "body")
        Need(table='[body]', key='mass', where='')
        """
        table, _, key = written.partition(" ")
        placed = key and (table.startswith("[[") or "." in table)
        return cls(table, key, scope.replace("-", " ") if placed else "")

    @property
    def words(self) -> str:
        """As a person reads it: where to write it, what, and for which place."""
        return " ".join(part for part in (self.table, self.key, f"({self.where})" if self.where else "") if part)


def needs_words(needs: Iterable[Need]) -> str:
    """Return data in words, those of the same places together; "" for none.

    >>> needs_words([Need("[[systems]]", "cut_out", "system 1"), Need("[[systems]]", "lamp", "system 1")])
    '[[systems]] cut_out, lamp (system 1)'
    """
    places: dict[tuple[str, str], list[str]] = {}
    for need in sorted(needs):
        places.setdefault((need.table, need.key), []).append(need.where)
    keys: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for (table, key), where in places.items():
        keys.setdefault((table, tuple(where)), []).append(key)
    return "; ".join(_together(table, listed, where) for (table, where), listed in keys.items())


def _together(table: str, keys: list[str], where: tuple[str, ...]) -> str:
    places = ", ".join(where) if len(where) <= _NAMED else f"{len(where)} places"
    return Need(table, ", ".join(keys), places).words
