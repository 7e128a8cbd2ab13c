"""The Summary's charts, and the tables of figures that they show."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.limits.charted_figures import charted, reserves, stoppings
from estimator.workbook.book import Block, Chart, Column, Series, block
from estimator.workbook.tabs.common import decimals, lookup


def _systems(appraisal: Appraisal) -> tuple[str, ...]:
    return charted(appraisal.workings, appraisal.record.car.places.systems)


def reserve_block(appraisal: Appraisal) -> Block:
    unit = appraisal.record.shop.show.pressure
    look = f"number-{decimals(unit)}"

    def columns(place: int, system: str) -> list[Column]:
        words = system.replace("-", " ")
        key = f'"p after "&{{number}}&", {words} applications"'
        return [
            Column(
                f"after_{place}",
                f"{words}, {unit}",
                look,
                "=" + lookup("working:shown", key, "working:label"),
                unit=unit,
                value=lambda row: row.after[place],
            ),
            Column(
                f"lamp_{place}",
                "its lamp",
                look,
                f"={{working.{system}.lamp.shown}}",
                unit=unit,
                value=lambda row: row.lamp[place],
            ),
            Column(
                f"secondary_{place}",
                "secondary braking",
                look,
                f"={{working.{system}.secondary.shown}}",
                unit=unit,
                value=lambda row: row.secondary[place],
            ),
        ]

    systems = _systems(appraisal)
    return block(
        "reserve",
        "Pressure after each application, engine stopped",
        [
            Column("label", "application", "label"),
            *(column for place, system in enumerate(systems) for column in columns(place, system)),
            Column("number", "number", "whole"),
        ],
        reserves(appraisal.workings, systems),
        note="Computed for the precharge in car.toml, the gas cold, applications quick. What this car really has, the "
        "Inspection shows.",
    )


def stopping_block(appraisal: Appraisal) -> Block:
    unit = appraisal.record.shop.show.acceleration
    whole, part = (appraisal.record.fact(f"{name}-deceleration").kind for name in ("service", "secondary"))

    def figure(name: str) -> str:
        return lookup("working:shown", f'"{name}, "&{{figure}}', "working:label")

    return block(
        "stopping",
        "Deceleration in each failure state",
        [
            Column("label", "state", "label"),
            Column("figure", "worked out under"),
            Column("road", f"reached, {unit}", "number-2", "=" + figure("a road"), unit=unit),
            Column(
                "asked",
                f"asked for, {unit}",
                "number-2",
                '=IF(AND(ISNUMBER({road}),ISNUMBER({spare})),{road}-{spare},"")',
                unit=unit,
            ),
            Column("spare", f"to spare, {unit}", "number-2", "=" + figure("a to spare"), unit=unit),
        ],
        stoppings(appraisal.workings),
        note=f"At cut-in, from the car's data. Asked for: everything, {whole}; a part lost, {part}.",
    )


def charts(appraisal: Appraisal) -> tuple[Chart, ...]:
    show, systems = appraisal.record.shop.show, _systems(appraisal)
    charts = [
        Chart(
            "line",
            f"Reserve of {system.replace('-', ' ')}: pressure after each application",
            f"A falling line: the pressure of {system.replace('-', ' ')} after each application, from cut-out; two level "
            "lines: the pressure at which its lamp lights and the one below which secondary braking is lost. The same "
            "figures stand in the block Pressure after each application.",
            (
                Series("pressure", "reserve:label", f"reserve:after_{place}"),
                Series("lamp", "reserve:label", f"reserve:lamp_{place}", "dash"),
                Series("secondary braking", "reserve:label", f"reserve:secondary_{place}", "round_dot"),
            ),
            "application",
            show.pressure,
        )
        for place, system in enumerate(systems)
        if reserves(appraisal.workings, systems)
    ]
    if stoppings(appraisal.workings):
        charts.append(
            Chart(
                "bar",
                "Deceleration in each failure state",
                "Pairs of bars: for each failure state the deceleration reached and the one that the yardstick asks for. The "
                "same figures stand in the block Deceleration in each failure state.",
                (
                    Series("reached", "stopping:label", "stopping:road"),
                    Series("asked for", "stopping:label", "stopping:asked"),
                ),
                "state",
                show.acceleration,
            )
        )
    return tuple(charts)
