"""Which altered cell a wrong value follows from: the graph of the Book's formulas, walked only where something differs."""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import replace

from estimator.errors import Finding
from estimator.workbook.book import Layout, split_key

_NAME = re.compile(r"\{([^{}]+)\}")
_CAUSES = ("formula-replaced", "formula-changed", "input-changed")


def attribute(layout: Layout, findings: Iterable[Finding], stale: Mapping[str, Finding]) -> list[Finding]:
    """Findings with the number of stale values that follow from each; stale values with no cause stand by themselves.

    A stale value that another stale value leads to follows from that one. `stale` is by key.
    """
    kept = list(findings)
    if not stale:
        return kept
    dependents = _dependents(layout)
    explained: set[str] = set()
    for number, finding in enumerate(kept):
        if finding.rule in _CAUSES:
            reached = _reached(finding.key, dependents, stale) - explained
            explained |= reached
            kept[number] = replace(finding, followers=len(reached))
    left = [key for key in stale if key not in explained]
    roots = [key for key in left if not _led_to(key, left, dependents)]
    for key in roots or left[:1]:
        reached = _reached(key, dependents, stale) - explained - {key}
        explained |= reached | {key}
        kept.append(replace(stale[key], followers=len(reached)))
    for key in left:
        if key not in explained:
            kept.append(stale[key])
    return kept


def _dependents(layout: Layout) -> dict[str, set[str]]:
    """By cell or range (`block:column`), the cells whose formulas name it."""
    found: dict[str, set[str]] = {}
    for tab in layout.book.tabs:
        for part in (tab.head, *tab.blocks):
            names = [column.name for column in part.columns]
            previous = ""
            for row in part.rows:
                for cell in row.cells:
                    for match in _NAME.finditer(cell.formula or ""):
                        for node in _nodes(match[1], part.name, row.ref, previous, split_key(cell.key)[2], names):
                            found.setdefault(node, set()).add(cell.key)
                previous = row.ref
    return found


def _nodes(name: str, block: str, ref: str, previous: str, column: str, columns: list[str]) -> list[str]:
    name, _, last = name.partition("..")
    if ":" in name:
        owner, first = name.split(":")
        return [f"{owner}:{first}", f"{owner}:*"] if last else [f"{owner}:{first}"]
    if name.startswith("|"):
        return [f"{block}.{name[1:]}.{column}"]
    if "." in name:
        owner, reference, first = split_key(name)
        return [f"{owner}.{reference}.*"] if last else [name]
    if name.startswith("^"):
        return [f"{block}.{previous}.{name[1:]}"]
    if last:
        start, end = columns.index(name), columns.index(last)
        return [f"{block}.{ref}.{item}" for item in columns[start : end + 1]]
    return [f"{block}.{ref}.{name}"]


def _next(key: str, dependents: Mapping[str, set[str]]) -> set[str]:
    block, reference, column = split_key(key)
    found: set[str] = set()
    for node in (key, f"{block}:{column}", f"{block}:*", f"{block}.{reference}.*"):
        found |= dependents.get(node, set())
    return found


def _reached(start: str, dependents: Mapping[str, set[str]], stale: Mapping[str, Finding]) -> set[str]:
    """All stale cells to which a change at `start` leads, through any formulas."""
    seen = {start}
    queue = deque([start])
    while queue:
        for key in _next(queue.popleft(), dependents):
            if key not in seen:
                seen.add(key)
                queue.append(key)
    return {key for key in seen if key in stale and key != start}


def _led_to(key: str, others: Iterable[str], dependents: Mapping[str, set[str]]) -> bool:
    return any(key in _next(other, dependents) for other in others if other != key)
