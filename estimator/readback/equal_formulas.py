"""Whether two formulas are one: what spreadsheet programs rewrite when they save makes no difference, all else does."""

from __future__ import annotations

import functools
import re
from string import ascii_lowercase, ascii_uppercase

# Capitals: ignored in names, functions and references. Only ASCII: a tab "maß" is not a tab "MASS".
_CAPITALS = str.maketrans(ascii_lowercase, ascii_uppercase)
_LONGEST = 8_192  # characters that spreadsheet programs allow in a formula
_QUOTED = r"'(?:[^']|'')++'"
_WORD = r"[A-Za-z_\\$\u0080-\U0010ffff][\w.$\\?\u0080-\U0010ffff]*+"
_TOKEN = rf"""
      "(?:[^"]|"")*+"                                                             # a text
    | (?:\$?{_QUOTED}|\$[A-Za-z_]\w*+)\.(?=\$?[A-Za-z]{{1,3}}\$?[0-9])              # $Tab.$A$1, its tab
    | (?:{_QUOTED}|{_WORD})!                                                      # Tab!A1, its tab
    | \#(?:REF!|DIV/0!|N/A|NAME\?|NULL!|NUM!|VALUE!|GETTING_DATA|SPILL!|CALC!)
    | (?:[0-9]++\.?[0-9]*+|\.[0-9]++)(?:[eE][+-]?[0-9]{{1,4}}+)?+(?![\w.])
    | {_WORD}                                                                     # a reference, name or function
    | \[(?:[^\[\]]|\[[^\[\]]*+\])*+\]                                              # of a table or another file
    | >=|<=|<>|[-+*/^&=<>%:,;(){{}}@\#]
    | [ \t\r\n]++
    """
_SIGNS = frozenset("-+*/^&=<>%:,;{}@#") | {">=", "<=", "<>"}
_PREFIX = re.compile(r"(?:_XLFN\.|_XLWS\.)+")  # marks functions newer than 2007
_NUMBER = re.compile(r"([0-9]*)\.?([0-9]*)(?:[eE](.+))?")


def same_formula(a: str, b: str) -> bool:
    """Whether two formulas, with their leading "=", are the same but for what saving them changes.

    Ignored: capitals outside of texts; blanks and line breaks, unless they stand for the intersection of two
    ranges; how a number is written (0.50, 5E-1); TRUE and TRUE(), FALSE and FALSE(); quotes around the name of a tab
    that needs none; Tab!A1:Tab!A3 for Tab!A1:A3; $Tab.A1 for Tab!A1; the prefixes _xlfn. and _xlws. Not ignored: any
    reference, its dollar signs, constant, text, operator, bracket or order. A formula that can't be taken apart is the
    same as itself alone. Constants should have 15 digits at most: LibreOffice cuts off the rest.

    >>> same_formula("=IF('Basis'!A1>0.50,FALSE,sum(B1:B3))", "=IF(Basis!A1>.5, FALSE(), SUM(B1:B3))")
    True
    >>> same_formula("=A1+B1", "=A1-B1")
    False
    """
    if a == b:
        return True
    if max(len(a), len(b)) > _LONGEST:
        return False
    first = normal_form(a)
    return first is not None and first == normal_form(b)


def tokens_of(formula: str) -> list[str] | None:
    """The formula taken apart, blanks included, or None where it can't be."""
    one, each = _patterns()
    found: list[str] = each.findall(formula)
    return found if found and one.fullmatch(found[-1]) else None


def normal_form(formula: str) -> list[str] | None:
    """The formula taken apart and written in one way, or None where it can't be taken apart.

    >>> normal_form("='Basis'!a1+1.50")
    ['=', 'BASIS!', 'A1', '+', '15E-1']
    """
    found = tokens_of(formula)
    if found is None:
        return None
    tokens: list[str] = []
    blank = False
    for part in found:
        if part.isspace():
            blank = True
            continue
        token = part if part in _SIGNS else _written(part)
        if part not in _SIGNS:
            if token[-1] == "!" and tokens[-1:] == [":"] and tokens[-3:-2] == [token]:
                continue  # the second tab of Tab!A1:Tab!A3
            if blank and tokens and _intersect(tokens[-1], token):
                tokens.append(" ")
        tokens.append(token)
        blank = False
        if token == ")" and tokens[-2:-1] == ["("] and tokens[-3:-2] in (["TRUE"], ["FALSE"]):
            del tokens[-2:]
    return tokens


@functools.cache
def _patterns() -> tuple[re.Pattern[str], re.Pattern[str]]:
    """Return the patterns of one token and of each; compiled when first used, as most workbooks need neither."""
    rest = "(?s:.+)"  # taken at once, so that no text takes long
    return re.compile(_TOKEN, re.VERBOSE), re.compile(rf"{_TOKEN} | {rest}", re.VERBOSE)


def _intersect(before: str, after: str) -> bool:
    return not (before in _SIGNS or before == "(" or before[0] == '"' or after == ")" or after[0] == '"')


def _written(token: str) -> str:
    first = token[0]
    if first in '"()':
        return token
    if first.isdecimal() or first == ".":
        return _number(token)
    token = token.translate(_CAPITALS)
    if first == "_":
        return _PREFIX.sub("", token, count=1)
    if first in "$'" and token[-1] in ".!":
        name = token[:-1].removeprefix("$")
        return (name[1:-1].replace("''", "'") if name.startswith("'") else name) + "!"
    return token


def _number(text: str) -> str:
    """A number literal, exactly: its digits without zeros at either end, and a power of ten."""
    whole, part, power = _NUMBER.fullmatch(text).groups()  # type: ignore[union-attr]
    digits = (whole + part).lstrip("0")
    short = digits.rstrip("0")
    if not short:
        return "0"
    return f"{short}E{int(power or 0) - len(part) + len(digits) - len(short)}"
