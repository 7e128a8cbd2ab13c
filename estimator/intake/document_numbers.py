"""Document numbers in use, and the next free one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from estimator.errors import InputError
from estimator.intake.toml_files import read_toml

_LAST_NUMBER = re.compile(r"(.*?)([0-9]+)([^0-9]*)")
_WORKBOOK = re.compile(r"(.+)-r[0-9]+(?:-.*)?")


def job_files(folder: Path) -> Iterator[tuple[Path, dict[str, Any]]]:
    """The job files of a folder, and what they hold; what can't be read is passed over."""
    for path in sorted(folder.glob("*.toml")):
        try:
            written = read_toml(path)
        except InputError:
            continue
        if "document" in written and "shop" in written:
            yield path, written


def numbers_in(folder: Path) -> dict[str, str]:
    """The document numbers of a folder's job files and workbooks, each with a file that has it."""
    found = {known[1]: path.name for path in sorted(folder.glob("*.xlsx")) if (known := _WORKBOOK.fullmatch(path.stem))}
    return found | {str(written["document"]): path.name for path, written in job_files(folder)}


def in_use(number: str, known: Mapping[str, str]) -> str:
    """Who has a number already, whatever its capitals; "" for nobody."""
    return next((where for taken, where in known.items() if taken.casefold() == number.casefold()), "")


def next_free(known: Iterable[str], year: int) -> str:
    """The number after the highest of the commonest form; the first of a year where there is none.

    >>> next_free(["LY-311-A", "LY-309-A", "x7"], 2026), next_free(["2026-0099"], 2026), next_free([], 2026)
    ('LY-312-A', '2026-0100', '2026-001')
    """
    known = list(known)
    parts = [found.groups() for number in known if (found := _LAST_NUMBER.fullmatch(number))]
    if not parts:
        return f"{year}-001"
    forms: dict[tuple[str, str], list[str]] = {}
    for first, number, last in parts:
        forms.setdefault((first, last), []).append(number)
    (first, last), numbers = max(forms.items(), key=lambda item: (len(item[1]), max(map(int, item[1]))))
    width = max(map(len, numbers))
    return f"{first}{max(map(int, numbers)) + 1:0{width}}{last}"
