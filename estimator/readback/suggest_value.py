"""What a person seems to have meant by a text in a box for numbers or dates. Only offered, never taken."""

from __future__ import annotations

import datetime as dt
import re

from estimator.quantities import UNITS, from_si, to_si

_SPACES = str.maketrans("\u00a0\u2007\u2009\u202f\u2212\u2044", "    -/")
_ABOUT = re.compile(r"(?:ca\.?|circa|about|approx\.?|abt\.?|[~≈=])\s*", re.IGNORECASE)
_FRACTION = re.compile(r"([+-]?)(?:(\d+)\s+)?(\d+)\s?/\s?(\d+)(?!\d)")
_NUMBER = re.compile(r"([+-]?)(\d{1,3}(?:[ '’]\d{3})+(?![\d])|\d+)((?:[.,]\d+)*)")
_PARTS_OF_AN_INCH = ("2", "4", "8", "16", "32", "64")
_FIRST_DAY, _LAST_DAY = dt.date(1950, 1, 1), dt.date(2099, 12, 31)
_DAY_FORMS = (
    "%Y-%m-%d",
    "%Y/%m/%d",
    "%d.%m.%Y",
    "%m/%d/%Y",
    "%d/%m/%Y",
    "%d %b %Y",
    "%b %d %Y",
    "%d %B %Y",
    "%B %d %Y",
)
_WORDS_FOR = {
    '"': "in",
    "''": "in",
    "inch": "in",
    "inches": "in",
    "millimeters": "mm",
    "lbs": "lb",
    "sec": "s",
    "seconds": "s",
    "minutes": "min",
    "bars": "bar",
    "c": "°C",
    "f": "°F",
    "degc": "°C",
    "degf": "°F",
    "deg": "°",
    "ftlb": "ft·lbf",
    "ft-lb": "ft·lbf",
    "nm": "N·m",
    "cc": "mL",
}
_UNITS = {name.casefold(): name for name in UNITS} | _WORDS_FOR


def numbers_meant(text: str, unit: str = "") -> list[float]:
    """The numbers that a text may mean, in `unit`, the likelier first; none where it holds no number or several.

    A comma between groups of three may stand for thousands or for the decimal point; a known unit is converted.

    >>> numbers_meant("2,150 psi", "psi"), numbers_meant("10 bar", "kPa"), numbers_meant("1 1/4", "in")
    ([2150.0, 2.15], [1000.0], [1.25])
    >>> numbers_meant("2200-2250", "psi"), numbers_meant("n/a"), numbers_meant("12 bar", "mm")
    ([], [], [])
    """
    text = text.translate(_SPACES).strip().strip("'").strip()
    if about := _ABOUT.match(text):
        text = text[about.end() :]
    match = _FRACTION.match(text) or _NUMBER.match(text)
    if match is None or len(text) > 60:
        return []
    rest = text[match.end() :].strip()
    if any(letter.isdigit() for letter in rest):
        return []
    given = _UNITS.get(rest.rstrip(".").casefold().replace(" ", "")) if rest else None
    values = _fraction(match) if match.re is _FRACTION else _plain(*match.groups())
    if not given or unit not in UNITS:
        return values
    if UNITS[given].kind != UNITS[unit].kind:
        return []
    return [float(f"{from_si(to_si(value, given), unit):.6g}") if given != unit else value for value in values]


def _fraction(match: re.Match[str]) -> list[float]:
    sign, whole, over, under = match.groups()
    if under not in _PARTS_OF_AN_INCH:
        return []
    value = int(whole or 0) + int(over) / int(under)
    return [-value if sign == "-" else value]


def _plain(sign: str, whole: str, rest: str) -> list[float]:
    """One number, read in each way in which its points and commas can be read."""
    digits = re.sub(r"\D", "", whole)
    groups = re.findall(r"([.,])(\d+)", rest)
    signs = [mark for mark, _ in groups]
    found: list[str] = []
    thousands = all(len(group) == 3 for _, group in groups) and len(digits) <= 3 and digits.lstrip("0") != ""
    if groups and thousands and len(set(signs)) == 1 and (signs[0] == "," or len(groups) > 1):
        found.append(digits + "".join(group for _, group in groups))
    if len(groups) <= 1:
        found.append(digits + "".join(f".{group}" for _, group in groups))
    elif signs[-1] not in signs[:-1] and all(len(group) == 3 for _, group in groups[:-1]):
        found.append(digits + "".join(group for _, group in groups[:-1]) + f".{groups[-1][1]}")
    return [float(sign.replace("+", "") + number) for number in found]


def days_meant(text: str) -> list[dt.date]:
    """The days that a text may mean: two where day and month can't be told apart.

    >>> days_meant("25.11.2026"), days_meant("02/03/2026")
    ([datetime.date(2026, 11, 25)], [datetime.date(2026, 2, 3), datetime.date(2026, 3, 2)])
    """
    plain = " ".join(text.translate(_SPACES).replace(",", " ").split()).strip("'")
    found: list[dt.date] = []
    for form in _DAY_FORMS:
        try:
            day = dt.datetime.strptime(plain, form).date()
        except ValueError:
            continue
        if _FIRST_DAY <= day <= _LAST_DAY and day not in found:
            found.append(day)
    return found
