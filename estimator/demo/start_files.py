"""The files that a workshop begins with, as the demo has them: each field explained beside it."""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path

from estimator.files import refuse_existing, write_whole
from estimator.intake.labor_tables import FOLDER_NAME, packaged_tables

START = (
    "shop.toml",
    "car.toml",
    "job.toml",
    "entries.csv",
    "bleed_down.csv",
    "car_mineral.toml",
    "car_little.toml",
    "job_mineral.toml",
    "supplier_prices.csv",
    "consent_rules.toml",
)


def demo_file(name: str) -> bytes:
    """A file of the invented scenario, or the commented rules of consent."""
    package = "estimator.pricing" if name == "consent_rules.toml" else "estimator.demo"
    folder = files(package) if package.endswith("pricing") else files(package) / "files"
    return (folder / ("before.csv" if name == "entries.csv" else name)).read_bytes()


# What a shop shows that differs from the demo's, by its system of units.
UNITS = {
    "demo": {},
    "us": {"temperature": "°F", "torque": "ft·lbf"},
    "metric": {"pressure": "bar", "distance": "m", "force": "N", "speed": "km/h"},
}


def shop_file(units: str = "demo", dates: str = "") -> bytes:
    """The shop's file, its units and dates as a shop shows them."""
    text = demo_file("shop.toml").decode("utf-8")
    for key, value in (UNITS[units] | ({"dates": dates} if dates else {})).items():
        line = f'{key} = "{value}"'
        [old] = re.findall(rf'^{key} = "[^"]*"(?: +(?=#))?', text, flags=re.MULTILINE)
        text = text.replace(old, f"{line.ljust(len(old) - 1)} " if old.endswith(" ") else line, 1)
    return text.encode("utf-8")


def write_start_files(folder: Path, *, force: bool = False, units: str = "demo", dates: str = "") -> tuple[Path, ...]:
    """Write them into a folder, made if it isn't there; none where one is there already, unless `force`.

    units: one of UNITS; dates: how the shop writes November 25, 2026, one of those of `Show`.
    Raises CannotWrite.
    """
    contents = {folder / name: demo_file(name) for name in START} | {folder / "shop.toml": shop_file(units, dates)}
    tables = sorted(item for item in packaged_tables().iterdir() if item.suffix in (".csv", ".md"))
    contents |= {folder / FOLDER_NAME / item.name: item.read_bytes() for item in tables}
    for path in contents:
        refuse_existing(path, force=force)
    for path, content in contents.items():
        write_whole(path, content)
    return tuple(contents)
