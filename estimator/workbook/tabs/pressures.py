"""The pressures of each system as the Summary draws them: what was read, marked on the service limits. On Workings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.limits.judging.judging import Judged
from estimator.workbook.book import Block, Column, Drawing, Series, Value, block
from estimator.workbook.tabs.common import decimals
from estimator.workbook.tabs.said_limits import number_said, said_formula

# What is drawn, in the order of its height: the check, what it is called, the mark of its readings.
_DRAWN = (
    ("precharge", "precharge", "square"),
    ("lamp-pressure", "lamp", "circle"),
    ("cut-in", "cut-in", "triangle"),
    ("cut-out", "cut-out", "diamond"),
)
_HOLD = ("hold-start", "hold")
_HALF, _BELOW = 0.09, 0.34
_NOWHERE = -1  # left of the axis, which begins at zero: not drawn
TITLE = "Pressures of each system"
ALT = (
    "A line for each system from zero upwards. Frames: the service limits of precharge, lamp, cut-in and cut-out. Black marks: "
    "the latest readings, with their numbers. A bar below: the pressure lost in 30 minutes. The same figures are on Inspection."
)


@dataclass(frozen=True)
class Point:
    """A point of the drawing; without a formula its place never changes."""

    ref: str
    label: str
    x: Value
    y: float
    formula: str | None = None
    said: str | None = None


@dataclass(frozen=True)
class _Line:
    """Points that belong together, drawn alike."""

    name: str
    look: str
    points: tuple[Point, ...]
    named: tuple[int, ...] = ()


def _lines(appraisal: Appraisal) -> Iterator[_Line]:
    systems = [system.id for system in appraisal.record.car.systems]
    height = {system: float(len(systems) - at) for at, system in enumerate(systems)}
    of_accumulator = {item.id: item.system for item in appraisal.record.car.accumulators}

    def y(item: Judged) -> float:
        place = item.row.place.id
        return height[of_accumulator.get(place, place)]

    for check, name, mark in _DRAWN:
        mine = [item for item in appraisal.judged if item.row.check.id == check and item.row.number == 1]
        frames: list[Point] = []
        for item in mine:
            frames += _frame(item, y(item))
        if mine:
            tops = tuple(1 + 6 * number for number in range(len(mine)))
            yield _Line(name, "frame", tuple(frames), tops)
            yield from (_Line("", mark, (_reading(item, y(item)),), (0,)) for item in mine)
    judged = {(item.row.check.id, item.row.place.id): item for item in appraisal.judged}
    for system in systems:
        pair = [judged[check, system] for check in _HOLD if (check, system) in judged]
        if len(pair) == len(_HOLD):
            points = tuple(_reading(item, height[system] - _BELOW) for item in pair)
            yield _Line("", "hold", points, (1,))


def _bases(appraisal: Appraisal, lines: list[_Line]) -> Iterator[_Line]:
    """A line for each system, from zero to the farthest point that is drawn."""
    drawn = [point for line in lines for point in line.points]
    farthest = max((float(point.x) for point in drawn if isinstance(point.x, float | int)), default=1.0)
    formula = f"=MAX({{drawn.{drawn[0].ref}.x~drawn.{drawn[-1].ref}.x}})" if drawn else None
    systems = [system.id for system in appraisal.record.car.systems]
    for at, system in enumerate(systems):
        y, name = float(len(systems) - at), system.replace("-", " ")
        ends = (
            Point(f"{system}-from", f"{name}, from", 0, y),
            Point(f"{system}-to", f"{name}, to", farthest, y, formula),
        )
        yield _Line(name, "base", ends, (0,))


def _all_lines(appraisal: Appraisal) -> list[_Line]:
    lines = list(_lines(appraisal))
    return [*lines, *_bases(appraisal, lines)]


def _frame(item: Judged, y: float) -> Iterator[Point]:
    corners = (("low", -1), ("low", 1), ("high", 1), ("high", -1), ("low", -1))
    for number, (end, side) in enumerate(corners):
        shown = item.limit_shown(f"service_{end}")
        limit = f"{{limit.{item.limits.ref}.service_{end}_shown}}"
        known = getattr(item.limits, f"service_{end}") and not isinstance(shown, str)
        yield Point(
            f"{item.ref}.frame-{number}",
            f"{item.label}: {end}, corner {number + 1}",
            shown if known else _NOWHERE,
            y + side * _HALF,
            f"=IF(ISNUMBER({limit}),{limit},-1)" if getattr(item.limits, f"service_{end}") else None,
        )
    yield Point(f"{item.ref}.frame-5", f"{item.label}: gap", None, y)


def _reading(item: Judged, y: float) -> Point:
    cells = [f"{{reading.{item.ref}.{phase}}}" for phase in ("after", "before")]
    formula = f"=IF(COUNT({cells[0]})>0,{cells[0]},IF(COUNT({cells[1]})>0,{cells[1]},-1))"
    x = _read(item)
    said = "" if x == _NOWHERE else number_said(float(x), item.digits)
    return Point(f"{item.ref}.read", f"{item.label}: read", x, y, formula, said)


def _read(item: Judged) -> float:
    for phase in ("after", "before"):
        si = item.phases[phase].si
        if not isinstance(si, str):
            return round((si - item.offset) / item.factor, 9)
    return _NOWHERE


def drawn_block(appraisal: Appraisal) -> Block:
    unit = appraisal.record.shop.show.pressure
    look = f"number-{decimals(unit)}"
    points = [point for line in _all_lines(appraisal) for point in line.points]

    def said(point: Point) -> str | None:
        return None if point.said is None else f'=IF({{x}}<0,"",{said_formula("{x}", decimals(unit))})'

    return block(
        "drawn",
        "Points of the drawing on the Summary",
        [
            Column("label", "point", "label"),
            Column("x", f"pressure, {unit}", look, lambda point: point.formula, unit=unit, value=lambda point: point.x),
            Column("y", "height, a count from below", "number-2"),
            Column("said", "as it is labelled", "words", said),
        ],
        points,
        kind="working",
    )


def drawing(appraisal: Appraisal, first: str, last: str) -> Drawing | None:
    """Return the drawing between two cells of a form, by their keys; None for a car without systems."""
    series = []
    for line in _all_lines(appraisal):
        keys = tuple(f"drawn.{point.ref}" for point in line.points)
        series.append(Series(line.name, keys, line.look, line.named))
    unit = appraisal.record.shop.show.pressure
    return Drawing(first, last, f"{TITLE}, {unit}", ALT, len(appraisal.record.car.systems), tuple(series))
