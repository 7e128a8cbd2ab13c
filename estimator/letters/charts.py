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
from estimator.letters.formats import capital, figure, listing
from estimator.letters.reading_phrases import FROM_MEMORY
from estimator.letters.svg import inline
from estimator.limits.charted_figures import Stopping, charted, reserves, stoppings
from estimator.quantities import from_si

if TYPE_CHECKING:
    from markupsafe import Markup

# Points; a figure is drawn for the width of a phone, and a page shows two side by side.
WIDTH, FONT, SMALL = 3.4, 9.0, 8.0
FILL, INK = "#DCEFFA", "#111111"
_STATES = {
    "everything": "everything in order",
    "pedal circuit alone": "both pressure systems empty",
    "rear restricted": "deceleration valve stuck closed",
    "valve stuck open": "deceleration valve stuck open",
}
_ASKED_OF = {
    "service-deceleration": "asked for where everything works",
    "secondary-deceleration": "asked for where a part of the brakes has failed",
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
            f"Starts at {figure(after[0], unit)}, falls to {steps}. The warning lamp lights at {figure(lamp, unit)}; below "
            f"{figure(secondary, unit)} the least braking asked for is no longer reached."
        )
        draw = _reserve(capital(name), after, lamp, secondary, unit)
        found.append(Picture(_drawn(draw, 2.5, f"reserve-{place + 1}", title, words), title, words))
    return tuple(found)


def stopping_picture(appraisal: Appraisal) -> Picture | None:
    """The deceleration in each failure state against what the yardstick asks for; None where none is known."""
    unit = appraisal.record.shop.show.acceleration
    known = [
        row for row in stoppings(appraisal.workings) if isinstance(row.road, float) and isinstance(row.asked, float)
    ]
    if not known:
        return None
    title = "Deceleration in each state of the brakes, against what the yardstick asks for"
    words = " ".join(f"{capital(state_words(row))}: {_numbers(row, unit)}." for row in known)
    return Picture(_drawn(_stopping(known, unit), 0.52 * len(known) + 0.34, "stopping", title, words), title, words)


def state_words(row: Stopping) -> str:
    return _STATES.get(row.label, row.label)


def yardsticks(appraisal: Appraisal) -> tuple[str, ...]:
    """The published decelerations that the states are set against, each with its source and how far it binds."""
    asked = [row.asked for row in stoppings(appraisal.workings) if isinstance(row.asked, float)]
    unit = appraisal.record.shop.show.acceleration
    found = []
    for fact in appraisal.facts:
        if fact.unit == "m/s²" and any(math.isclose(from_si(fact.si, unit), value, rel_tol=1e-9) for value in asked):
            source = f"{fact.source}, {fact.clause}" if fact.clause else fact.source
            told = ["computed from a published stopping distance" if fact.status == "computed" else source]
            told += [FROM_MEMORY] if "memory" in fact.status else []
            title = _ASKED_OF.get(fact.id, fact.title)
            found.append(f"{figure(from_si(fact.si, unit), unit)} is {title} ({'; '.join((*told, fact.kind))})")
    return tuple(found)


def _numbers(row: Stopping, unit: str) -> str:
    assert isinstance(row.road, float) and isinstance(row.asked, float)
    short = ", not reached" if isinstance(row.spare, float) and row.spare < -1e-9 else ""
    return f"{figure(row.road, unit)}; asked for {figure(row.asked, unit)}{short}"


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
            last * 0.02, secondary + below, f"least for stopping, {figure(secondary, unit)}", fontsize=SMALL, va="top"
        )
        over = after[round(last * 0.75)]  # where the label begins, the falling line is higher
        axes.text(last, over + 0.02 * top, figure(after[-1], unit), fontsize=SMALL, va="bottom", ha="right")
        axes.set_xticks([count for count in counts if count % 2 == 0])
        axes.set_title(f"{name}, {unit}", fontsize=FONT, fontweight="bold", loc="left", pad=6)
        axes.set_xlabel("full applications, engine stopped", fontsize=SMALL, loc="left")
        axes.yaxis.set_major_locator(_ticks())
        axes.yaxis.set_major_formatter(lambda value, _: figure(value, "count"))

    return draw


def _ticks() -> Any:
    from matplotlib.ticker import MaxNLocator

    return MaxNLocator(nbins=5, steps=[1, 2, 5, 10])


def _stopping(rows: list[Stopping], unit: str) -> Callable[[Any], None]:
    def draw(axes: Any) -> None:
        most = max(max(float(row.road), float(row.asked)) for row in rows)
        for place, row in enumerate(rows):
            y = -float(place)
            axes.barh(y, float(row.road), height=0.38, align="edge", color=FILL, edgecolor=INK, linewidth=0.8)
            axes.plot([float(row.asked)] * 2, [y - 0.08, y + 0.46], color=INK, linewidth=2.6, solid_capstyle="butt")
            axes.text(0, y + 0.52, capital(state_words(row)), fontsize=SMALL, va="bottom", fontweight="bold")
            reached, at = figure(float(row.road), unit), float(row.road)
            if isinstance(row.spare, float) and row.spare < -1e-9:
                reached, at = f"{reached}: short of it", float(row.asked) + most * 0.01
            axes.text(at + most * 0.015, y + 0.19, reached, fontsize=SMALL, va="center")
        axes.set_xlim(0, most * 1.2)
        axes.set_ylim(-(len(rows) - 1) - 0.2, 1.0)
        axes.set_yticks([])
        axes.set_xlabel(f"deceleration, {unit}", fontsize=SMALL, loc="left")

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
