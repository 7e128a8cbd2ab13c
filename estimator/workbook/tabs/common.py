"""What several tabs share: cautions, columns that look things up, boxes."""

from __future__ import annotations

from dataclasses import dataclass
from operator import attrgetter

from estimator.appraisal import Appraisal
from estimator.quantities import UNITS
from estimator.workbook.book import Block, Box, Column, Value, block

QUALIFIED = "Work on stored-pressure brakes is for qualified people. Local codes and licensed practice come before this program."
RELEASE = (
    "Release the pressure first: engine off and start prevented, other users of the supply released and the car supported, "
    "pedal pumped,"
)
RELEASED = (
    "bleed opened through a tube, both gauges at zero. A dark or a lit lamp isn't zero. Again after every engine run."
)
GAS = "The gas side stays charged: never open it, heat it or weld near it. Eye protection on."
INJECTION = "A jet of fluid injects through skin: never search a leak by hand; an injection is an emergency."
NEVER_SAFE = "Nothing here says that a car is safe. What is said is what was measured, and what was found wrong."
PAGE_CAUTION = (
    "Qualified people only. Release the pressure first, again after every engine run: both gauges at zero. "
    "Local codes and licensed practice come before this page."
)
DESK_CAUTIONS = (QUALIFIED, RELEASE, RELEASED, NEVER_SAFE)
WORKSHOP_CAUTIONS = (QUALIFIED, RELEASE, RELEASED, GAS, INJECTION, NEVER_SAFE)


@dataclass(frozen=True)
class Pair:
    """A named figure."""

    ref: str
    label: str
    value: Value


def lookup(column: str, key: str, keys: str) -> str:
    """INDEX and exact MATCH: the value of `column` where `keys` holds `key`. Names as formula templates write them."""
    return f"INDEX({{{column}}},MATCH({key},{{{keys}}},0))"


def decimals(unit: str) -> int:
    return UNITS[unit].decimals


def words_box(title: str, prompt: str = "") -> Box:
    return Box("text", title=title, prompt=prompt)


def list_box(title: str, allowed: tuple[str, ...], prompt: str = "") -> Box:
    return Box("list", allowed=allowed, title=title, prompt=prompt)


def number_box(title: str, low: float, high: float, prompt: str = "") -> Box:
    return Box("number", low=low, high=high, title=title, prompt=prompt)


def typed(name: str, heading: str, box: Box, look: str = "text") -> Column:
    """A column of boxes in lines of parts, or in those that people fill in."""
    return Column(name, heading, look, box=box, value=attrgetter(f"boxes.{name}"))


def head(appraisal: Appraisal, tab: str) -> Block:
    """The frozen row under a tab's title: what may be done with the car."""
    return head_block(appraisal.driving.state, tab)


def head_block(state: str, tab: str) -> Block:
    """The frozen row of a tab, from words alone."""
    columns = [Column("state", "", "state", "={state.driving.value}", value=lambda item: item)]
    return block(f"head_{tab}", "", columns, [state], ref=lambda item: "now")


def titled(words: str, appraisal: Appraisal) -> str:
    """A tab's title with the document that it belongs to."""
    job = appraisal.record.job
    return f"{words} · {job.document} revision {job.revision}"
