"""Widths of printed text in Calibri (Carlito has the same), so that lines are broken where they end."""

from __future__ import annotations

import unicodedata

# The widths of the letters from space to tilde, in hundredths of the type size; and of others.
_REGULAR = (
    "23 33 40 50 51 71 68 22 30 30 50 50 25 31 25 39 51 51 51 51 51 51 51 51 51 51 27 27 50 50 50 46 "
    "89 58 54 53 62 49 46 63 62 25 32 52 42 85 65 66 52 67 54 46 49 64 57 89 52 49 47 31 39 31 50 50 "
    "29 48 53 42 53 50 31 47 53 23 24 45 23 80 53 53 53 53 35 39 33 53 45 71 43 45 40 31 46 31 50 "
)
_BOLD = (
    "23 33 44 50 51 73 70 23 31 31 50 50 26 31 27 43 51 51 51 51 51 51 51 51 51 51 28 28 50 50 50 46 "
    "90 61 56 53 63 49 46 64 63 27 33 55 42 87 66 68 53 69 56 47 50 65 59 91 55 52 48 32 43 32 50 50 "
    "30 49 54 42 54 50 32 47 54 25 26 48 25 81 54 54 54 54 36 40 35 54 47 75 46 47 40 34 48 34 50 "
)
_OTHERS = {"\u00a0": 23, "·": 26, "–": 50, "’": 25, "“": 43, "”": 43, "≥": 50, "≤": 50, "×": 50, "°": 34, "²": 34}
_WIDE, _HUNDREDTHS, _PIXELS = 92, 100, 96 / 72
_WIDTHS = {
    bold: _OTHERS | {chr(32 + at): int(width) for at, width in enumerate(table.split())}
    for bold, table in ((False, _REGULAR), (True, _BOLD))
}


def text_width(text: str, points: float, *, bold: bool = False) -> float:
    """Return the width of a text in pixels of 1/96 inch, to one per cent. points: the size of its type.

    >>> round(text_width("Estimate", 10.5)), round(text_width("Estimate", 10.5, bold=True))
    (50, 51)
    """
    widths = _WIDTHS[bold]
    letters = (letter for letter in unicodedata.normalize("NFD", text) if not unicodedata.combining(letter))
    return sum(widths.get(letter, _WIDE) for letter in letters) / _HUNDREDTHS * points * _PIXELS


def text_lines(text: str, pixels: float, points: float, *, bold: bool = False) -> list[str]:
    """Return the lines of a text in a column of so many pixels, broken at spaces, and in a word that has no room on a line.

    >>> text_lines("Free a seized bolt or fitting", 110, 10.5)
    ['Free a seized bolt', 'or fitting']
    """
    lines: list[str] = []
    for part in text.split("\n"):
        line = ""
        for word in (piece for whole in part.split(" ") for piece in _pieces(whole, pixels, points, bold)):
            longer = f"{line} {word}" if line else word
            if line and text_width(longer, points, bold=bold) > pixels:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(line)
    return lines


def _pieces(word: str, pixels: float, points: float, bold: bool) -> list[str]:
    """A word, in pieces that have room on a line."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and text_width(pieces[-1] + letter, points, bold=bold) > pixels:
            pieces.append("")
        pieces[-1] += letter
    return pieces
