"""How cells of tables look, by name: words, line weight and size."""

from __future__ import annotations

import textwrap
from typing import Any

BOX_FILL = "#FCF7E6"
FAINT = "#595959"

BASE_SIZE = 11
_BASE: dict[str, Any] = {"font_name": "Calibri", "font_size": BASE_SIZE, "valign": "vcenter"}

_LOOKS: dict[str, dict[str, Any]] = {
    "text": {"num_format": "@"},
    "wrap": {"num_format": "@", "text_wrap": True},
    "label": {"num_format": "@", "bold": True, "text_wrap": True},
    "words": {},
    "job": {"font_size": 10, "text_wrap": True},
    "small": {"font_size": 9, "text_wrap": True},
    "verdict": {"font_size": 10, "text_wrap": True, "indent": 1},
    "gauge": {"num_format": "@", "font_size": 9, "text_wrap": True},
    "entry": {"num_format": "@", "font_size": 12, "text_wrap": True, "indent": 1},
    "faint": {"font_color": FAINT, "font_size": 9},
    "pointer": {"font_color": FAINT, "font_size": 9, "num_format": "0;-0;"},
    "money": {"num_format": "#,##0.00"},
    "hours": {"num_format": "0.00"},
    "whole": {"num_format": "0"},
    "percent": {"num_format": "0.00%"},
    "factor": {"num_format": "0.0000000000E+00"},
    "si": {"num_format": "0.00000E+00"},
    "date": {"num_format": "yyyy-mm-dd", "align": "left"},
    "state": {"bold": True, "font_size": 14},
    "total": {"num_format": "#,##0.00", "bold": True, "top": 1, "bottom": 6},
    "title": {"bold": True, "font_size": 18},
    "caution": {"italic": True},
    "heading-pointer": {"font_color": FAINT, "font_size": 9, "valign": "bottom", "align": "right"},
    "block-title": {"bold": True, "font_size": 13},
    "block-note": {"font_color": FAINT, "italic": True},
    "heading": {"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 2},
    "heading-right": {"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 2, "align": "right"},
    "how": {"font_size": 9, "font_color": FAINT},
    "section": {"bold": True, "font_size": 12, "top": 1},
    "data": {"font_name": "Consolas", "font_size": 8, "num_format": "@"},
}


_NUMBERS = frozenset(("money", "hours", "whole", "percent", "factor", "si", "total", "pointer"))


def is_number(name: str) -> bool:
    """Whether a look is one of numbers, which stand to the right of their column."""
    return name in _NUMBERS or name.startswith("number-")


def lines_needed(name: str, text: str, width: float, *, boxed: bool = False) -> int:
    """How many lines a text takes in a column of a width (in digits of the basic size); 1 where its look doesn't wrap.

    >>> lines_needed("small", "a word " * 10, 20.0), lines_needed("money", "a word " * 10, 20.0)
    (4, 1)
    """
    properties = look(name, boxed=boxed)
    room = int((width - 2 * properties.get("indent", 0)) * BASE_SIZE / properties["font_size"])
    if not properties.get("text_wrap") or len(text) <= room:
        return 1
    return sum(len(textwrap.wrap(line, max(room, 1))) or 1 for line in text.split("\n"))


def look(name: str, *, boxed: bool = False) -> dict[str, Any]:
    """The format properties of a look. `number-3` is a number with three decimals; a box is framed, filled, unlocked.

    Raises KeyError for a name that isn't a look.
    """
    if name.startswith("number-"):
        decimals = int(name.removeprefix("number-"))
        own: dict[str, Any] = {"num_format": "0" + ("." + "0" * decimals if decimals else "")}
        own |= {"font_size": 12, "align": "right", "indent": 1} if boxed else {}
    else:
        own = _LOOKS[name]
    properties = _BASE | own
    if boxed:
        wrapped: dict[str, Any] = {"align": "right", "indent": 1} if is_number(name) else {"text_wrap": True}
        wrapped |= {"indent": 1} if name in ("words", "date") else {}
        properties |= wrapped | {"locked": False, "border": 1, "bg_color": BOX_FILL}
    return properties
