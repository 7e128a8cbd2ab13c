"""How cells of a form look, by name: type sizes, alignment, and the lines and fills of whole rows."""

from __future__ import annotations

from typing import Any

BAND_FILL = "#E3E6E9"
BOX_FILL = "#FCF7E6"
SOFT = "#404040"
THICK, MEDIUM, THIN, HAIR = 5, 2, 1, 7

_BASE: dict[str, Any] = {"font_name": "Calibri", "font_size": 10.5, "valign": "vcenter"}
_WORDS: dict[str, Any] = {"num_format": "@"}
_RIGHT, _CENTER, _BOLD = {"align": "right"}, {"align": "center"}, {"bold": True}
# The number format of each way in which a shop writes November 25, 2026.
DATE_CODES = {
    "2026-11-25": "yyyy-mm-dd",
    "11/25/2026": "mm/dd/yyyy",
    "25/11/2026": "dd/mm/yyyy",
    "25.11.2026": "dd.mm.yyyy",
}
MONEY = '#,##0.00;-#,##0.00;"–"'
# A code of its own, for a program that meets "General" takes 1/2 for a day; 0.## shows a whole number as "11." in some.
AS_TYPED = "General;-General;0"

_LOOKS: dict[str, dict[str, Any]] = {
    "text": _WORDS,
    "words": {},
    "shop": _WORDS | {"font_size": 20} | _BOLD,
    "page-title": _WORDS | {"font_size": 16} | _BOLD,
    "state-big": {"font_size": 26, "indent": 1} | _BOLD,
    "state-mid": {"font_size": 16, "indent": 1} | _BOLD,
    "b105": _BOLD,
    "t105": {},
    "i105": {"italic": True},
    "b10": {"font_size": 10} | _BOLD,
    "b95": {"font_size": 9.5} | _BOLD,
    "b95-wrap": {"font_size": 9.5, "text_wrap": True} | _BOLD,
    "b10-wrap": {"font_size": 10, "text_wrap": True} | _BOLD,
    "t9-in": {"font_size": 9, "text_wrap": True, "indent": 1},
    "t9-wrap": {"font_size": 9, "text_wrap": True},
    "t95": {"font_size": 9.5},
    "t9": {"font_size": 9},
    "t9-soft": {"font_size": 9, "font_color": SOFT},
    "b9": {"font_size": 9} | _BOLD,
    "b9-in": {"font_size": 9, "indent": 1} | _BOLD,
    "t105-center": _CENTER,
    "b9-center": {"font_size": 9} | _BOLD | _CENTER,
    "b9-right": {"font_size": 9} | _BOLD | _RIGHT,
    "t9-right": {"font_size": 9} | _RIGHT,
    "t95-right": {"font_size": 9.5} | _RIGHT,
    "b105-right": _BOLD | _RIGHT,
    "no": {"align": "left"} | _BOLD,
    "no-right": {"num_format": "0"} | _BOLD | _RIGHT,
    "check": {"text_wrap": True} | _BOLD,
    "limit": {"font_size": 9, "text_wrap": True},
    "unit": {"font_size": 9},
    "verdict": {"font_size": 9, "text_wrap": True},
    "link": {"font_size": 9.5, "underline": 1, "font_color": "#000080"},
    "hours-10": {"num_format": '0.00;-0.00;"–"', "font_size": 10} | _RIGHT,
    "hours-b": {"num_format": "0.00"} | _BOLD | _RIGHT,
    "quantity": {"num_format": AS_TYPED, "font_size": 9} | _RIGHT,
    "money-9": {"num_format": MONEY, "font_size": 9} | _RIGHT,
    "money-b10": {"num_format": MONEY, "font_size": 10} | _BOLD | _RIGHT,
    "money-105": {"num_format": MONEY} | _RIGHT,
    "money-b105": {"num_format": MONEY} | _BOLD | _RIGHT,
    "whole-105": {"num_format": "0"} | _RIGHT,
    "total-mid": {"num_format": MONEY, "font_size": 14} | _BOLD | _RIGHT,
    "total-framed": {"num_format": MONEY, "font_size": 14, "indent": 1} | _BOLD | _RIGHT,
    **{f"date {dates}": {"num_format": code, "align": "left", "indent": 1} for dates, code in DATE_CODES.items()},
    **{f"date-left {dates}": {"num_format": code, "align": "left"} for dates, code in DATE_CODES.items()},
    **{
        f"date-paper {dates}": {"num_format": code, "align": "left", "fill": True} for dates, code in DATE_CODES.items()
    },
    "entry": {"font_size": 11, "text_wrap": True, "indent": 1},
    "entry-center": {"font_size": 11} | _CENTER,
    "entry-words": {"font_size": 11, "text_wrap": True} | _CENTER,
    "entry-small": {"font_size": 9, "indent": 1},
    "note": {"font_size": 9.5, "valign": "top", "indent": 1, "wide": True},
    "quantity-box": {"num_format": AS_TYPED} | _RIGHT,
    "hours-box": {"num_format": "0.00"} | _RIGHT,
    "money-box": {"num_format": "#,##0.00"} | _RIGHT,
    "reading": {"num_format": AS_TYPED, "font_size": 13, "indent": 1} | _BOLD | _RIGHT,
    "reading-whole": {"num_format": "#,##0", "font_size": 13, "indent": 1} | _BOLD | _RIGHT,
    "entry-wide": {"font_size": 11, "indent": 1, "wide": True},
    "small-wide": {"font_size": 9, "indent": 1, "wide": True},
    "box": {"fill": True},
    "box-end": {"fill": True, "end": True},
    "paper": {"fill": True},
}

# The columns of an inspection at which a half begins.
_DIVIDED = (3, 7)
# What a row's line does to all of its cells: the edges above and below, the fill, the frame at its ends.
_LINES: dict[str, dict[str, Any]] = {
    "": {},
    "thick": {"bottom": THICK},
    "thin": {"bottom": THIN},
    "hair": {"bottom": HAIR},
    "check": {"bottom": HAIR},
    "hair-top": {"top": HAIR},
    "top": {"top": THIN},
    "top-none": {"bottom": THIN},
    "band": {"top": MEDIUM, "bottom": THIN, "bg_color": BAND_FILL},
    "frame-top": {"top": MEDIUM},
    "frame": {},
    "frame-bottom": {"bottom": MEDIUM},
    "frame-only": {"top": MEDIUM, "bottom": MEDIUM},
    "frame-only-thick": {"top": THICK, "bottom": THICK},
}


def form_look(name: str, *, boxed: bool, line: str, column: int, last: int) -> dict[str, Any]:
    """The format of a cell of a form: its look, its row's line; a box is framed, filled, unlocked.

    column: its number; last: that of the last printed column, where a frame has its side. Raises KeyError for a name that
    isn't a look.
    """
    own = dict(_LOOKS[name])
    filled, wide, end = own.pop("fill", False), own.pop("wide", False), own.pop("end", False)
    properties = _BASE | own | _LINES[line]
    if line.startswith("frame"):
        width = THICK if line.endswith("thick") else MEDIUM
        properties |= ({"left": width} if column == 1 else {}) | ({"right": width} if column == last else {})
    if line == "check" and column in _DIVIDED:
        properties |= {"left": THIN}
    if boxed:
        edges = ("left", "top", "bottom") if wide else ("left", "top", "bottom", "right")
        properties |= {"locked": False, "bg_color": BOX_FILL} | dict.fromkeys(edges, THIN)
    elif filled:
        properties |= {"top": THIN, "bottom": THIN, "bg_color": BOX_FILL} | ({"right": THIN} if end else {})
    return properties
