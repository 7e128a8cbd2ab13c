"""TOML files read strictly into records: every mistake of a file at once, with its table and key."""

from __future__ import annotations

import re
import stat
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from estimator.errors import EXIT_MISSING, InputError, InputProblem
from estimator.intake.file_kinds import CAR, JOB, SHOP, kind_of_toml
from estimator.intake.model_errors import in_words, printable

LARGEST_BYTES = 2_000_000
NEWLINE = b"\n"
_KINDS = {"JobFile": JOB, "Car": CAR, "Shop": SHOP}
# A value that was meant as a date: three numbers with dots, slashes or hyphens between.
_DATE = re.compile(r"=\s*\d{1,4}([./-])\d{1,2}\1\d{1,4}\s*(#.*)?$")
Read = TypeVar("Read", bound=BaseModel)


def load_toml(path: Path, model: type[Read]) -> Read:
    """The record that a TOML file holds.

    Raises InputError with every mistake of the file: exit 66 where the file is missing, else 65.
    """
    return validated(read_toml(path), model, path)


def read_toml(path: Path) -> dict[str, Any]:
    """What stands in a TOML file, decimal numbers as Decimal. Raises InputError as `load_toml` does."""
    return parsed_text(read_text(path), path)


def parsed_text(text: str, path: Path) -> dict[str, Any]:
    """What a text of TOML holds that stands, or is to stand, at `path`. Raises InputError as `load_toml` does."""
    try:
        return tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise InputError([_syntax_problem(path, text, str(error))]) from None
    except RecursionError:
        raise _refused(path, "the file", "lists nested too deeply", "use simple tables") from None
    except (ValueError, ArithmeticError):
        raise _refused(path, "the file", "a number too long to be true", "correct that number") from None


