"""What must hold within shop.toml."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from estimator.facts.checks import checks
from estimator.intake.input_errors import Wrong, at, doubled
from estimator.records import Car, Shop

# Which amounts each consent rule needs.
_NEEDS = {
    "none": (),
    "flat": ("flat",),
    "percent": ("percent",),
    "cap": ("percent", "cap"),
    "greater-of": ("flat", "percent"),
    "lesser-of": ("flat", "percent"),
}


def shop_rules(shop: Shop, on: dt.date) -> Iterator[Wrong]:
    """Ids once each, brackets that rise, taxes and consent that are whole and in force on the day."""
    yield from doubled("labor.rates", "id", (rate.id for rate in shop.labor.rates))
    for index, rate in enumerate(shop.labor.rates):
        if not rate.per_hour:
            yield Wrong(at("labor.rates", index, "per_hour"), "the rate is 0", "enter more than 0", "write the rate")
    yield from _brackets(shop)
    yield from _tax(shop, on)
    yield from _consent(shop, on)
    columns = [name for name in shop.price_list.model_dump().values() if name] if shop.price_list else []
    if len(set(columns)) < len(columns):
        yield Wrong(
            "[price_list]", "two keys name the same column", "each key names a column of its own", "correct one"
        )


def _brackets(shop: Shop) -> Iterator[Wrong]:
    last = len(shop.markup) - 1
    for index, bracket in enumerate(shop.markup):
        place = at("markup", index, "up_to")
        before = shop.markup[index - 1].up_to if index else None
        if index == last and bracket.up_to is not None:
            yield Wrong(
                place, f"the last bracket ends at {bracket.up_to}", "the last one is open", "take its up_to out"
            )
        if index < last and bracket.up_to is None:
            yield Wrong(place, "it is missing", "only the last bracket is open", "add up_to or put this bracket last")
        if before is not None and bracket.up_to is not None and bracket.up_to <= before:
            found = f"{bracket.up_to} follows {before}"
            yield Wrong(place, found, "the brackets rise from one to the next", "put them in order")


def _tax(shop: Shop, on: dt.date) -> Iterator[Wrong]:
    tax = shop.tax
    yield from doubled("tax.parts", "name", (part.name for part in tax.parts))
    if len(set(tax.taxed)) < len(tax.taxed):
        yield Wrong('[tax], key "taxed"', "a class stands twice", "each class stands once", "take one out")
    if tax.kind == "none" and (tax.parts or tax.taxed):
        found = 'kind is "none", yet parts or taxed classes are given'
        yield Wrong("[tax]", found, "no tax has no parts, and taxed = []", "correct kind, or take them out")
    if tax.kind != "none" and not tax.parts:
        yield Wrong(
            "[[tax.parts]]", "there is none", f'a "{tax.kind}" tax has one part or more', "add its name and percent"
        )
    if tax.kind == "vat" and not shop.shop.tax_id:
        allowed = "an invoice with VAT names the seller's VAT number (EN 16931, BR-S-02)"
        yield Wrong('[shop], key "tax_id"', "it is missing", allowed, "write the number with its country code")
    if tax.kind == "vat" and tax.scope == "line":
        allowed = "VAT is worked out on the document (EN 16931, BR-CO-17)"
        yield Wrong('[tax], key "scope"', '"line"', allowed, 'write scope = "document"')
    if tax.in_force_from > on:
        yield _not_yet("tax", tax.in_force_from, on)


def _consent(shop: Shop, on: dt.date) -> Iterator[Wrong]:
    consent = shop.consent
    for key in _NEEDS[consent.rule]:
        if not getattr(consent, key):
            allowed = f'rule = "{consent.rule}" needs more than 0 here'
            yield Wrong(
                f'[consent], key "{key}"', "it is missing or 0", allowed, "write the amount or choose another rule"
            )
    if consent.in_force_from > on:
        yield _not_yet("consent", consent.in_force_from, on)


def _not_yet(table: str, start: dt.date, on: dt.date) -> Wrong:
    found = f"in force from {start}, and the job is dated {on}"
    return Wrong(f'[{table}], key "in_force_from"', found, "a setting in force on that day", "correct one of the dates")


def gauge_rules(shop: Shop, car: Car) -> Iterator[Wrong]:
    """Gauges once each, dates in order, one usual gauge for a kind, and one gauge at least for all that is measured."""
    yield from doubled("gauges", "id", (gauge.id for gauge in shop.gauges))
    usual: dict[str, int] = {}
    for index, gauge in enumerate(shop.gauges):
        if gauge.due <= gauge.calibrated:
            found = f"due {gauge.due}, calibrated {gauge.calibrated}"
            yield Wrong(
                at("gauges", index, "due"), found, "it is due after it was calibrated", "correct one of the dates"
            )
        if gauge.resolution_si >= gauge.span_si:
            found = f"a step of {gauge.resolution} on a scale of {gauge.span}"
            yield Wrong(
                at("gauges", index, "resolution"), found, "the step is far smaller than the scale", "correct it"
            )
        if gauge.usual and usual.setdefault(gauge.measures, index) != index:
            found = f"number {usual[gauge.measures] + 1} is the usual one for {gauge.measures} already"
            yield Wrong(
                at("gauges", index, "usual"), found, "one for each kind of measurement", "take usual = true out"
            )
    measured: set[str] = {gauge.measures for gauge in shop.gauges}
    for check in checks():
        if check.measured and check.applies_to(car) and check.quantity not in measured:
            measured.add(check.quantity)
            found = f"no gauge measures {check.quantity}"
            yield Wrong("[[gauges]]", found, f'the check "{check.title}" of this car needs one', "add the gauge")
