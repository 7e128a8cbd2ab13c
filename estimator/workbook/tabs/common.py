"""What several tabs share: cautions, look-ups, boxes, the head of a page."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.limits.judging.driving import GROUNDED
from estimator.quantities import UNITS
from estimator.records import CarIdentity
from estimator.workbook.book import Block, Box, Column, Mark, Value, block
from estimator.workbook.forms import Form, words

NEVER_SAFE = "This workbook never states that a car is safe. It records measurements and faults."
# The whole caution, in lines that fit on a page.
CAUTIONS = (
    "Work on stored-pressure brakes is for qualified people. Local codes and licensed practice come before this program.",
    "Depressurize first: engine off and start disabled, car supported, other circuits on the supply isolated and depressurized.",
    "Pump the pedal, open a bleeder into a hose until both gauges read zero. Lamps do not prove zero. Repeat after every engine",
    "run. Gauges at zero do not prove every branch: open each bleeder into a hose before its branch (a valve can trap pressure).",
    "The gas side stays charged: never open it, heat it or weld near it. Eye protection on. Never feel for a leak: a jet",
    f"penetrates skin. Injection injury: emergency room at once. {NEVER_SAFE}",
)
# The same in two lines of a printed page.
PAGE_CAUTIONS = (
    "Stored pressure: for qualified people; local codes come first. Depressurize first, again after every engine run: both gauges",
    "at zero. Lamps do not prove zero, gauges do not prove every branch. This page never states that a car is safe.",
)
CAR_CAUTION = "Isolate other circuits on the supply; gas stays charged. Eye protection on. Never feel for a leak: a jet penetrates."


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


def reading_look(unit: str) -> str:
    """The look of a box for a reading: pressures of four digits with their thousands apart, others as they are typed."""
    return "reading-whole" if UNITS[unit].kind == "pressure" and not UNITS[unit].decimals else "reading"


def words_box(title: str, prompt: str = "") -> Box:
    return Box("text", title=title, prompt=prompt)


def list_box(title: str, allowed: tuple[str, ...], prompt: str = "") -> Box:
    return Box("list", allowed=allowed, title=title, prompt=prompt)


def number_box(title: str, low: float, high: float, prompt: str = "") -> Box:
    return Box("number", low=low, high=high, title=title, prompt=prompt)


def date_box(title: str, prompt: str = "") -> Box:
    return Box("date", title=title, prompt=prompt)


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


def document_words(appraisal: Appraisal) -> str:
    """The document of a page in a few words."""
    record = appraisal.record
    car = record.car.car
    said = (f"{record.job.document} r{record.job.revision}", car_words(car, " "), car.plate, record.job.customer.name)
    return " · ".join(text for text in said if text)


def car_words(car: CarIdentity, between: str = ", ") -> str:
    """A car by its name and, where it is known, its year."""
    return between.join(str(part) for part in (car.name, car.year) if part)


def cut(text: str, most: int) -> str:
    """A text that fits in so many letters.

    >>> cut("Wren Castellow", 8), cut("Wren", 8)
    ('Wren Ca…', 'Wren')
    """
    return text if len(text) <= most else text[: most - 1] + "…"


def written(appraisal: Appraisal, day: dt.date) -> str:
    """A day as the shop writes it."""
    return appraisal.record.shop.show.written(day)


def date_look(appraisal: Appraisal, look: str = "date") -> str:
    """The look of a day, as the shop writes it."""
    return f"{look} {appraisal.record.shop.show.dates}"


def letterhead(form: Form, appraisal: Appraisal, title: str, right: str, last: int) -> None:
    """The first rows of a document: the shop, a thick line, the title with what it is a document of."""
    shop, job = appraisal.record.shop.shop, appraisal.record.job
    where = ", ".join(shop.address)
    reach = cut(
        " · ".join(text for text in (shop.phone, shop.email, shop.tax_id and f"tax no. {shop.tax_id}") if text), 84
    )
    form.row("shop", [words(1, cut(shop.name, 44), "shop"), words(last, where, "t9-right")], 28)
    form.row("reach", [words(1, "Stored-pressure brakes", "t9"), words(last, reach, "t9-right")], 15, "thick")
    said = f"{job.document}, revision {job.revision} · {right}"
    form.row("title", [words(1, title, "page-title"), words(last, said, "b105-right")], 26)


def page_head(form: Form, appraisal: Appraisal, ref: str, title: str, last: int, *, page: bool = False) -> None:
    """The first rows of a further page: shop and document above a thick line, its title below."""
    said = cut(document_words(appraisal), 80)
    shop = cut(appraisal.record.shop.shop.name, 40)
    form.row(f"{ref}-shop", [words(1, shop, "b105"), words(last, said, "t9-right")], 17, "thick", page=page)
    dated = f"dated {written(appraisal, appraisal.record.job.date)}"
    form.row(f"{ref}-title", [words(1, title, "page-title"), words(last, dated, "b105-right")], 24)


def grounded(key: str, across: int) -> Mark:
    """White on black for the cell of a state that grounds the car, and those beside it."""
    return Mark(key, "OR(" + ",".join(f'{{state.driving.value}}="{word}"' for word in GROUNDED) + ")", "ground", across)
