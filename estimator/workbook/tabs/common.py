"""What several tabs share: cautions, look-ups, boxes, the head of a page."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.limits.judging.driving import GROUNDED
from estimator.quantities import UNITS
from estimator.records import CarIdentity
from estimator.text_width import text_lines, text_width
from estimator.workbook.book import Block, Box, Column, Mark, Value, block
from estimator.workbook.form_styles import form_look
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


# Pixels of a cell beside its text, and of the columns that are printed.
PAD, PRINTED = 6, 668


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


def documents(appraisal: Appraisal) -> Iterator[str]:
    """The document of a page in a few words, then in fewer."""
    record = appraisal.record
    car, who = record.car.car, record.job.customer.name
    document = f"{record.job.document} r{record.job.revision}"
    for said in ((car_words(car, " "), car.plate, who), (car.plate, who), (who,), (car.plate,), ()):
        yield " · ".join(text for text in (document, *said) if text)


def car_words(car: CarIdentity, between: str = ", ") -> str:
    """A car by its name and, where it is known, its year."""
    return between.join(str(part) for part in (car.name, car.year) if part)


def wide(text: str, look: str) -> float:
    """The width of a text in a look of a form, in pixels, with what a cell keeps free beside it."""
    size, bold = _type(look)
    return text_width(text, size, bold=bold) + PAD


def _type(look: str) -> tuple[float, bool]:
    """The size of the type of a look of a form, in points, and whether it is bold."""
    of = form_look(look, boxed=False, line="", column=1, last=1)
    return of["font_size"], of.get("bold", False)


def stacked(
    form: Form,
    widths: Sequence[int],
    ref: str,
    texts: Mapping[int, tuple[str, int, str]],
    height: float,
    line: str = "",
) -> None:
    """Add texts side by side in as many rows as the longest needs. texts: by the first column, each with the last column that
    it may run over, and its look."""
    broken: dict[int, list[str]] = {}
    for first, (text, last, look) in texts.items():
        size, bold = _type(look)
        broken[first] = text_lines(text, sum(widths[first - 1 : last]) - PAD, size, bold=bold)
    most = max(map(len, broken.values()))
    for at in range(most):
        cells = [words(first, lines[at], texts[first][2]) for first, lines in broken.items() if at < len(lines)]
        form.row(f"{ref}-{at + 1}" if at else ref, cells, height - 3 * bool(at), line if at == most - 1 else "")


def written(appraisal: Appraisal, day: dt.date) -> str:
    """A day as the shop writes it."""
    return appraisal.record.shop.show.written(day)


def date_look(appraisal: Appraisal, look: str = "date") -> str:
    """The look of a day, as the shop writes it."""
    return f"{look} {appraisal.record.shop.show.dates}"


def letterhead(form: Form, appraisal: Appraisal, title: str, right: str, last: int) -> None:
    """The first rows of a document: the shop, a thick line, the title with what it is a document of."""
    shop, job = appraisal.record.shop.shop, appraisal.record.job
    where, trade = ", ".join(shop.address), "Stored-pressure brakes"
    reach = " · ".join(text for text in (shop.phone, shop.email, shop.tax_id and f"tax no. {shop.tax_id}") if text)
    look = _first_that_fits({"shop": shop.name, "page-title": shop.name}, where) or "b105"
    trade = trade if wide(trade, "t9") + wide(reach, "t9") <= PRINTED else ""
    form.row("shop", [words(1, shop.name, look), words(last, where, "t9-right")], 28)
    form.row("reach", [words(1, trade, "t9"), words(last, reach, "t9-right")], 15, "thick")
    said = f"{job.document}, revision {job.revision} · {right}"
    form.row("title", [words(1, title, "page-title"), words(last, said, "b105-right")], 26)


def _first_that_fits(texts: Mapping[str, str], beside: str) -> str:
    """The first look in which its text has room on a line with small type beside it; "" for none."""
    return next((look for look, text in texts.items() if wide(text, look) + wide(beside, "t9") <= PRINTED), "")


def page_head(form: Form, appraisal: Appraisal, ref: str, title: str, last: int, *, page: bool = False) -> None:
    """The first rows of a further page: shop and document above a thick line, its title below."""
    shop = appraisal.record.shop.shop.name
    room = PRINTED - wide(shop, "b105")
    said = next((text for text in documents(appraisal) if wide(text, "t9") <= room), "")
    form.row(f"{ref}-shop", [words(1, shop, "b105"), words(last, said, "t9-right")], 17, "thick", page=page)
    dated = f"dated {written(appraisal, appraisal.record.job.date)}"
    form.row(f"{ref}-title", [words(1, title, "page-title"), words(last, dated, "b105-right")], 24)


def grounded(key: str, across: int) -> Mark:
    """White on black for the cell of a state that grounds the car, and those beside it."""
    return Mark(key, "OR(" + ",".join(f'{{state.driving.value}}="{word}"' for word in GROUNDED) + ")", "ground", across)
