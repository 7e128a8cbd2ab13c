"""`estimator start`: a folder that a workshop can begin with."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from estimator.cli.output import out, say

EXAMPLES = ("estimator start shop",)


def start(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder (created if needed).")],
    force: Annotated[bool, typer.Option("--force", help="Overwrite existing files.")] = False,
) -> int:
    """Write files to begin with, each field explained beside it.

    Shop, two cars (glycol with a pedal circuit, mineral oil with leveling), their jobs, a car of which little is known,
    entries, labor tables, authorization rules.
    """
    from estimator.demo.start_files import write_start_files

    for path in write_start_files(folder, force=force):
        out(str(path))
    say(f"next: enter your own figures in {folder / 'shop.toml'}, then: estimator draft {folder / 'job.toml'}")
    return 0
