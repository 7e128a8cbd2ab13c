"""What an advisor types into the boxes of a workbook: decisions, quantities, spare lines, discount, consent."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from random import Random

from shop_strategies import DAY, TEXTS

from estimator.appraisal import Appraisal
from estimator.pricing.consents import STAGE_WORDS, WAY_WORDS
from estimator.pricing.money_lines import CONDITIONS, FAMILIES
from estimator.records import EntryValue

NOT_NUMBERS = ("2,150 psi", "152bar", "n/a", "=2150", "2200-2250", "OK", " ", "1 1/4")
Entries = Iterator[tuple[str, EntryValue]]
Number = Callable[..., EntryValue]


def desk_entries(blank: Appraisal, rng: Random, junk: bool) -> Entries:
    """Some boxes of each kind; `junk`: with texts that are no numbers, and numbers out of range."""

    def number(low: float, high: float, decimals: int = 2) -> EntryValue:
        if junk and rng.random() < 0.2:
            return rng.choice((*NOT_NUMBERS, -3.5, 0.0, 1e9, 0.005, 1.005))
        return round(rng.uniform(low, high), decimals)

    yield from _decisions(blank, rng)
    yield from _planned_parts(blank, rng, number)
    room = blank.record.room
    yield from _extra_work([rate.id for rate in blank.record.shop.labor.rates], room.extra_work, rng, number)
    yield from _extra_parts(room.extra_parts, rng, number)
    yield from _sublets(room.sublet, rng, number)
    if rng.random() < 0.6:
        yield "disposal.drained.liters", number(0, 9, 1)
    for kind in ("labor", "parts"):
        if rng.random() < 0.4:
            yield f"discount.{kind}.percent", number(0, 60, rng.choice((0, 1, 3)))
    yield from _consents(room.consents, rng, number, junk)


def _decisions(blank: Appraisal, rng: Random) -> Entries:
    weights = rng.choice(((1, 1, 1), (1, 8, 1), (1, 1, 8), (8, 1, 1), (0, 1, 0)))
    for line in blank.plan.lines:
        yield f"line.{line.ref}.decision", rng.choices(("undecided", "authorized", "declined"), weights)[0]
        if rng.random() < 0.25:
            yield f"line.{line.ref}.done", "completed"


def _planned_parts(blank: Appraisal, rng: Random, number: Number) -> Entries:
    for line in range(1, blank.record.room.changes + 1):
        if blank.plan.parts and rng.random() < 0.8:
            yield f"change.{line}.part", rng.choice(blank.plan.parts).ref  # now and then one that another line names
        if rng.random() < 0.7:
            yield f"change.{line}.quantity", number(0, 12)
        if rng.random() < 0.3:
            yield f"change.{line}.substitute", rng.choice(TEXTS)
            yield f"change.{line}.substitute_cost", number(0, 400)
            yield f"change.{line}.substitute_family", rng.choice(FAMILIES)
            yield f"change.{line}.compared", rng.choice(TEXTS)
            yield f"change.{line}.approved_by", rng.choice(TEXTS)


def _extra_work(rates: Sequence[str], lines: int, rng: Random, number: Number) -> Entries:
    for place in range(1, lines + 1):
        if rng.random() < 0.4:
            yield f"extra_work.{place}.description", rng.choice(TEXTS)
            yield f"extra_work.{place}.hours", number(0, 9)
            yield f"extra_work.{place}.rate_id", rng.choice(rates)
            yield f"extra_work.{place}.decision", rng.choice(("authorized", "declined", "undecided"))


def _extra_parts(lines: int, rng: Random, number: Number) -> Entries:
    for place in range(1, lines + 1):
        if rng.random() < 0.4:
            yield f"extra_part.{place}.description", rng.choice(TEXTS)
            yield f"extra_part.{place}.unit", "each"
            yield f"extra_part.{place}.condition", rng.choice(CONDITIONS)
            yield f"extra_part.{place}.family", rng.choice(FAMILIES)
            yield f"extra_part.{place}.quantity", number(0, 9)
            yield f"extra_part.{place}.cost", number(0, 400)
            yield f"extra_part.{place}.deposit", number(0, 90)
            yield f"extra_part.{place}.decision", rng.choice(("authorized", "authorized", "declined"))


def _sublets(lines: int, rng: Random, number: Number) -> Entries:
    for place in range(1, lines + 1):
        if rng.random() < 0.4:
            yield f"sublet.{place}.description", rng.choice(TEXTS)
            yield f"sublet.{place}.supplier", rng.choice(TEXTS)
            yield f"sublet.{place}.charge", number(0, 500)
            yield f"sublet.{place}.decision", rng.choice(("authorized", "declined", "undecided"))


def _consents(lines: int, rng: Random, number: Number, junk: bool) -> Entries:
    for place in range(1, lines + 1):
        if rng.random() < 0.5:
            yield f"consent.{place}.who", rng.choice(TEXTS)
            yield f"consent.{place}.stage", rng.choice(STAGE_WORDS)
            yield f"consent.{place}.way", rng.choice(WAY_WORDS)
            yield f"consent.{place}.amount", number(0, 3000)
            yield f"consent.{place}.date", DAY if not junk or rng.random() < 0.7 else "last week"
            yield f"consent.{place}.taken_by", rng.choice(TEXTS)
