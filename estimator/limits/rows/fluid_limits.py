"""The boiling point of glycol fluid by its class."""

from __future__ import annotations

import re

from estimator.facts.checks import Check
from estimator.limits.needs import Need
from estimator.limits.row_table import Row
from estimator.limits.rows.common_rows import published
from estimator.limits.rows.methods import Context, Found
from estimator.places import Place

GLYCOL = ("dot-3", "dot-4", "dot-5.1")

# fmt: off
SERVICE = (
    Row("service", "T service", "boiling point at which fluid is replaced: a share of the way from wet to dry",
        "{wet}+{$share}*({dry}-{wet})", "temperature", "trade cfr-571-116",
        "glycol fluid; mineral oil takes up no water", "common-practice"),
)
# fmt: on
_CLASS = re.compile(r"\bdot[\s-]*(3|4|5\.1|5)(?![\d.])", re.IGNORECASE)


def class_of(grade: str) -> str:
    """The class that a fluid's grade names, as GLYCOL spells it; "" for none or several.

    >>> class_of("DOT 5.1, low viscosity"), class_of("DOT 3/DOT 4"), class_of("house brand")
    ('dot-5.1', '', '')
    """
    found = {match[1] for match in _CLASS.finditer(grade)}
    return f"dot-{found.pop()}" if len(found) == 1 else ""


def fluid_class(context: Context) -> str:
    """The class of the car's glycol fluid, as ids of facts spell it; "" for none."""
    name = class_of(context.record.car.fluid.grade)
    return name.replace(".", "-") if name in GLYCOL else ""


def boiling_point(context: Context, check: Check, place: Place) -> Found:
    """Danger below the wet boiling point of the class; service at a share of the way from wet to dry."""
    grade = context.record.car.fluid.grade
    key = fluid_class(context)
    if not key:
        needs = () if grade else (Need("[fluid]", "grade"),)
        reason = f'grade "{grade}" in the car file names none of the glycol classes ({", ".join(GLYCOL)})'
        return Found(reason=reason, needs=needs)
    rows = context.workings.scope("fluid")
    rows.fact(f"{key}-boiling-wet", "T wet", "temperature", "wet")
    rows.fact(f"{key}-boiling-dry", "T dry", "temperature", "dry")
    share = published(context, "boiling-way-service", "share of the way", "%")
    rows.add(SERVICE, share=share)
    return Found({"service_low": "fluid.service", "danger_low": "fluid.wet"}, estimates=("service_low",))
