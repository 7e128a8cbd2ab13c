"""How commands speak: results on standard output, messages on standard error, 80 columns, plain text.

Text of a file is shown with what can't be printed spelled out, so that no file can steer the terminal.
"""

from __future__ import annotations

import json
import math
import os
import sys
import textwrap
from collections.abc import Iterable
from typing import Any

from estimator.errors import EXIT_CANNOT_WRITE, CannotWrite, EstimatorError

WIDTH = 80
CAUTION = (
    "WARNING: Stored-pressure brakes are for qualified people only. Depressurize first: both gauges at zero, each bleeder "
    "opened into a hose. Lamps do not prove zero. Repeat after every engine run. The gas side stays charged. Never feel "
    "for a leak. Local codes and licensed practice come first. This program never states that a car is safe."
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
            "standard output", f"cannot be written: {error.strerror}", "make room, or send it elsewhere"
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


def wrapped(text: str, indent: str = "", hanging: str | None = None, *, broken: bool = False) -> Iterable[str]:
    """Text in lines of 80 columns; a word that is longer has a line of its own, or is broken."""
    return textwrap.wrap(
        plain(text),
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent if hanging is None else hanging,
        break_long_words=broken,
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


def figure(value: float, digits: int) -> str:
    """A number with so many digits, thousands apart, never in powers of ten.

    >>> figure(14134000.4, 5), figure(0.0000012345678, 5), figure(12.5, 5)
    ('14,134,000', '0.0000012346', '12.5')
    """
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value)))) if value else 0
    text = f"{value:,.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def plain(text: str) -> str:
    r"""Text with what can't be printed spelled out; line breaks stay.

    >>> plain("a\x1b[2Jb")
    'a\\x1b[2Jb'
    """
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() or letter == "\n" else ascii(letter)[1:-1] for letter in text)
