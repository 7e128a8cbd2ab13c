"""The strict reading of sources and published numbers: every mistake at once, with file, table and key.

A record that passes is complete; whether it is true is for the source to say, and `status` tells how it was come by.
"""

from __future__ import annotations

import datetime as dt
import math
import re
import tomllib
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from estimator.errors import InputError, InputProblem, nearest
from estimator.facts.published import (
    DIRECTIONS,
    FACT_KEYS,
    FACT_UNITS,
    KINDS,
    MODEL_YEARS,
    OPTIONAL_KEYS,
    SOURCE_KEYS,
    SOURCE_KINDS,
    STATUSES,
    UNDATED,
    WORDS,
    Fact,
    Source,
)

_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?([eE][+-]?\d+)?")
_DATE = re.compile(r"\d{4}(-\d{2}(-\d{2})?)?")
_LONGEST_ID = 48


def load(
    sources_text: str, limit_texts: Mapping[str, str], sources_name: str = "sources.toml"
) -> tuple[Mapping[str, Source], Mapping[str, Fact]]:
    """Reads the text of the sources and of each file of limits.

    Raises InputError with every problem of every file.
    """
    problems: list[InputProblem] = []
    known: dict[str, Source] = {}
    for place, table in _tables(sources_name, sources_text, "source", problems):
        found = _key_problems(table, SOURCE_KEYS, ()) or _source_problems(table, known)
        problems += [_problem(sources_name, place, *words) for words in found]
        if not found:
            known[table["key"]] = Source(**table)
    resolved: dict[str, Fact] = {}
    for name, text in limit_texts.items():
        for place, table in _tables(name, text, "fact", problems):
            found = _key_problems(table, FACT_KEYS, OPTIONAL_KEYS) or _fact_problems(table, known, resolved)
            problems += [_problem(name, place, *words) for words in found]
            if not found:
                resolved[table["id"]] = Fact(si=_si(table), **table)
    if problems:
        raise InputError(problems)
    return MappingProxyType(known), MappingProxyType(resolved)


def _problem(name: str, place: str, key: str, found: str, allowed: str) -> InputProblem:
    return InputProblem(name, f"{place}, {key}" if key else place, found, allowed)


def _tables(name: str, text: str, wanted: str, problems: list[InputProblem]) -> list[tuple[str, dict[str, Any]]]:
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        problems.append(InputProblem(name, "whole file", f"this isn't TOML: {error}", f"TOML with [[{wanted}]] tables"))
        return []
    for key in content:
        if key != wanted:
            what = f'"{key}" isn\'t known here{nearest(key, [wanted])}'
            problems.append(InputProblem(name, key, what, f"only [[{wanted}]] tables"))
    tables = content.get(wanted, [])
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        problems.append(InputProblem(name, wanted, f"{wanted} isn't a list of tables", f"[[{wanted}]], one per record"))
        return []
    id_key = "key" if wanted == "source" else "id"
    return [(f"[[{wanted}]] {table.get(id_key, f'no. {n}')}", table) for n, table in enumerate(tables, start=1)]


Words = tuple[str, str, str]


def _key_problems(table: Mapping[str, Any], required: tuple[str, ...], optional: tuple[str, ...]) -> list[Words]:
    allowed = (*required, *optional)
    found = [
        (key, f'"{key}" isn\'t known here{nearest(key, allowed)}', f"allowed: {', '.join(allowed)}")
        for key in table
        if key not in allowed
    ]
    found += [(key, f'"{key}" is missing', "every record has it") for key in required if key not in table]
    for key, value in table.items():
        wanted, what = (int, "a whole number") if key in MODEL_YEARS else (str, "text in quotation marks")
        if key in allowed and (not isinstance(value, wanted) or isinstance(value, bool)):
            found.append((key, f"{value!r} isn't {what}", what))
        elif isinstance(value, str) and key not in ("clause", "note") and not value.strip():
            found.append((key, f'"{key}" is empty', "every record says it"))
    return found


def _source_problems(table: Mapping[str, str], known: Mapping[str, Source]) -> list[Words]:
    found = _id_problems("key", table["key"], known)
    return found + _word_problems("kind", table["kind"], SOURCE_KINDS)


