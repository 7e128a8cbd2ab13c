"""What a wrong value follows from: the graph of the Book's formulas, walked only where something differs."""

from __future__ import annotations

import itertools
import re
from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from estimator.boxes.keys import apart
from estimator.errors import Finding
from estimator.workbook.book import Block, Book, Tab

_MANY = 100  # stale values without a cause that are looked into one by one
_NAME = re.compile(r"\{([^{}]+)\}")


class Cause(NamedTuple):
    """A finding, and the cells whose change it is: whatever is computed from them may be wrong because of it."""

    finding: Finding
    keys: frozenset[str] = frozenset()


def keys_of(tab: Tab) -> frozenset[str]:
    """The keys of all cells of a tab; of a block without rows, one without a reference for each column."""
    found = set()
    for part in (tab.head, *tab.blocks):
        found |= {cell.key for row in part.rows for cell in row.cells}
        if not part.rows:
            found |= {f"{part.name}..{column.name}" for column in part.columns}
    return frozenset(found)


def attribute(book: Book, causes: Iterable[Cause], stale: Mapping[str, Finding]) -> list[Finding]:
    """The findings, each with the number of stale values that follow from it; stale values that follow from none of
    them stand by themselves, and a stale value that another one leads to follows from that one.

    stale: by key, the cells whose stored value isn't the one that was worked out; where very many have no cause, they
    are one finding.
    """
    causes = list(causes)
    if not stale:
        return [cause.finding for cause in causes]
    walk = Walk(dependents_of(book))
    found: list[Finding] = []
    left = dict(stale)
    for finding, keys in causes:
        followers = [key for key in walk.reach(keys) if key in left and left.pop(key)]
        found.append(replace(finding, followers=finding.followers + len(followers)) if followers else finding)
    if len(left) > _MANY:
        return [*found, _not_worked_out(left)]
    led_to = walk.led_to(left)
    # Sources first; a ring of stale values has none, and begins where it stands first.
    for key in sorted(left, key=lambda key: key in led_to):
        if key in left:
            finding = left.pop(key)
            followers = [other for other in walk.reach((key,)) if other in left and left.pop(other)]
            found.append(replace(finding, followers=len(followers)))
    return found


def unexplained(book: Book, causes: Iterable[Cause], absent: list[Finding]) -> list[Finding]:
    """The formulas that store nothing and follow from none of the causes."""
    starts = [key for cause in causes for key in cause.keys]
    if not absent or not starts:
        return absent
    followers = set(Walk(dependents_of(book)).reach(starts))
    return [finding for finding in absent if finding.key not in followers]


def _not_worked_out(stale: Mapping[str, Finding]) -> Finding:
    """One finding for many: a program changed boxes and worked nothing out."""
    first = next(iter(stale.values()))
    return replace(first, what=f"{len(stale)} stored values don't follow from the boxes", followers=len(stale) - 1)


def dependents_of(book: Book) -> dict[str, set[str]]:
    """By cell (`block.reference.column`, or `*` for any column of a row) or range (`block:column`, or `*` for any), the
    cells whose formulas name it."""
    found: dict[str, set[str]] = {}
    parsed: dict[str, list[str]] = {}
    for tab in book.tabs:
        for part in (tab.head, *tab.blocks):
            columns = [column.name for column in part.columns]
            previous = ""
            for row in part.rows:
                named = itertools.repeat("") if row.at else columns
                for column, cell in zip(named, row.cells, strict=not row.at):
                    if cell.formula is None:
                        continue
                    names = parsed.get(cell.formula)
                    if names is None:
                        names = parsed[cell.formula] = _NAME.findall(cell.formula)
                    for name in names:
                        for node in _nodes(name, part, row.ref, previous, column, columns):
                            found.setdefault(node, set()).add(cell.key)
                previous = row.ref
    return found


def _nodes(name: str, part: Block, ref: str, previous: str, column: str, columns: list[str]) -> Iterator[str]:
    """What a name in a formula template stands for."""
    block = part.name
    name, _, last = name.partition("..")
    if "~" in name:
        owner, _, first = apart(name.split("~")[0])
        yield f"{owner}:{first}"
    elif "@" in name:
        owner, first = name.split("@")
        yield f"{owner}.{ref}.{first}"
    elif ":" in name:
        owner, first = name.split(":")
        yield f"{owner}:*" if last else f"{owner}:{first}"
    elif name.startswith("|"):
        yield f"{block}.{name[1:]}.{column}"
    elif "." in name:
        owner, reference, _ = apart(name)
        yield f"{owner}.{reference}.*" if last else name
    elif name.startswith("^"):
        yield f"{block}.{previous}.{name[1:]}"
    elif last:
        for item in columns[columns.index(name) : columns.index(last) + 1]:
            yield f"{block}.{ref}.{item}"
    else:
        yield f"{block}.{ref}.{name}"


class Walk:
    """A walk from cells to all that is computed from them. What one walk has passed, no later one passes again."""

    def __init__(self, dependents: Mapping[str, set[str]]) -> None:
        self._dependents = dependents
        self._cells: set[str] = set()
        self._nodes: set[str] = set()

    def reach(self, starts: Iterable[str]) -> Iterator[str]:
        """The cells given, and those computed from them through any number of formulas, that weren't passed before."""
        queue = deque(starts)
        while queue:
            key = queue.popleft()
            if key in self._cells:
                continue
            self._cells.add(key)
            yield key
            for node in _named_by(key):
                if node not in self._nodes:
                    self._nodes.add(node)
                    queue.extend(self._dependents.get(node, ()))

    def led_to(self, starts: Iterable[str]) -> set[str]:
        """The cells whose formulas name one of those given."""
        nodes = {node for key in starts for node in _named_by(key)}
        return {key for node in nodes for key in self._dependents.get(node, ())}


def _named_by(key: str) -> tuple[str, str, str, str]:
    """The names under which a formula may take in a cell."""
    block, reference, column = apart(key)
    return key, f"{block}.{reference}.*", f"{block}:{column}", f"{block}:*"