def read_text(path: Path) -> str:
    """The text of a UTF-8 file. Raises InputError where it is missing (66), no regular file, too large, or not UTF-8
    text (65)."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise _refused(path, "the file", "not a regular file", "only a file on a disk can be read")
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
        if len(content) > LARGEST_BYTES:
            raise _refused(path, "the file", "larger than 2 MB", "such a file is far smaller; check its name")
    except FileNotFoundError:
        missing = _problem(path, "the file", "file not found", "check the name and the folder")
        raise InputError([missing], EXIT_MISSING) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "the name cannot be a file's"
        raise _refused(path, "the file", f"it cannot be read: {why}", "use a readable file") from None
    if content.startswith(b"PK\x03\x04"):
        raise _refused(path, "the file", "it is a workbook or an archive", "a text file belongs here", "check the name")
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _refused(path, "the file", "it is saved as UTF-16", "use UTF-8", "save it as UTF-8")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = f"line {content.count(NEWLINE, 0, error.start) + 1}"
        raise _refused(path, line, "a letter that isn't UTF-8", "use UTF-8", "save it as UTF-8") from None


def validated(data: dict[str, Any], model: type[Read], path: Path) -> Read:
    """The record that `data`, read from `path`, makes. Raises InputError with every mistake in it."""
    try:
        return model.model_validate(data)
    except ValidationError as error:
        wanted, kind = _KINDS.get(model.__name__), kind_of_toml(data)
        if wanted and kind and kind != wanted:
            raise _refused(path, "the file", f"it is {kind}", f"{wanted} belongs here", "check the name") from None
        raise InputError(_problems(error, model, path)) from None


def _problems(error: ValidationError, model: type[BaseModel], path: Path) -> Iterator[InputProblem]:
    for item in error.errors(include_url=False):
        loc = item["loc"]
        if item["type"] == "too_short" and len(item["input"]) >= item["ctx"]["min_length"]:
            continue  # only those without a mistake were counted, and the others are reported
        said = in_words(item, _fields_at(model, loc))
        unknown = item["input"] if item["type"] == "extra_forbidden" else None
        yield _problem(path, place_of(model, loc, unknown), *said)


def place_of(model: type[BaseModel], loc: tuple[str | int, ...], unknown: Any = None) -> str:
    """Where in the file a value stands, as its writer would say.

    >>> from estimator.records import Car
    >>> place_of(Car, ("brakes", 2, "bore"))
    '[[brakes]] number 3, key "bore"'
    >>> place_of(Car, ("systems", 0, "pump", "displacement"))
    '[[systems]] number 1, [systems.pump], key "displacement"'
    """
    said: list[str] = []
    names: list[str] = []
    current: type[BaseModel] | None = model
    rest = list(loc)
    while rest:
        name = str(rest.pop(0))
        names.append(name)
        inner, many = _inside(current, name)
        if inner is None and not isinstance(unknown, dict):
            many = isinstance(unknown, list) and any(isinstance(item, dict) for item in unknown)
            said.append(f"[[{'.'.join(names)}]]" if many else f'key "{name}"')
            said += [f"item {item + 1}" for item in rest if isinstance(item, int)]
            break
        if said and said[-1].endswith("]"):
            said.pop()  # [labor] says nothing that [[labor.rates]] doesn't
        if many:
            number = f" number {rest[0] + 1}" if rest and isinstance(rest[0], int) else ""
            rest = rest[1:] if number else rest
            said.append(f"[[{'.'.join(names)}]]{number}")
        else:
            said.append(f"[{'.'.join(names)}]")
        current = inner
    return ", ".join(said) or "the file"


def _inside(model: type[BaseModel] | None, name: str) -> tuple[type[BaseModel] | None, bool]:
    """The model of the table or tables at a key, and whether there may be many; None for a plain value."""
    field = model.model_fields.get(name) if model else None
    if field is None:
        return None, False
    many = get_origin(field.annotation) is tuple
    for part in (field.annotation, *get_args(field.annotation)):
        if isinstance(part, type) and issubclass(part, BaseModel) and part.__name__ != "Quantity":
            return part, many
    return None, False


def _fields_at(model: type[BaseModel], loc: tuple[str | int, ...]) -> dict[str, FieldInfo]:
    current: type[BaseModel] | None = model
    for part in loc[:-1]:
        if isinstance(part, str):
            current = _inside(current, part)[0]
    return current.model_fields if current else {}


def _syntax_problem(path: Path, text: str, message: str) -> InputProblem:
    where = re.search(r"\(at (?:line (\d+), column \d+|end of document)\)$", message)
    lines = text.rstrip("\n").split("\n")
    number = int(where[1]) if where and where[1] else len(lines)
    line = lines[min(number, len(lines)) - 1].strip()
    what = message[: where.start()].strip() if where else message
    what = re.sub(r"\('(.*?)',?\)", lambda match: f"[{match[1]}]".replace("', '", "."), what)
    shown = line if len(line) <= 80 else f"{line[:77]}…"
    found = printable(f"{what[:1].lower()}{what[1:]}, in: {shown}")
    return _problem(path, f"line {number}", found, *_hint(line, what))


def _hint(line: str, what: str) -> tuple[str, str]:
    if re.search(r"=\s*\d{4}-\d\d-\d\d\b", line):
        return "the calendar has no such day", "correct the date"
    if _DATE.search(line):
        return "a date is year-month-day, without quotes", "write it with four and two and two digits, as 2026-11-25"
    if re.search(r"=\s*[+-]?\d+,\d", line):
        return "a number has a comma", "write the decimal point as a point, for example 118.50"
    if any(mark in line for mark in "“”„‘’"):
        return "curly quotation marks aren't understood", 'write straight ones, for example key = "text"'
    if "twice" in what or "overwrite" in what:
        return "a table or key may stand once", "take one of the two out; a further one of many is written [[name]]"
    if "\\" in line:
        return "a backslash in double quotes begins a special letter", "write the text in single quotes: key = 'text'"
    return 'the file is TOML: a line is [table], [[table]] or key = "text"', "correct the line; put text in quotes"


def _problem(path: Path, place: str, found: str, allowed: str, fix: str = "") -> InputProblem:
    return InputProblem(str(path), place, found, allowed, fix)


def _refused(path: Path, place: str, found: str, allowed: str, fix: str = "") -> InputError:
    return InputError([_problem(path, place, found, allowed, fix)])