def _fact_problems(table: Mapping[str, Any], known: Mapping[str, Source], resolved: Mapping[str, Fact]) -> list[Words]:
    found = _id_problems("id", table["id"], resolved)
    found += _word_problems("direction", table["direction"], DIRECTIONS)
    found += _word_problems("kind", table["kind"], KINDS)
    found += _word_problems("status", table["status"], STATUSES)
    found += _value_problems(table["value"], table["unit"])
    found += _date_problems(table["in_force_from"], table["kind"], table.get("note", ""))
    if table["source"] not in known:
        what = f'"{table["source"]}" isn\'t a source{nearest(table["source"], known)}'
        found.append(("source", what, "a key of sources.toml"))
    if table["kind"] in ("rule", "yardstick") and not table["clause"].strip():
        found.append(("clause", "the clause is empty", "a rule or reference value names its clause"))
    if table["status"] == "common-practice" and table["kind"] != "practice":
        what = f'status "common-practice" on a {table["kind"]}'
        found.append(("status", what, "only a practice can rest on common practice alone"))
    return found + _model_year_problems(table)


def _model_year_problems(table: Mapping[str, Any]) -> list[Words]:
    bound = table["kind"] in KINDS and table["kind"] != "yardstick"
    years = [(key, table[key]) for key in MODEL_YEARS if key in table]
    found = [
        (key, f"{year} on a {table['kind']}", "1886 to 2100, on a reference value (yardstick)")
        for key, year in years
        if bound or not 1886 <= year <= 2100
    ]
    if [key for key, _ in years] == ["binds_to_model_year"] or (len(years) == 2 and years[0][1] > years[1][1]):
        what = f"{table['binds_to_model_year']} without an earlier first year"
        found.append(("binds_to_model_year", what, "the last model year, with binds_from_model_year at or before it"))
    return found


def _id_problems(key: str, value: str, taken: Mapping[str, object]) -> list[Words]:
    if not _ID.fullmatch(value) or len(value) > _LONGEST_ID:
        allowed = f"lower case letters, digits and hyphens, beginning with a letter, at most {_LONGEST_ID}"
        return [(key, f'"{value}" isn\'t an id', allowed)]
    return [(key, f'"{value}" stands twice', "each record has an id of its own")] if value in taken else []


def _word_problems(key: str, value: str, allowed: tuple[str, ...]) -> list[Words]:
    if value in allowed:
        return []
    return [(key, f'"{value}" isn\'t known here{nearest(value, allowed)}', f"allowed: {', '.join(allowed)}")]


def _value_problems(value: str, unit: str) -> list[Words]:
    if unit == WORDS:
        return []
    if unit not in FACT_UNITS:
        what = f'"{unit}" isn\'t a unit known here{nearest(unit, FACT_UNITS)}'
        return [("unit", what, f'one of {", ".join(FACT_UNITS)}, or "{WORDS}"')]
    number, _, written = value.partition(" ")
    example = f'a number and its unit, such as "25 {unit}"'
    if not _NUMBER.fullmatch(number) or not math.isfinite(float(number)):
        comma = "; the decimal point is a point" if "," in number else ""
        return [("value", f'"{value}" doesn\'t begin with a number{comma}', example)]
    if written != unit:
        return [("value", f'"{value}" is written in "{written}", its unit says "{unit}"', example)]
    return []


def _date_problems(value: str, kind: str, note: str) -> list[Words]:
    if value == UNDATED and (kind in ("property", "practice") or note.strip()):
        return []
    if _DATE.fullmatch(value):
        try:
            dt.date.fromisoformat(value + "-01-01"[len(value) - 4 :])
            return []
        except ValueError:
            pass
    allowed = f'a year, month or day as 2000, 2000-09 or 2000-09-01; "{UNDATED}" for a rule only with a note'
    return [("in_force_from", f'"{value}" isn\'t a date', allowed)]


def _si(table: Mapping[str, str]) -> float | None:
    if table["unit"] == WORDS:
        return None
    unit = FACT_UNITS[table["unit"]]
    return float(table["value"].partition(" ")[0]) * unit.factor + unit.offset
