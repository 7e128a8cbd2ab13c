"""How cells look, by name. Words, line weight and size first; two fills in all: a light sky where a person types, a
light purple where someone must act."""

from __future__ import annotations

from typing import Any

BOX_FILL = "#DCEFFA"
ACT_FILL = "#F3DDEA"
RULE = "#000000"
FAINT = "#595959"

_BASE: dict[str, Any] = {"font_name": "Calibri", "font_size": 11, "valign": "vcenter"}

_LOOKS: dict[str, dict[str, Any]] = {
    "text": {"num_format": "@"},
    "wrap": {"num_format": "@", "text_wrap": True, "valign": "top"},
    "label": {"num_format": "@", "bold": True},
    "words": {},
    "small": {"font_size": 9, "text_wrap": True, "valign": "top"},
    "verdict": {"font_size": 10, "text_wrap": True},
    "gauge": {"num_format": "@", "font_size": 9, "text_wrap": True},
    "entry": {"num_format": "@", "font_size": 12, "text_wrap": True},
    "faint": {"font_color": FAINT, "font_size": 9},
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
    "block-title": {"bold": True, "font_size": 13},
    "block-note": {"font_color": FAINT, "italic": True},
    "heading": {"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 2},
    "how": {"font_size": 9, "font_color": FAINT},
    "section": {"bold": True, "font_size": 12, "top": 1},
    "data": {"font_name": "Consolas", "font_size": 8, "num_format": "@"},
}


def look(name: str, *, boxed: bool = False) -> dict[str, Any]:
    """The format properties of a look. `number-3` is a number with three decimals; a box is framed, filled, unlocked.

    Raises KeyError for a name that isn't a look.
    """
    if name.startswith("number-"):
        decimals = int(name.removeprefix("number-"))
        own: dict[str, Any] = {"num_format": "0" + ("." + "0" * decimals if decimals else "")}
    else:
        own = _LOOKS[name]
    properties = _BASE | own
    if boxed:
        properties |= {"locked": False, "border": 1, "bg_color": BOX_FILL}
    return properties
