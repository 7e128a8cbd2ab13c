"""`estimator start`: a folder that a workshop can begin with."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from estimator.cli.output import out, say

EXAMPLES = ("estimator start shop", "estimator start own --units metric --dates 25.11.2026")


def start(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder (created if needed).")],
    units: Annotated[
        str, typer.Option("--units", metavar="us|metric", help="Units of every form (default: psi, ft, mm, °C).")
    ] = "",
    dates: Annotated[
        str,
        typer.Option(
            "--dates",
            metavar="DATE",
            help="How you write November 25, 2026: 2026-11-25, 11/25/2026, 25/11/2026, 25.11.2026.",
        ),
    ] = "",
    force: Annotated[bool, typer.Option("--force", help="Overwrite existing files.")] = False,
) -> int:
    """Write files to begin with, each field explained beside it.

    Shop, two cars (glycol with a pedal circuit, mineral oil with leveling), their jobs, a car of which little is known,
    entries, labor tables, authorization rules.
    """
    from estimator.demo.start_files import UNITS, write_start_files
    from estimator.records.shop import DATE_PATTERNS

    for option, given, allowed in (("--units", units, UNITS), ("--dates", dates, DATE_PATTERNS)):
        if given and given not in allowed:
            raise typer.BadParameter(f'"{given}" is not one of {", ".join(allowed)}', param_hint=option)
    for path in write_start_files(folder, force=force, units=units or "demo", dates=dates):
        out(str(path))
    say(f"next: enter your own figures in {folder / 'shop.toml'}, then: estimator new {folder}")
    return 0
