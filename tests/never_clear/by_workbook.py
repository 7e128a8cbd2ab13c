"""The road that people take: draft a workbook, fill it in, check it. In one process, with few jobs to be quick."""

from __future__ import annotations

import csv
import datetime as dt
import json
import re
import shutil
from pathlib import Path
from typing import Any

import estimator.demo
from estimator.cli.app import main
from estimator.intake.labor_tables import packaged_tables
from tests.fewer_jobs import keep_jobs
from tests.never_clear.good_car import FEW, PEDAL, Visit, fresh_car

DEMO = Path(estimator.demo.__file__).parent / "files"


def pedal_toml() -> str:
    """The maker's limit for pedal movement, as car.toml has it."""
    sides = ("service_low", "service_high", "danger_low", "danger_high")
    lines = [f'{side} = "{getattr(PEDAL, side).value:g} mm"' for side in sides]
    return "\n".join(["", "[[limits]]", 'check = "pedal-movement"', *lines, f'source = "{PEDAL.source}"', ""])


def job_folder(folder: Path) -> Path:
    """The demo's files, with the car and few jobs."""
    shutil.copytree(DEMO, folder, dirs_exist_ok=True)
    car = folder / "car.toml"
    car.write_text(
        re.sub(r"(?ms)^\[\[intervals\]\].*?(?=^\[|\Z)", "", car.read_text(encoding="utf-8")), encoding="utf-8"
    )
    if 'check = "pedal-movement"' not in car.read_text(encoding="utf-8"):
        car.write_text(car.read_text(encoding="utf-8") + pedal_toml(), encoding="utf-8")
    tables = folder / "labor_tables"
    shutil.copytree(packaged_tables(), tables, dirs_exist_ok=True, ignore=shutil.ignore_patterns("*.py", "__pycache__"))
    keep_jobs(tables, FEW.__contains__)
    return folder


def run(*words: object) -> int:
    return main([str(word) for word in words])


def drafted(folder: Path, car: str = "A") -> Path:
    """A workbook as drafted."""
    path = folder / f"drafted-{car}.xlsx"
    job = job_folder(folder) / {"A": "job.toml", "B": "job_mineral.toml"}[car]
    assert run("draft", job, "-o", path) == 0
    return path


def typed(visit: Visit, car: str = "A") -> dict[str, Any]:
    """What a person types to get from a drafted workbook to a visit; None empties a box."""
    fresh = fresh_car(car)
    keys = dict.fromkeys([*fresh.entries, *visit.entries])
    return {key: visit.get(key) for key in keys if visit.get(key) != fresh.get(key)}


def fill(workbook: Path, entries: dict[str, Any], to: Path) -> Path:
    """Type entries into a workbook; it has to be taken as it is."""
    listed = to.with_suffix(".csv")
    with listed.open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(("key", "value", "unit", "note"))
        rows.writerows((key, _text(value), "", "") for key, value in entries.items())
    assert run("fill", workbook, listed, "-o", to) in (0, 1), "fill refused it"
    assert to.exists()
    return to


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, dt.date):
        return value.isoformat()
    return f"{value:.12g}" if isinstance(value, float) else str(value)


def check(workbook: Path, capsys: Any, *words: str) -> dict[str, Any]:
    """What `check --json` says of one workbook."""
    capsys.readouterr()
    status = run("check", "--json", "--jobs", 1, *words, workbook)
    said = capsys.readouterr()
    assert status in (0, 1), said.err
    return json.loads(said.out)["workbooks"][0]
