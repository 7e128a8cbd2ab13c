"""The letter's two figures as inline SVG: the reserve of each system, and the deceleration in each failure state.

Lines and words carry the meaning, one light fill beside them. Text stays text, in the page's own type. The prices stand
in a table: each is read by itself, and a picture would say less.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from estimator.appraisal import Appraisal
from estimator.letters.formats import NBSP, capital, figure, listing
from estimator.letters.svg import inline
from estimator.limits.charted_figures import Stopping, charted, reserves, stoppings
from estimator.quantities import to_si

if TYPE_CHECKING:
    from markupsafe import Markup

G = 9.80665
# Points; a page shows three figures side by side.
WIDTH, FONT, SMALL = 2.4, 8.8, 8.5
FILL, INK = "#DCEFFA", "#111111"
_STATES = {
    "everything": "all systems working",
    "pedal circuit alone": "both pressure systems empty",
    "rear restricted": "deceleration valve stuck closed",
    "valve stuck open": "deceleration valve stuck open",
}
_ASKED_OF = {
    "service-deceleration": "the reference with all systems working",
    "secondary-deceleration": "the reference with part of the brakes failed",
}


@dataclass(frozen=True)
class Picture:
    """A figure: its SVG, and what it shows in words for those who don't see it."""

    svg: Markup
    title: str
    words: str


def reserve_pictures(appraisal: Appraisal) -> tuple[Picture, ...]:
    """For each system the pressure after each application without recharging, with its lamp and its secondary pressure."""
    found = []
    unit = appraisal.record.shop.show.pressure
    systems = charted(appraisal.workings, appraisal.record.car.places.systems)
    for place, system in enumerate(systems):
        rows = [
            (row.after[place], row.lamp[place], row.secondary[place]) for row in reserves(appraisal.workings, systems)
        ]
        numbers = [tuple(value for value in row if isinstance(value, int | float)) for row in rows]
        if not rows or any(len(row) < 3 for row in numbers):
            continue
        after = [row[0] for row in numbers]
        lamp, secondary = numbers[0][1], numbers[0][2]
        name = system.replace("-", " ")
        title = f"{capital(name)}: pressure left after each full application, engine stopped"
        steps = listing(f"{figure(value, unit)} after {count}" for count, value in enumerate(after) if count)
        words = (
            f"Starts at {figure(after[0], unit)}, falls to {steps}. The warning lamp comes on at {figure(lamp, unit)}; "
            f"below {figure(secondary, unit)} the minimum braking is no longer reached."
        )
        draw = _reserve(capital(name), after, lamp, secondary, unit)
        found.append(Picture(_drawn(draw, 1.9, f"reserve-{place + 1}", title, words), title, words))
    return tuple(found)


def stopping_picture(appraisal: Appraisal) -> Picture | None:
    """The deceleration in each failure state against its reference value, in g; None where none is known."""
    unit = appraisal.record.shop.show.acceleration
    known = [
        _State(
            state_words(row),
            _in_g(row.road, unit),
            _in_g(row.asked, unit),
            isinstance(row.spare, float) and row.spare < -1e-9,
        )
        for row in stoppings(appraisal.workings)
        if isinstance(row.road, float) and isinstance(row.asked, float)
    ]
    if not known:
        return None
    title = "Deceleration in each state of the brakes, against its reference value"
    words = " ".join(f"{capital(row.words)}: {row.numbers}." for row in known)
    return Picture(_drawn(_stopping(known), 0.34 * len(known) + 0.3, "stopping", title, words), title, words)


def state_words(row: Stopping) -> str:
    return _STATES.get(row.label, row.label)


def yardsticks(appraisal: Appraisal) -> tuple[str, ...]:
    """The published decelerations that the states are set against, in g, each with its source and how far it binds."""
    unit = appraisal.record.shop.show.acceleration
    asked = [to_si(row.asked, unit) for row in stoppings(appraisal.workings) if isinstance(row.asked, float)]
    found = []
    for fact in appraisal.facts:
        if fact.unit == "m/s²" and any(math.isclose(fact.si, value, rel_tol=1e-9) for value in asked):
            source = f"{fact.source}, {fact.clause}" if fact.clause else fact.source
            told = ["computed from a published stopping distance" if fact.status == "computed" else source]
            title = _ASKED_OF.get(fact.id, fact.title)
            found.append(f"{_g_words(fact.si / G)} is {title} ({'; '.join((*told, fact.kind))})")
    return tuple(found)


def _in_g(value: float, unit: str) -> float:
    return to_si(value, unit) / G


def _g_words(value: float) -> str:
    return f"{value:.2f}{NBSP}g"


