"""What the models refuse, in plain words: what was found, what is allowed, what to do."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from pydantic.fields import FieldInfo

from estimator.errors import nearest
from estimator.records.fields import (
    COUNTRY_PATTERN,
    CURRENCY_PATTERN,
    DOCUMENT_PATTERN,
    ID_PATTERN,
    OPTIONAL_ID_PATTERN,
)

_AN_ID = 'lower-case letters, digits and hyphens, beginning with a letter, for example "system-1"'
_PATTERNS = {
    ID_PATTERN: f"enter an id: {_AN_ID}",
    OPTIONAL_ID_PATTERN: f"enter an id or nothing: {_AN_ID}",
    DOCUMENT_PATTERN: 'enter a document number: letters, digits and hyphens, for example "LY-311-A"',
    COUNTRY_PATTERN: 'enter a country in two capital letters, for example "US"',
    CURRENCY_PATTERN: 'enter a currency in three capital letters, for example "USD"',
}
_WANTED = {
    "int": "enter a whole number without quotes, for example 4",
    "float": "enter a number, for example 1.25",
    "finite_number": "enter a number, for example 1.25",
    "bool": "enter true or false, without quotes",
    "string": 'enter a text in quotes, for example key = "text"',
    "tuple": "enter a list in square brackets",
    "model": "enter a table: its name in square brackets on a line, its keys on the lines below",
    "dict": "enter a table: its name in square brackets on a line, its keys on the lines below",
}


class Said(NamedTuple):
    """A mistake in words."""

    found: str
    allowed: str
    fix: str = ""


def shown(value: Any) -> str:
    """A value as a message shows it: as it would stand in the file, on one line, cut short.

    >>> shown(True), shown("2200\\npsi"), shown([1, 2])
    ('true', '"2200\\\\npsi"', 'a list')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        text = printable(json.dumps(value, ensure_ascii=False))
        return text if len(text) <= 80 else f'{text[:77]}…"'
    if isinstance(value, int | float | Decimal | dt.date | dt.time):
        text = str(value)
        return text if len(text) <= 40 else f"{text[:37]}…"
    return "a table" if isinstance(value, Mapping) else "a list"


def printable(text: str) -> str:
    """A text on one line, with what can't be printed spelled out.

    >>> printable("2200\\npsi")
    '2200\\\\npsi'
    """
    return "".join(letter if letter.isprintable() else ascii(letter)[1:-1] for letter in text)


def choices(allowed: Iterable[str]) -> str:
    """Allowed words as a message lists them.

    >>> choices(["A", "B"])
    '"A" or "B"'
    """
    words = [f'"{word}"' if word else "nothing" for word in allowed]
    return " or ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def in_words(error: Mapping[str, Any], fields: Mapping[str, FieldInfo]) -> Said:
    """One refusal of a model in words. `fields` are those that its table may have."""
    kind, context, value = error["type"], error.get("ctx", {}), error.get("input")
    name = str(error["loc"][-1]) if error["loc"] else ""
    if kind == "value_error":
        found, _, allowed = printable(str(context["error"])).partition("; ")
        return Said(found, allowed) if allowed else Said(f"found {shown(value)}", found)
    if kind == "missing":
        described = fields[name].description if name in fields else None
        return Said("missing", described or "add it", "`estimator start` writes an example")
    if kind == "extra_forbidden":
        known = f"allowed: {', '.join(sorted(fields))}"
        return Said(f"unknown key{nearest(name, fields)}", known, "correct the key or delete the line")
    if kind == "literal_error":
        words = re.findall(r"'([^']*)'", context["expected"])
        hint = nearest(value, words) if isinstance(value, str) else ""
        return Said(f"found {shown(value)}{hint}", f"allowed: {choices(words)}")
    if kind == "string_pattern_mismatch":
        return Said(f"found {shown(value)}", _PATTERNS[context["pattern"]])
    return _out_of_size(kind, context, value) or _of_wrong_sort(kind, value)


def _out_of_size(kind: str, context: Mapping[str, Any], value: Any) -> Said | None:
    match kind:
        case "string_too_short":
            return Said("the text is empty", "enter a text")
        case "string_too_long":
            return Said(f"the text is {len(value)} letters long", f"the maximum is {context['max_length']}")
        case "too_short":
            return Said(f"only {context['actual_length']} given", f"give at least {context['min_length']}")
        case "too_long":
            return Said("too many", f"the maximum is {context['max_length']}")
        case "greater_than_equal":
            return Said(f"{shown(value)} is too low (minimum {context['ge']:g})", f"enter {context['ge']:g} or more")
        case "less_than_equal":
            return Said(f"{shown(value)} is too high (maximum {context['le']:g})", f"enter {context['le']:g} or less")
    return None


def _of_wrong_sort(kind: str, value: Any) -> Said:
    found = f"found {shown(value)}"
    wanted = next((words for start, words in _WANTED.items() if kind.startswith(start)), "enter another value")
    if isinstance(value, str) and re.search(r"\d,\d", value):
        return Said(f"{found}, with a comma in its number", f"{wanted}; write the decimal point as a point")
    return Said(found, wanted)
