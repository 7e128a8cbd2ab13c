"""Drawings in black on white, the same bytes each time for the same figures: what all pictures share."""

from __future__ import annotations

import io
import logging
from collections.abc import Callable
from pathlib import Path
from typing import Any

from estimator.errors import CannotWrite

SUFFIXES = (".svg", ".png")
INK, GRAY, LIGHT = "#111111", "#8A8A8A", "#E4E4E4"


def refuse_suffix(path: Path) -> None:
    """Refuse a picture that is neither SVG nor PNG. Raises CannotWrite."""
    if path.suffix.lower() not in SUFFIXES:
        raise CannotWrite(path, "a picture is written as SVG or PNG", "give a name that ends in .svg or .png")


def drawn(paint: Callable[[Any], None], kind: str, size: tuple[float, float], salt: str) -> bytes:
    """Return what `paint` draws on a figure, as ".svg" or ".png"; size in inches; salt: of the names inside an SVG."""
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    settings: Any = {
        "svg.fonttype": "none",
        "svg.hashsalt": salt,
        "font.family": ["DejaVu Sans"],
        "font.size": 9.0,
        "axes.edgecolor": INK,
        "path.simplify": False,
    }
    with matplotlib.rc_context(rc=settings):
        figure = Figure(figsize=size, layout="constrained", dpi=150)
        FigureCanvasAgg(figure)
        paint(figure)
        written = io.BytesIO()
        nothing = {"Date": None, "Creator": None} if kind == ".svg" else {"Software": None}
        figure.savefig(written, format=kind[1:], metadata=nothing)
    return written.getvalue()


def plain_axes(axes: Any) -> None:
    """Leave two sides, a light grid, and numbers with their thousands apart."""
    axes.grid(color=LIGHT, linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}" if abs(value) >= 10 or value == 0 else f"{value:g}")
