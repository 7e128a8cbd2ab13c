"""Shares of what the maker gives below which no computed limit of danger goes."""

from __future__ import annotations

from estimator.limits.rows.common_rows import once
from estimator.limits.rows.methods import Context

FLOORS = "floors"
_SOURCE = "ours; common practice, no source (shop file, [floors])"


@once
def floor_rows(context: Context) -> None:
    """`precharge` and `applications` in a scope of their own: shares, at least one half."""
    rows, floors = context.workings.scope(FLOORS), context.record.shop.floors
    for name, words, share in (
        ("precharge", "the manufacturer's precharge", floors.precharge),
        ("applications", "the applications expected as its manufacturer sets it", floors.applications),
    ):
        title = f"do-not-drive share of {words}"
        rows.datum(name, f"share {name}", title, share, "%", _SOURCE, "common-practice")
