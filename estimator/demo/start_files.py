"""The files that a workshop begins with, as the demo has them: each field explained beside it."""

from __future__ import annotations

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


def write_start_files(folder: Path, *, force: bool = False) -> tuple[Path, ...]:
    """Write them into a folder, made if it isn't there; none where one is there already, unless `force`.

    Raises CannotWrite.
    """
    contents = {folder / name: demo_file(name) for name in START}
    tables = sorted(item for item in packaged_tables().iterdir() if item.suffix in (".csv", ".md"))
    contents |= {folder / FOLDER_NAME / item.name: item.read_bytes() for item in tables}
    for path in contents:
        refuse_existing(path, force=force)
    for path, content in contents.items():
        write_whole(path, content)
    return tuple(contents)
