"""Rows of figures as data: a table of Row a file, its formulas in symbols that a place fills in."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass
from string import Template
from typing import NamedTuple

from estimator.facts.load_facts import sources

CANNOT = "not known"
_NAME = re.compile(r"\{([^{}]+)\}")


@dataclass(frozen=True)
class Row:
    """A figure: what it is, its one formula, the unit in which the shop sees it, and where it comes from.

    In every text `$name` stands for what `Scope.add` was given by that name: a place, a phase, a pressure. In the
    expression `{name}` is a row of the same scope and `{scope:name}` one of another; values are in SI units. Where it
    can't be worked out the row says so (IFERROR), so an expression needs no guard of its own: only where it would pass
    over words (IF, MAX, SUM and the like) does `guarded` name, with spaces between, the rows that may hold them.

    sources: keys of facts/sources.toml, with spaces between. valid: where the formula holds, in words. status: what
    kind of number it is. plain: the expression is left bare, since it gives words or a number whatever it meets.
    without: with spaces between, the rows that it can do without where the car's data for them are missing; a row that
    names any other such row or datum isn't known either.
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
    without: str = ""


@functools.cache
def _template(text: str) -> Template:
    return Template(text)


def filled(text: str, given: Mapping[str, str]) -> str:
    """Return a text of a row with each `$name` filled in. Raises KeyError for a name that wasn't given.

    >>> filled("p left $phase", {"phase": "before"})
    'p left before'
    """
    return _template(text).substitute(given) if "$" in text else text


def cite(*keys: str) -> str:
    """Return the titles of sources by their keys in facts/sources.toml. Raises KeyError for a key without a source."""
    return "; ".join(sources()[key].title for key in keys)


class Written(NamedTuple):
    """The texts of a row at its place, every name as a key of the Book."""

    name: str
    symbol: str
    title: str
    expression: str
    bare: str
    unit: str
    source: str
    status: str
    valid: str


@functools.lru_cache(maxsize=1 << 14)
def written(row: Row, scope: str, given: tuple[tuple[str, str], ...], missing: tuple[str, ...] = ()) -> Written:
    """The texts of a row in a scope, filled in; its expression says so where it can't be worked out.

    `missing` are keys in it that hold words for want of a datum: they are guarded like the rows that `guarded` names.
    """
    values = dict(given)
    name, symbol, title, unit, status, valid = (
        filled(one, values) for one in (row.name, row.symbol, row.title, row.unit, row.status, row.valid)
    )
    bare = _full(filled(row.expression, values), scope)
    guarded = [f"{{{key}}}" for key in dict.fromkeys((*_keys(row.guarded, scope, values), *missing))]
    expression = bare
    if row.plain and guarded:
        counted = ",".join(guarded)
        expression = f'IF(COUNT({counted})<COUNTA({counted}),"{CANNOT}",{bare})'
    elif not row.plain:
        checked = f"{bare}+0*({'+'.join(guarded)})" if guarded else bare
        expression = f'IFERROR({checked},"{CANNOT}")'
    source = cite(*filled(row.sources, values).split())
    return Written(name, symbol, title, expression, bare, unit, source, status, valid)


def dispensable(row: Row, scope: str, given: Mapping[str, str]) -> frozenset[str]:
    """The keys of the rows that a row can do without."""
    return frozenset(_keys(row.without, scope, given))


def _keys(names: str, scope: str, given: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(_full(f"{{{one}}}", scope)[1:-1] for one in filled(names, given).split())


def _full(expression: str, scope: str) -> str:
    """The expression with every name as a key of the Book."""

    def full(match: re.Match[str]) -> str:
        name = match[1]
        if name.startswith(("datum.", "fact.")):
            return f"{{{name}.si}}"
        if name.startswith("constant."):
            return f"{{{name}.value}}"
        if "." in name:
            return match[0]
        other, _, own = name.rpartition(":")
        return f"{{working.{other or scope}.{own}.si}}"

    return _NAME.sub(full, expression)
