"""What a file is, told from its beginning, where a command was given one of another kind."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from estimator.errors import InputError, InputProblem

WORKBOOK, ENTRIES, JOB, CAR, SHOP = "a workbook", "a file of entries", "a job file", "a car file", "a shop file"
# A key that each sort of TOML file has and no other.
_MARKS: dict[str, Callable[[Any], bool]] = {
    JOB: lambda held: "document" in held or "complaint" in held,
    CAR: lambda held: "systems" in held and isinstance(held.get("car"), dict),
    SHOP: lambda held: "labor" in held or isinstance(held.get("shop"), dict),
}


def kind_of_file(path: Path) -> str:
    """Return what a file is; "" where that can't be told."""
    try:
        with path.open("rb") as file:
            content = file.read(2_000_000)
        if content.startswith(b"PK\x03\x04"):
            return WORKBOOK
        text = content.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError, ValueError):
        return ""
    head = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    if {"key", "value"} <= {cell.strip() for cell in head.split(",")}:
        return ENTRIES
    try:
        return kind_of_toml(tomllib.loads(text))
    except (ValueError, RecursionError):
        return ""


def kind_of_toml(held: Mapping[str, Any]) -> str:
    """Return what the content of a TOML file is; "" where that can't be told."""
    return next((kind for kind, has in _MARKS.items() if has(held)), "")


def refuse_other_kind(path: Path, wanted: str, usage: str) -> None:
    """Refuse a file that is plainly of another kind than a command takes here. Raises InputError."""
    kind = kind_of_file(path)
    if kind and kind != wanted:
        raise InputError([InputProblem(str(path), "the file", f"it is {kind}", f"{wanted} belongs here", usage)])
