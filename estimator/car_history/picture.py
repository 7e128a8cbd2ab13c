"""A car's quantities over the years as a picture: points, trend with its band, limits; black on white."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from estimator.car_history.due import Limits
from estimator.car_history.series import Series
from estimator.car_history.trend import DAYS, KINDS, trend
from estimator.drawing import GRAY, INK, LIGHT, drawn, plain_axes
from estimator.quantities import UNITS, from_si

_COLUMNS, _WIDE, _HIGH = 2, 5.4, 2.7
_MARKS = ("o", "s", "^", "D", "v", "P")
_DASHES = {"service": (0, (6, 2)), "danger": "solid"}
_STEPS = 40
NOTE = "bars and bands: 95%. Not permission to drive until a limit is reached: gas can be lost at once"
# A trend is drawn for so many years beyond the last visit: ours.
_AHEAD = 5.0


def picture(series: Sequence[Series], units: Mapping[str, str], limits: Limits, title: str, kind: str) -> bytes:
    """Return the picture, a panel for each check that has points; `units` by reference; kind: ".svg" or ".png"."""
    panels: dict[str, list[Series]] = {}
    for item in series:
        if item.points:
            panels.setdefault(item.check.id, []).append(item)
    rows = max(1, -(-len(panels) // _COLUMNS))

    def paint(drawing: Any) -> None:
        drawing.suptitle(title, fontsize=10, fontweight="bold", x=0.01, ha="left")
        drawing.supxlabel(NOTE, fontsize=8)
        for number, of_check in enumerate(panels.values(), 1):
            _panel(drawing.add_subplot(rows, _COLUMNS, number), of_check, units, limits)

    return drawn(paint, kind, (_COLUMNS * _WIDE, rows * _HIGH + 0.4), "car history")


def _panel(axes: Any, series: Sequence[Series], units: Mapping[str, str], limits: Limits) -> None:
    unit = units[series[0].ref]
    check = series[0].check
    for number, item in enumerate(series):
        for at, stretch in enumerate(item.stretches):
            axes.errorbar(
                [_year(point.day) for point in stretch],
                [from_si(point.si, unit) for point in stretch],
                yerr=[2 * point.u / UNITS[unit].factor for point in stretch],
                marker=_MARKS[number % len(_MARKS)],
                color=INK,
                markerfacecolor="white",
                markersize=5,
                linestyle="none",
                elinewidth=0.6,
                label=item.place.title if at == 0 and len(series) > 1 else None,
            )
        _trend(axes, item, unit)
    _limits(axes, [limits.get(item.ref, {}) for item in series], series[0].side, unit)
    judged = f", {check.judged_as}" if check.judged_as else ""
    axes.set_title(check.title + judged, fontsize=9, loc="left")
    axes.set_ylabel("" if unit == "count" else unit)
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:.0f}" if abs(value - round(value)) < 0.01 else "")
    axes.margins(x=0.04, y=0.12)
    plain_axes(axes)
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:,.10g}")
    axes.legend(loc="best", frameon=False, fontsize=7)


def _trend(axes: Any, item: Series, unit: str) -> None:
    found = trend(item)
    if found is None:
        return
    first, last = found.points[0].day, found.points[-1].day
    span = (last - first).days + _AHEAD * DAYS
    days = [first + dt.timedelta(days=round(span * step / _STEPS)) for step in range(_STEPS + 1)]
    bands = [found.band(day) for day in days]
    years = [_year(day) for day in days]
    low, high = ([from_si(value + side * half, unit) for value, half in bands] for side in (-1, 1))
    axes.fill_between(years, low, high, color=LIGHT, linewidth=0, zorder=0)
    axes.plot(years, [from_si(value, unit) for value, _ in bands], color=GRAY, linewidth=1.2)


def _limits(axes: Any, sides: Iterable[Mapping[str, Any]], end: str, unit: str) -> None:
    """A line for each limit; of places with different ones, each."""
    for kind, words in KINDS:
        levels = {side.get(f"{kind}_{end}", "") for side in sides}
        for number, level in enumerate(sorted(item for item in levels if isinstance(item, float))):
            label = words if number == 0 else None
            axes.axhline(from_si(level, unit), color=INK, linewidth=0.9, linestyle=_DASHES[kind], label=label)


def _year(day: dt.date) -> float:
    start = dt.date(day.year, 1, 1)
    return day.year + (day - start).days / (dt.date(day.year + 1, 1, 1) - start).days
