"""Which columns of a log hold time, pressure, temperature and lamp, and in which units."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from estimator.quantities import UNITS
from estimator.written_quantities import parse_quantity

ATMOSPHERE_PA = 101_325.0
TIMES = {
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), 1.0),
    **dict.fromkeys(("ms", "msec", "millisecond", "milliseconds"), 1e-3),
    **dict.fromkeys(("min", "minute", "minutes"), 60.0),
    **dict.fromkeys(("h", "hr", "hour", "hours"), 3600.0),
}
_PRESSURES = {name.casefold(): (unit.factor, 0.0) for name, unit in UNITS.items() if unit.kind == "pressure"}
_PRESSURES |= {"mbar": (100.0, 0.0), "hpa": (100.0, 0.0)}
_PRESSURES |= {f"{name}g": pair for name, pair in tuple(_PRESSURES.items()) if name in ("psi", "bar", "kpa", "mpa")}
_PRESSURES |= {
    f"{name}a": (_PRESSURES[name][0], -ATMOSPHERE_PA) for name in ("psi", "bar", "kpa", "mpa")
}  # absolute: a gauge reads an atmosphere less
_TEMPERATURES = {
    **dict.fromkeys(("°c", "degc", "c"), (1.0, 273.15)),
    **dict.fromkeys(("°f", "degf", "f"), (UNITS["°F"].factor, UNITS["°F"].offset)),
}
_BETWEEN = re.compile(r"[\s\[\](){},/_:;|]+")
_TIME_WORDS = re.compile(r"\b(time|timestamp|clock|elapsed|zeit|date ?time)\b|^t$", re.I)
_PRESSURE_WORDS = re.compile(r"press|druck|^p ?\d*$|^p\b|system", re.I)
_LAMP_WORDS = re.compile(r"\b(lamp|light)\b", re.I)


@dataclass(frozen=True)
class Chosen:
    """The columns that are read, by position, and `si = number * factor + offset` of each unit."""

    time: int
    time_factor: float  # 0 where the time is that of a clock
    pressure: int
    pressure_factor: float
    pressure_offset: float
    temperature: int | None = None
    temperature_unit: tuple[float, float] = (1.0, 273.15)
    lamp: int | None = None
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True)
class Wanted:
    """What a person says of a log's columns: a name or a number from 1, and a unit; nothing where the header tells."""

    time: str = ""
    time_unit: str = ""
    pressure: str = ""
    pressure_unit: str = ""


class NotChosen(ValueError):
    """What was found, what is needed, what to do."""


def choose(names: Sequence[str], units: Sequence[str], clock: Sequence[bool], wanted: Wanted, system: str) -> Chosen:
    """The columns of a log. Raises NotChosen where header and options leave one of them open.

    names, units: of each column, as the header has them, empty where it has none; clock: whether its first cell is a
    time of day; system: the number of the system, which chooses among several channels of pressure.
    """
    told = [_unit_told(name, unit) for name, unit in zip(names, units, strict=True)]
    time = _by_name(wanted.time, names, "--time-column")
    if time is None:
        time = next((place for place, yes in enumerate(clock) if yes), None)
    if time is None:
        time = next((place for place, unit in enumerate(told) if unit in TIMES), None)
    if time is None:
        time = next((place for place, name in enumerate(names) if _TIME_WORDS.search(name)), None)
    if time is None and not any(names):
        time = 0
    if time is None:
        raise NotChosen(
            f"no column of time among {_list(names)}", "a log has time and pressure", "name it: --time-column"
        )
    factor = 0.0 if clock[time] else _time_factor(wanted.time_unit or told[time], names[time])
    pressure = _pressure(names, told, time, wanted, system)
    unit = wanted.pressure_unit or told[pressure]
    warm = [place for place, unit in enumerate(told) if unit in _TEMPERATURES and place not in (time, pressure)]
    lamp = next((place for place, name in enumerate(names) if _LAMP_WORDS.search(name)), None)
    read = {time, pressure, lamp, *warm[:1]}
    left = tuple(name for place, name in enumerate(names) if place not in read and name)
    return Chosen(
        time,
        factor,
        pressure,
        *pressure_unit(unit, names[pressure]),
        temperature=warm[0] if warm else None,
        temperature_unit=_TEMPERATURES[told[warm[0]]] if warm else (1.0, 273.15),
        lamp=lamp if lamp not in (time, pressure) else None,
        left_out=left,
    )


