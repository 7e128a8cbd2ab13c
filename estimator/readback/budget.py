"""How much a workbook may ask of the program that reads it, in bytes, pieces and seconds."""

from __future__ import annotations

import time
from pathlib import Path

from estimator.errors import UnreadableFile

MIB = 1024 * 1024

# What is counted -> how much of it one workbook may hold. A workbook of this program has 15,000 to 50,000 cells.
LIMITS = {
    "bytes in the file": 64 * MIB,
    "parts": 2_000,
    "bytes when unpacked": 512 * MIB,
    "bytes of markup": 64 * MIB,
    "bytes of text in memory": 96 * MIB,
    "relationships": 70_000,
    "tabs": 250,
    "XML elements": 450_000,
    "cells, with or without content": 600_000,
    "cells with content": 150_000,
    "shared texts": 200_000,
    "formulas shared between cells": 60_000,
    "characters in formulas that are shared": 250_000,
    "references in shared formulas": 500_000,
    "characters in all the shares": 16 * MIB,
    "comments": 10_000,
    "merged ranges": 20_000,
    "cells in merged ranges": 4_000_000,
    "cells of formulas for many cells": 4_000_000,
    "characters in formulas that aren't as drafted": 8 * MIB,
    "cell formats": 65_490,
    "defined names": 10_000,
}
SECONDS = 6.0  # of the processor's time; the limits above keep it under 2 on a machine that reads 50,000 cells in 0.3
LONGEST_FORMULA = 16_384  # characters; spreadsheet programs allow 8,192
RATIO, RATIO_FROM = 300, MIB  # how many times its packed size a part may hold, from this size on

TOO_BIG = (
    "an estimate needs far less: if you don't know where the file comes from, don't open it; otherwise delete "
    "what was added in a spreadsheet program, save, and try again"
)
DAMAGED = "take the last good copy, or open it in a spreadsheet program, let that repair it, save it and try again"


class Budget:
    """Counts what the reading of one workbook has used, and refuses what goes past LIMITS.

    >>> Budget(Path("a.xlsx")).spend("tabs", 251)
    Traceback (most recent call last):
    estimator.errors.UnreadableFile: a.xlsx · it holds more than 250 tabs · an estimate needs far less: ...
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.used = dict.fromkeys(LIMITS, 0)
        self.started = time.thread_time()

    def spend(self, what: str, amount: int = 1) -> None:
        """Count `amount` more of `what`, a key of LIMITS. Raises UnreadableFile, rule `over-size`, past the limit."""
        used = self.used[what] = self.used[what] + amount
        if used > LIMITS[what]:
            raise self.over_size(f"it holds more than {LIMITS[what]:,} {what}")

    def check_time(self) -> None:
        """Raise UnreadableFile, rule `over-size`, when the reading has taken more than SECONDS."""
        if time.thread_time() - self.started > SECONDS:
            raise self.over_size(f"reading it takes more than {SECONDS:g} s")

    def over_size(self, what: str) -> UnreadableFile:
        """The refusal of a workbook that asks too much."""
        return UnreadableFile(self.path, what, TOO_BIG, rule="over-size")

    def damaged(self, what: str) -> UnreadableFile:
        """The refusal of a workbook whose inside contradicts itself or the standard."""
        return UnreadableFile(self.path, f"damaged: {what}", DAMAGED)


def one_line(text: str, length: int = 60) -> str:
    """Text out of a file, fit for a message: printable, on one line, shortened.

    >>> one_line("a\\nb")
    'a?b'
    """
    if len(text) > length:
        text = text[: length - 1] + "…"
    return "".join(letter if letter.isprintable() else "?" for letter in text)
