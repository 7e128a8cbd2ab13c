"""`estimator demo`: the whole job on an invented car, in a folder to look at."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from estimator.cli.words import CAUTION, out, say, wrapped

EXAMPLES = ("estimator demo --out demo",)


def demo(
    folder: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Where its files go; made if it isn't there.")
    ] = Path("demo"),
    force: Annotated[bool, typer.Option("--force", help="Write over files that are there already.")] = False,
) -> int:
    """Run the main job on an invented shop, car and customer, and tell what to look at.

    Drafts the workbook, fills in readings, decisions and consents, the readings after work and the road test, checks
    each step, and posts the end to a books folder.
    """
    from estimator.demo.scenario import run_demo

    say("An invented job of an invented workshop; hours and prices are invented for the demo.")
    for stop in run_demo(folder, force=force):
        out(str(stop.path), bold=True)
        for text in (stop.what, f"for: {stop.who}", f"look at: {stop.look}"):
            for line in wrapped(text, "  ", "    "):
                out(line)
        for change in stop.changes:
            for line in wrapped(f"{change.difference:+}  {change.title}: {change.why}", "    ", "      "):
                out(line)
    say()
    for line in wrapped(CAUTION):
        say(line)
    say(f"next: estimator check {folder}")
    return 0
