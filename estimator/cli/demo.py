"""`estimator demo`: the whole job on an invented car, in a folder to look at."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.output import CAUTION, counted, out, say, wrapped

if TYPE_CHECKING:
    from estimator.readback.price_changes import PriceChange

_MOST_CHANGES = 5
EXAMPLES = ("estimator demo --out demo",)


def demo(
    folder: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Folder for its files (created if needed).")
    ] = Path("demo"),
    force: Annotated[bool, typer.Option("--force", help="Overwrite existing files.")] = False,
) -> int:
    """Run the whole job on an invented car, and say what to look at.

    Writes the files of an invented shop, drafts the workbook, fills in readings, decisions and authorizations, the
    readings after work and the road test, checks each step, and posts the result to a books folder.
    """
    from estimator.demo.scenario import run_demo

    say("Everything here is invented for the demo: shop, car, job, hours and prices.")
    for stop in run_demo(folder, force=force):
        out(str(stop.path), bold=True)
        for text in (stop.what, f"for: {stop.who}", f"look at: {stop.look}"):
            for line in wrapped(text, "  ", "    "):
                out(line)
        _print_changes(stop.changes)
    say()
    for line in wrapped(CAUTION):
        say(line)
    say(f"next: estimator check {folder}")
    return 0


def _print_changes(changes: Sequence[PriceChange]) -> None:
    """The changes of the quote that matter most, and what the others come to together."""
    most = sorted(changes, key=lambda change: -abs(change.difference))[:_MOST_CHANGES]
    for change in most:
        for line in wrapped(f"{change.difference:+}  {change.title}: {change.why}", "    ", "      "):
            out(line)
    if len(changes) > len(most):
        rest = sum((change.difference for change in changes if change not in most), Decimal(0))
        out(f"    {rest:+}  {counted(len(changes) - len(most), 'other line')} of the estimate together")
