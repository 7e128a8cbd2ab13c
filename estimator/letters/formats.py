"""Amounts, dates, figures and lists as the letter writes them; and the text of people, kept to itself."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Hashable, Iterable
from decimal import Decimal
from typing import TYPE_CHECKING, TypeVar

from estimator.money import money_text
from estimator.quantities import printed as in_unit

if TYPE_CHECKING:
    from markupsafe import Markup

Key = TypeVar("Key", bound=Hashable)
Item = TypeVar("Item")
NBSP, MINUS = "\u00a0", "\u2212"
MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
_SIGNS = {"USD": "$", "CAD": "$", "AUD": "$", "NZD": "$", "EUR": "€", "GBP": "£"}
_LINKED = {
    "tel": re.compile(r"\+?[0-9][0-9 ().-]{3,30}"),
    "mailto": re.compile(r"[\w.+-]{1,60}@[\w.-]{1,120}", re.ASCII),
}
_FIRST_DAY, _LAST_SERIAL = dt.date(1899, 12, 30), 2_958_465


def sign_of(currency: str) -> str:
    """What stands before an amount of a currency.

    >>> sign_of("USD"), sign_of("CHF")
    ('$', 'CHF\\xa0')
    """
    return _SIGNS.get(currency, f"{currency}{NBSP}" if currency else "")


def amount(value: Decimal, currency: str = "") -> str:
    """An amount with two decimals and separated thousands, its currency before it.

    >>> amount(Decimal("1234.5"), "USD"), amount(Decimal("-20"))
    ('$1,234.50', '−20.00')
    """
    text = f"{sign_of(currency)}{Decimal(money_text(abs(value))):,.2f}"
    return f"{MINUS}{text}" if value < 0 else text


def day(value: dt.date | float | str, dates: str = "") -> str:
    """A date with its month as a word; nothing for what isn't one. A number is a spreadsheet's day. dates: how the shop
    writes November 25, 2026: with the day first, or not.

    >>> day(dt.date(2026, 11, 25)), day(46351.0), day(""), day(46351.0, "25.11.2026")
    ('November 25, 2026', 'November 25, 2026', '', '25 November 2026')
    """
    if isinstance(value, float):
        value = _FIRST_DAY + dt.timedelta(days=int(value)) if 1 <= value <= _LAST_SERIAL else ""
    if not isinstance(value, dt.date):
        return ""
    month = MONTHS[value.month - 1]
    return f"{value.day} {month} {value.year}" if dates.startswith("25") else f"{month} {value.day}, {value.year}"


def figure(value: float, unit: str, more: int = 0) -> str:
    """A number in a unit of `quantities.UNITS`, as finely as that unit is shown and `more` decimals beyond.

    >>> [figure(2150, "psi"), figure(20.4, "mm"), figure(14, "years"), figure(2, "count"), figure(-0.2, "psi")]
    ['2,150\\xa0psi', '20.4\\xa0mm', '14\\xa0years', '2', '0\\xa0psi']
    """
    text = in_unit(abs(value), unit, more)
    sign = MINUS if value < 0 and text.strip("0.,") else ""
    return f"{sign}{text}{unit_after(unit)}"


def unit_after(unit: str) -> str:
    """A unit as it stands after its number, with the space that belongs there."""
    if unit in ("count", "1"):
        return ""
    return unit if unit == "°" else NBSP + unit


def number(value: float) -> str:
    """A number as a person typed it.

    >>> number(2.0), number(0.5), number(1200.25)
    ('2', '0.5', '1,200.25')
    """
    return f"{value:,.10g}"


def listing(items: Iterable[str], word: str = "and") -> str:
    """Items in a row, the last two joined by a word.

    >>> listing(["a"]), listing(["a", "b"]), listing(["a", "b", "c"])
    ('a', 'a and b', 'a, b and c')
    """
    found = list(items)
    return f" {word} ".join((", ".join(found[:-1]), found[-1])) if len(found) > 1 else "".join(found)


def counted(number: int, one: str, several: str = "") -> str:
    """A number with what it counts.

    >>> counted(1, "check"), counted(3, "check")
    ('1 check', '3 checks')
    """
    return f"{number} {one}" if number == 1 else f"{number} {several or one + 's'}"


def capital(text: str) -> str:
    """The text with its first letter in upper case."""
    return text[:1].upper() + text[1:]


def grouped(rows: Iterable[tuple[Key, Item]]) -> dict[Key, list[Item]]:
    """Pairs brought together by their first half, in order of first appearance.

    >>> grouped([("a", "1"), ("b", "2"), ("a", "3")])
    {'a': ['1', '3'], 'b': ['2']}
    """
    found: dict[Key, list[Item]] = {}
    for key, value in rows:
        found.setdefault(key, []).append(value)
    return found


def printed(value: object) -> object:
    """The program's own words with the apostrophes of print; the text of people (`said`) and all else as it is.

    >>> printed("it doesn't pass")
    'it doesn’t pass'
    """
    return value.replace("'", "’") if type(value) is str else value


def said(text: str) -> Markup:
    """The text of a person for the page: escaped, its direction of writing kept to itself, its line breaks kept.

    Control characters, which HTML doesn't allow, become U+FFFD.
    """
    from markupsafe import Markup, escape

    known = "".join("\ufffd" if (ord(c) < 32 and c not in "\n\t") or 127 <= ord(c) < 160 else c for c in str(text))
    return Markup('<bdi class="said">{}</bdi>').format(escape(known))


def link(text: str, scheme: str) -> Markup:
    """A phone number (`tel`) or mail address (`mailto`) as a link; anything else as plain text of a person.

    >>> link("555-0147", "tel")
    Markup('<a href="tel:555-0147"><bdi class="said">555-0147</bdi></a>')
    """
    from markupsafe import Markup

    shown = said(text)
    if not _LINKED[scheme].fullmatch(text):
        return shown
    target = re.sub(r"[ ().]", "", text) if scheme == "tel" else text
    return Markup('<a href="{}:{}">{}</a>').format(scheme, target, shown)
