"""Who acts, and with which key, as commands take it. A key is never printed, logged or written."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from estimator.cli.output import say

if TYPE_CHECKING:
    from estimator.workbook.seal import SealKey

KeyFile = Annotated[
    Path | None,
    typer.Option(
        "--seal",
        metavar="KEYFILE",
        help="Shop key file (default: the key in ESTIMATOR_SEAL_KEY; without either, no seal).",
    ),
]
Who = Annotated[str | None, typer.Option("--who", metavar="NAME", help="Who posts (default: your user name).")]


def name_of(who: str | None) -> str:
    """Who does it: the name given, else the user's."""
    import getpass

    return who or getpass.getuser()


def key_from(file: Path | None) -> SealKey | None:
    """The key that a file or the environment holds, or none; how it is kept is warned about."""
    from estimator.workbook.seal import seal_key

    key = seal_key(file)
    if key is not None and key.warning:
        say(key.warning)
    return key


def say_unsealed(seal: str, key: SealKey | None) -> None:
    """Say so where a sealed workbook leads to one that isn't."""
    if key is None and seal.startswith("sealed"):
        say("Warning: no key given; the new workbook will not be sealed. To seal it, add --seal KEYFILE.")
