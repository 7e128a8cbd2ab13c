"""Rows of figures as data: a table of Row a file, its formulas in symbols that a place fills in."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from string import Template

from estimator.facts.load_facts import sources


@dataclass(frozen=True)
class Row:
    """A figure: what it is, its one formula, the unit in which the shop sees it, and where it comes from.

    In every text `$name` stands for what `Scope.add` was given by that name: a place, a phase, a pressure. In the
    expression `{name}` is a row of the same scope and `{scope:name}` one of another; values are in SI units. Where it
    can't be worked out the row says so (IFERROR), so an expression needs no guard of its own: only where it would pass
    over words (IF, MAX, SUM and the like) does `guarded` name, with spaces between, the rows that may hold them.

    sources: keys of facts/sources.toml, with spaces between. valid: where the formula holds, in words. status: what
    kind of number it is. plain: the expression is left bare, since it gives words or a number whatever it meets.
    """

    name: str
    symbol: str
    title: str
    expression: str
    unit: str
    sources: str = ""
    valid: str = ""
    status: str = "computed"
    guarded: str = ""
    plain: bool = False


@functools.cache
def _template(text: str) -> Template:
    return Template(text)


def filled(text: str, given: dict[str, str]) -> str:
    """Return a text of a row with each `$name` filled in. Raises KeyError for a name that wasn't given.

    >>> filled("p left $phase", {"phase": "before"})
    'p left before'
    """
    return _template(text).substitute(given) if "$" in text else text


def cite(*keys: str) -> str:
    """Return the titles of sources by their keys in facts/sources.toml. Raises KeyError for a key without a source."""
    return "; ".join(sources()[key].title for key in keys)