def pressure_unit(unit: str, name: str = "") -> tuple[float, float]:
    """Factor and offset from a unit of pressure to pascals as a gauge reads them. Raises NotChosen.

    >>> pressure_unit("bar"), pressure_unit("bara")
    ((100000.0, 0.0), (100000.0, -101325.0))
    """
    if not unit:
        column = f' of "{name}"' if name else ""
        raise NotChosen(
            f"no unit of pressure{column}", "the header or an option gives it", "add --pressure-unit, such as psi"
        )
    if unit.casefold() in _PRESSURES:
        return _PRESSURES[unit.casefold()]
    try:
        quantity = parse_quantity(f"1 {unit}", "pressure")
    except ValueError:
        allowed = "psi, psia, kPa, bar, bara, MPa, mbar and units like them"
        raise NotChosen(f'"{unit}" is no unit of pressure', allowed, "correct --pressure-unit") from None
    return quantity.factor, quantity.offset


def _time_factor(unit: str, name: str) -> float:
    if unit.casefold() in TIMES:
        return TIMES[unit.casefold()]
    found = f'"{unit}" is no unit of time' if unit else f"no unit of time{f' of {name!r}' if name else ''}"
    raise NotChosen(found, "allowed: s, ms, min or h, in the header or as an option", "add --time-unit, such as s")


def _pressure(names: Sequence[str], told: Sequence[str], time: int, wanted: Wanted, system: str) -> int:
    named = _by_name(wanted.pressure, names, "--pressure-column")
    if named is not None:
        return named
    others = [place for place in range(len(names)) if place != time]
    found = [place for place in others if told[place] in _PRESSURES]
    found = found or [place for place in others if _PRESSURE_WORDS.search(names[place])]
    if not found and not any(names):
        found = others
    if len(found) > 1 and any(names):
        own = [place for place in found if re.search(rf"(?<!\d){re.escape(system)}(?!\d)", names[place])]
        found = own if len(own) == 1 else found
    if len(found) == 1:
        return found[0]
    several = f"{len(found)} columns may be the pressure: {_list(names[place] or str(place + 1) for place in found)}"
    raise NotChosen(
        several if found else f"no column of pressure among {_list(names)}",
        f"only one is read, that of system {system}",
        "name it, or give its number: --pressure-column",
    )


def _by_name(wanted: str, names: Sequence[str], option: str) -> int | None:
    if not wanted:
        return None
    if wanted.isdecimal() and 1 <= int(wanted) <= len(names):
        return int(wanted) - 1
    found = [place for place, name in enumerate(names) if name.strip().casefold() == wanted.strip().casefold()]
    found = found or [place for place, name in enumerate(names) if wanted.strip().casefold() in name.casefold()]
    if len(found) != 1:
        raise NotChosen(
            f'{len(found) or "no"} columns "{wanted}"', f"the columns are {_list(names)}", f"correct {option}"
        )
    return found[0]


def _unit_told(name: str, unit: str) -> str:
    """The unit that a header gives: that of a row of units, else the last word of the name."""
    known = {*TIMES, *_PRESSURES, *_TEMPERATURES}
    for text in (unit, name):
        words = [word for word in _BETWEEN.split(text.strip().casefold()) if word]
        if words and words[-1] in known and (len(words) > 1 or len(words[-1]) > 1 or text is unit or words[-1] == "s"):
            return words[-1]
    return ""


def is_unit(text: str) -> bool:
    """Whether a cell holds a unit alone, as in the second row of some headers."""
    word = text.strip().strip("[]()").casefold()
    return word in TIMES or word in _PRESSURES or word in _TEMPERATURES


def _list(names: Iterable[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)
