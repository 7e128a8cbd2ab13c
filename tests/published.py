"""Reading and running of published cases (published_cases/README.md says what a case holds)."""

from __future__ import annotations

import functools
import importlib
import math
import re
import tomllib
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "published_cases"
STATUSES = ("read", "second-hand", "memory", "computed", "common-practice")
REQUIRED = {"name", "source", "clause", "function", "inputs", "expected", "tolerance", "status"}
OPTIONAL = {"output"}
ATMOSPHERE_PA = 101325.0
_QUANTITY = re.compile(r"([+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?) (\S.*)")


@dataclass(frozen=True)
class Case:
    """One published case; `raw` is its table as written."""

    file: str
    raw: dict[str, Any]

    @property
    def name(self) -> str:
        return self.raw.get("name", "a case without a name")


@dataclass(frozen=True)
class Outcome:
    """What a case's function answered beside what was printed, as lists of numbers or words in the printed unit."""

    answered: list[Any]
    printed: list[Any]
    below: list[float]
    above: list[float]

    def agrees(self) -> bool:
        if len(self.answered) != len(self.printed):
            return False
        for got, want, below, above in zip(self.answered, self.printed, self.below, self.above, strict=True):
            if isinstance(want, str) or isinstance(got, str):
                if got != want:
                    return False
            elif not want - below <= got <= want + above:
                return False
        return True


def cases() -> list[Case]:
    return [
        Case(path.name, table)
        for path in sorted(FOLDER.glob("*.toml"))
        for table in tomllib.loads(path.read_text(encoding="utf-8"))["case"]
    ]


@functools.cache
def registry():
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def quantity(text: str):
    """The unit and number of "2200 psi", and whether it is a gauge pressure; None for other text."""
    match = _QUANTITY.fullmatch(text)
    if match is None:
        return None
    gauge = match[2].endswith(" gauge")
    try:
        unit = registry().Unit(match[2].removesuffix(" gauge"))
    except Exception:  # pint raises many kinds for what isn't a unit
        return None
    return float(match[1]), unit, gauge


def to_si(written: Any) -> Any:
    """What a function is given: text with a unit becomes its SI number, "none" becomes None, all else stays."""
    if written == "none":
        return None
    parsed = quantity(written) if isinstance(written, str) else None
    if parsed is None:
        return written
    number, unit, gauge = parsed
    return registry().Quantity(number, unit).to_base_units().magnitude + (ATMOSPHERE_PA if gauge else 0.0)


def from_si(answer: Any, printed: Any) -> Any:
    """An SI answer in the unit in which the source printed its own."""
    parsed = quantity(printed) if isinstance(printed, str) else None
    if parsed is None:
        return answer
    _, unit, gauge = parsed
    base = registry().Quantity(1, unit).to_base_units().units
    return registry().Quantity(float(answer) - (ATMOSPHERE_PA if gauge else 0.0), base).to(unit).magnitude


def run(case: Case) -> Outcome:
    """Calls the function of a case and lays its answer beside the printed one."""
    module, _, name = case.raw["function"].partition(":")
    function = getattr(importlib.import_module(module), name)
    answer = function(**{key: to_si(value) for key, value in case.raw["inputs"].items()})
    if "output" in case.raw:
        answer = getattr(answer, case.raw["output"])
    printed = case.raw["expected"]
    pairs = list(zip(_list(answer), _list(printed), strict=False))
    answered = [from_si(_plain(got), want) for got, want in pairs]
    numbers = [quantity(want)[0] if isinstance(want, str) and quantity(want) else want for want in _list(printed)]
    tolerance = case.raw["tolerance"]
    below, above = tolerance if isinstance(tolerance, list) else (tolerance, tolerance)
    return Outcome(
        answered if len(_list(answer)) == len(_list(printed)) else _list(answer),
        numbers,
        [_allowed(below, number) for number in numbers],
        [_allowed(above, number) for number in numbers],
    )


def last_digit(written: Any) -> float:
    """Half a step of the last digit that was printed; 0 for words and whole numbers given as numbers."""
    text = written.split(" ")[0] if isinstance(written, str) and quantity(written) else repr(written)
    if not re.fullmatch(r"[+-]?\d+(\.\d+)?", text):
        return 0.0
    return 0.5 * 10.0 ** (-len(text.partition(".")[2]))


def _list(value: Any) -> list[Any]:
    return list(value) if isinstance(value, (list, tuple)) else [value]


def _plain(value: Any) -> Any:
    return float(value) if isinstance(value, (Decimal, int)) and not isinstance(value, bool) else value


def _allowed(tolerance: Any, number: Any) -> float:
    if isinstance(number, str):
        return 0.0
    if isinstance(tolerance, str):
        share = float(tolerance.removesuffix("%").strip()) / 100
        return abs(float(number)) * share
    return float(tolerance) + 1e-12 * math.fabs(float(number))
