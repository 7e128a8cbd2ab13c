"""Widths of printed text in Calibri (Carlito has the same), so that lines are broken where they end."""

from __future__ import annotations

import unicodedata

# Letters by their width in fiftieths of the type size, rounded up; those not named are taken for wide ones.
_REGULAR = {12: " \u00a0'ijl’", 13: ",.I·", 14: ":;", 15: "`", 16: "()-J[]f{}", 17: "!t", 18: "r°²", 20: "/\\sz", 21: '"“”'} | {
    22: "Lcx", 23: "FSkvy", 24: "?Zag|", 25: "#*+<=>ETY^_e~–≤≥×", 26: "$0123456789KPX", 27: "Cbdhnopqu", 28: "BR", 29: "AV"
}  # fmt: skip
_BOLD = {12: " \u00a0'", 13: ",ijl’", 14: ".:;I·", 16: "()-`f", 17: "!J[]", 18: "rt{}°²", 20: "sz", 21: "c", 22: '"/L\\“”'} | {
    23: "Fx", 24: "?SZgkvy|", 25: "#*+<=>ET^_a~–≤≥×", 26: "$0123456789Ye", 27: "CPbdhnopqu", 28: "KX", 29: "BR", 31: "A"
}  # fmt: skip
_REGULAR |= {31: "D", 32: "GH", 33: "NU", 34: "OQ", 36: "%w&", 40: "m", 43: "M", 45: "@W"}
_BOLD |= {30: "V", 32: "DGH", 33: "NU", 34: "O", 35: "Q", 38: "w%&", 41: "m", 44: "M", 46: "W@"}
_WIDTHS = {bold: {letter: width for width, letters in table.items() for letter in letters}
           for bold, table in ((False, _REGULAR), (True, _BOLD))}  # fmt: skip
_WIDE, _FIFTIETHS, _PIXELS = 46, 50, 96 / 72


def text_width(text: str, points: float, *, bold: bool = False) -> float:
    """Return the width of a text in pixels of 1/96 inch, at most some hundredths too wide. points: the size of its type.

    >>> round(text_width("Estimate", 10.5)), round(text_width("Estimate", 10.5, bold=True))
    (50, 52)
    """
    widths = _WIDTHS[bold]
    letters = (letter for letter in unicodedata.normalize("NFD", text) if not unicodedata.combining(letter))
    return sum(widths.get(letter, _WIDE) for letter in letters) / _FIFTIETHS * points * _PIXELS


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
