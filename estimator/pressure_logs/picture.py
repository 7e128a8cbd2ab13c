"""A log as a picture: the curve, what was fitted, the knee with its band, cut-in and cut-out; black on white."""

from __future__ import annotations

from typing import Any

import numpy as np

from estimator.drawing import GRAY, INK, LIGHT, drawn, plain_axes
from estimator.pressure_logs.figures import Figure, LogFindings
from estimator.pressure_logs.log_file import Numbers
from estimator.quantities import UNITS

_MARKED = {
    "precharge": "D",
    "cut-in": "^",
    "cut-out": "v",
    "hold-start": "o",
    "hold": "o",
    "after": ".",
    "lamp-pressure": "s",
}
_MOST_WORDS = 6


PAGE, PHONE = (7.0, 4.0), (3.4, 2.9)


def picture(found: LogFindings, title: str, pressure_unit: str, kind: str, size: tuple[float, float] = PAGE) -> bytes:
    """Return the picture of a log, the same each time for the same log.

    found: log and figures; title: words above it; pressure_unit: of the axis; kind: ".svg" or ".png"; size: in inches. A
    long log is drawn as the least and greatest of each of 1,200 columns, or 400 in a picture for a phone.
    """

    def paint(drawing: Any) -> None:
        axes = drawing.add_subplot()
        _draw(axes, found, UNITS[pressure_unit].factor, pressure_unit, small=size != PAGE)
        axes.set_title(title, fontsize=10, fontweight="bold", loc="left")

    return drawn(paint, kind, size, "pressure log")


def _draw(axes: Any, found: LogFindings, factor: float, unit: str, *, small: bool) -> None:
    lasted = found.log.duration
    per, name = (1.0, "s") if lasted < 300 else (60.0, "min") if lasted < 18_000 else (3600.0, "h")
    time, low, high = _envelope(found.log.time, found.log.pressure, 400 if small else 1200)
    axes.fill_between(time / per, low / factor, high / factor, color=GRAY, linewidth=0.8, label="recorded")
    for line in found.lines:
        axes.plot(
            line.time / per, line.pressure / factor, color=INK, linewidth=1.6, linestyle=(0, (5, 2)), label="fitted"
        )
    marked = [figure for figure in found.figures if figure.quantity == "pressure" and figure.at is not None]
    for figure in marked:
        shape = _MARKED.get(figure.ref.partition(".")[0])
        if shape is None or figure.at is None:
            continue
        value, at = figure.value / factor, figure.at / per
        if figure.ref == "precharge":
            band = 2 * figure.u / factor
            axes.axhspan(value - band, value + band, color=LIGHT, zorder=0, label="precharge ± 2u")
        axes.plot(
            [at], [value], marker=shape, color="white", markeredgecolor=INK, markersize=6, linestyle="none", zorder=3
        )
    for figure in _with_words(marked):
        standing = "" if figure.standing == "reading" else f" {figure.standing}"
        number = f"{figure.value / factor:,.{UNITS[unit].decimals}f}"
        words = number if small and figure.ref.startswith("cut-") else f"{figure.title}:{standing} {number}"
        across, up, side = _beside(figure, (figure.at or 0.0) > 0.5 * lasted)
        axes.annotate(
            words,
            ((figure.at or 0.0) / per, figure.value / factor),
            xytext=(across, up),
            textcoords="offset points",
            ha=side,
            fontsize=8,
            color=INK,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.5},
        )
    axes.set_xlabel(f"time, {name}", loc="left")
    axes.set_ylabel(f"pressure on the gauge, {unit}")
    axes.set_xlim(0, lasted / per)
    axes.margins(y=0.12)
    plain_axes(axes)
    axes.legend(loc="best", frameon=False, fontsize=8)


def _with_words(marked: list[Figure]) -> list[Figure]:
    """The marks that are named in the picture: all where they are few, else the first and the last."""
    return marked if len(marked) <= _MOST_WORDS else [marked[0], marked[-1]]


def _beside(figure: Figure, late: bool) -> tuple[int, int, str]:
    """Where the words stand beside their mark, in points: away from the curve."""
    if figure.ref.startswith("cut-"):
        return 0, (9 if figure.ref.startswith("cut-out") else -16), "center"
    if late:
        return -8, -16, "right"
    return 8, (-16 if figure.ref == "precharge" else 8), "left"


def _envelope(time: Numbers, pressure: Numbers, most: int) -> tuple[Numbers, Numbers, Numbers]:
    """Least and greatest pressure of each column of the picture."""
    size = max(1, len(time) // most)
    starts = np.arange(0, len(time), size)
    low, high = np.minimum.reduceat(pressure, starts), np.maximum.reduceat(pressure, starts)
    return time[starts], low, high
