"""How commands speak: results on standard output, messages on standard error, 80 columns, plain text.

Text of a file is shown with what can't be printed spelled out, so that no file can steer the terminal.
"""

from __future__ import annotations

import json
import os
import sys
import textwrap
from collections.abc import Iterable
from typing import Any

from estimator.errors import EXIT_CANNOT_WRITE, CannotWrite, EstimatorError

WIDTH = 80
CAUTION = (
    "Work on stored-pressure brakes is for qualified people: release the pressure first, both gauges at zero. Local codes "
    "and licensed practice come before this program. It never says that a car is safe."
)


class ReaderGone(EstimatorError):
    """Whoever read the result has enough of it, as `head` has."""

    exit_status = EXIT_CANNOT_WRITE


def write(text: str) -> None:
    """Write to standard output. Raises ReaderGone, CannotWrite."""
    try:
        sys.stdout.write(text)
    except BrokenPipeError:
        raise ReaderGone from None
    except OSError as error:
        raise CannotWrite(
            "standard output", f"it can't be written: {error.strerror}", "make room, or send it elsewhere"
        ) from None


def out(text: str = "", *, bold: bool = False) -> None:
    """A line of the result; `bold` on a terminal that has it and where NO_COLOR isn't set."""
    text = plain(text)
    able = sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    write((f"\x1b[1m{text}\x1b[22m" if bold and able and text else text) + "\n")


def say(text: str = "") -> None:
    """A line for the person at the terminal."""
    sys.stderr.write(f"{plain(text)}\n")
    sys.stderr.flush()


def out_json(data: Any) -> None:
    """Data as JSON on stdout."""
    write(as_text(data) + "\n")


def as_text(data: Any) -> str:
    """Data as JSON, letters as they are where the receiver takes them."""
    encoding = (sys.stdout.encoding or "").lower().replace("-", "")
    return json.dumps(data, indent=2, ensure_ascii=encoding != "utf8")


def wrapped(text: str, indent: str = "", hanging: str | None = None) -> Iterable[str]:
    """Text in lines of 80 columns; a word that is longer stands on a line of its own."""
    return textwrap.wrap(
        plain(text),
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent if hanging is None else hanging,
        break_long_words=False,
        break_on_hyphens=False,
    ) or [indent]


def columns(rows: Iterable[tuple[str, ...]], right: Iterable[int] = (), indent: str = "") -> list[str]:
    """Rows as a table without lines; columns of figures in `right` are set to the right."""
    rows = [tuple(plain(cell) for cell in row) for row in rows]
    right = set(right)
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))] if rows else []
    return [
        (
            indent
            + "  ".join(
                cell.rjust(width) if place in right else cell.ljust(width)
                for place, (cell, width) in enumerate(zip(row, widths, strict=True))
            )
        ).rstrip()
        for row in rows
    ]


def counted(number: int, one: str, several: str = "") -> str:
    """A number with its noun.

    >>> counted(1, "problem"), counted(3, "problem"), counted(2, "entry", "entries")
    ('1 problem', '3 problems', '2 entries')
    """
    return f"{number} {one}" if number == 1 else f"{number} {several or one + 's'}"


def plain(text: str) -> str:
    r"""Text with what can't be printed spelled out; line breaks stay.

    >>> plain("a\x1b[2Jb")
    'a\\x1b[2Jb'
    """
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() or letter == "\n" else ascii(letter)[1:-1] for letter in text)