@dataclass(frozen=True)
class _State:
    """A state of the brakes: the deceleration reached and its reference, in g; whether it stays below that."""

    words: str
    road: float
    asked: float
    short: bool

    @property
    def numbers(self) -> str:
        return f"{_g_words(self.road)}; reference {_g_words(self.asked)}{', not reached' if self.short else ''}"


def _reserve(name: str, after: list[float], lamp: float, secondary: float, unit: str) -> Callable[[Any], None]:
    def draw(axes: Any) -> None:
        last = len(after) - 1
        counts = range(len(after))
        axes.fill_between(counts, [max(value, secondary) for value in after], secondary, color=FILL, linewidth=0)
        axes.plot(counts, after, color=INK, linewidth=2.2)
        axes.plot([0, last], [lamp, lamp], color=INK, linewidth=1.0, linestyle=(0, (5, 3)))
        axes.plot([0, last], [secondary, secondary], color=INK, linewidth=1.0, linestyle=(0, (1, 2)))
        top = max(*after, lamp, secondary) * 1.12
        axes.set_xlim(0, last)
        axes.set_ylim(0, top)
        below = -0.02 * top
        axes.text(last * 0.02, lamp + below, f"warning lamp, {figure(lamp, unit)}", fontsize=SMALL, va="top")
        axes.text(
            last * 0.02, secondary + below, f"minimum for stopping, {figure(secondary, unit)}", fontsize=SMALL, va="top"
        )
        over = after[round(last * 0.75)]  # where the label begins, the falling line is higher
        axes.text(last, over + 0.02 * top, figure(after[-1], unit), fontsize=SMALL, va="bottom", ha="right")
        axes.set_xticks([count for count in counts if count % 4 == 0])
        axes.set_title(f"{name}, {unit}", fontsize=FONT, fontweight="bold", loc="left", pad=6)
        axes.set_xlabel("full applications, engine stopped", fontsize=SMALL, loc="left")
        axes.yaxis.set_major_locator(_ticks())
        axes.yaxis.set_major_formatter(lambda value, _: figure(value, "count"))

    return draw


def _ticks() -> Any:
    from matplotlib.ticker import MaxNLocator

    return MaxNLocator(nbins=5, steps=[1, 2, 5, 10])


def _stopping(rows: list[_State]) -> Callable[[Any], None]:
    def draw(axes: Any) -> None:
        most = max(max(row.road, row.asked) for row in rows)
        for place, row in enumerate(rows):
            y = -float(place)
            axes.barh(y, row.road, height=0.38, align="edge", color=FILL, edgecolor=INK, linewidth=0.8)
            axes.plot([row.asked] * 2, [y - 0.08, y + 0.46], color=INK, linewidth=2.6, solid_capstyle="butt")
            axes.text(0, y + 0.52, capital(row.words), fontsize=SMALL, va="bottom", fontweight="bold")
            reached, at = _g_words(row.road), row.road
            if row.short:
                reached, at = f"{reached}: below reference", row.asked + most * 0.01
            axes.text(at + most * 0.015, y + 0.19, reached, fontsize=SMALL, va="center")
        axes.set_xlim(0, most * 1.2)
        axes.set_ylim(-(len(rows) - 1) - 0.2, 1.0)
        axes.set_yticks([])
        axes.set_xlabel("deceleration, g", fontsize=SMALL, loc="left")

    return draw


def _drawn(draw: Callable[[Any], None], height: float, name: str, title: str, words: str) -> Markup:
    """The SVG of a figure, the same each time."""
    import io
    import logging

    # Without a font cache that can be written, matplotlib speaks of it on standard error.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    settings: Any = {  # matplotlib names every key of it in its types
        "svg.fonttype": "none",
        "svg.hashsalt": name,
        "font.family": ["DejaVu Sans"],
        "font.size": FONT,
        "text.color": INK,
        "axes.edgecolor": INK,
        "axes.labelcolor": INK,
        "xtick.color": INK,
        "ytick.color": INK,
        "path.simplify": False,
    }
    with matplotlib.rc_context(rc=settings):
        picture = Figure(figsize=(WIDTH, height), layout="constrained")
        canvas = FigureCanvasSVG(picture)
        axes = picture.add_subplot()
        for side in ("top", "right", "left"):
            axes.spines[side].set_visible(False)
        axes.tick_params(length=3, width=0.8, labelsize=SMALL)
        draw(axes)
        written = io.BytesIO()
        nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
        canvas.print_svg(written, metadata=nothing)  # type: ignore[no-untyped-call]  # matplotlib gives it no types
    return inline(written.getvalue(), name, title, words)
