"""A job file from what is said at the counter: customer, car, concern, jobs in plain words."""

from __future__ import annotations

import datetime as dt
import json
import os
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from estimator.errors import InputError, nearest
from estimator.facts.checks import checks
from estimator.intake.labor_tables import PackageRow
from estimator.intake.model_errors import choices
from estimator.intake.plain_words import meant, places_meant
from estimator.intake.toml_files import read_toml
from estimator.places import ALL
from estimator.records import AskedJob, Car, JobRow, Tables

CARS = "cars"
# Words of a concern after which a car comes on a trailer: wide, for a car that comes in vain on one does no harm.
_WORRYING = re.compile(
    r"\b(stop|brak|pedal|lamp|light|warn|pull|grab|drag|leak|drip|pressur|hard|soft|spong|sink|sank|fade|hiss|hold|slow|"
    r"weak|fail|lost|loss|lose|low|empty|rolls?\b|slip|noise|smok|hot\b|smell|seiz|stuck|accident|crash|stood|storage)",
    re.IGNORECASE,
)
TRAILER = "do not drive it here: bring it on a trailer"


class NotMeant(ValueError):
    """What was said names nothing, or several things: what was found, what is allowed."""


class Asked(NamedTuple):
    """What was asked for: jobs at places, checks made on demand, and what this car can't have of a package."""

    places: dict[str, list[str]]
    checks: list[str]
    left_out: list[str]


class Order:
    """What can be asked for on one car: packages, jobs, checks, by plain words."""

    def __init__(self, tables: Tables, packages: Sequence[PackageRow], car: Car) -> None:
        self.car, self.packages = car, packages
        self.jobs = {row.job_id: row for row in tables.jobs if row.places(car)}
        self.other_jobs = {row.job_id: row for row in tables.jobs}
        self.names: dict[str, tuple[str, ...]] = {row.package: () for row in packages}
        self.names |= {job_id: (row.title,) for job_id, row in self.jobs.items()}
        self.asked = Asked({}, [], [])

    def ask(self, typed: str) -> None:
        """Take a package, or a job with its places behind a comma. Raises NotMeant."""
        name, places = self._named(typed)
        if name in self.jobs:
            self._job(self.jobs[name], places, typed)
        else:
            self._package(name)

    def needs_places(self, typed: str) -> list[str]:
        """The places among which a job must be given one; none for a package or where all is said. Raises NotMeant."""
        name, places = self._named(typed)
        known = [place.title for place in self.jobs[name].places(self.car)] if name in self.jobs else []
        return known if not places and len(known) > 1 else []

    def check(self, typed: str) -> None:
        """Take a check made on demand. Raises NotMeant."""
        known = {
            check.id: (check.title,) for check in checks() if check.asked == "on demand" and check.places(self.car)
        }
        found = _one_of(typed, known, "a check made on request")
        self.asked.checks.extend([found] if found not in self.asked.checks else [])

    def _named(self, typed: str) -> tuple[str, str]:
        head, comma, places = typed.rpartition(",")
        if comma and not meant(typed, self.names):
            return _one_of(head, self.names, "a job or package"), places.strip()
        return _one_of(typed, self.names, "a job or package"), ""

    def _job(self, row: JobRow, words: str, typed: str) -> None:
        known = row.places(self.car)
        found = places_meant(words, known) if words else [place.id for place in known][: 2 if len(known) > 1 else 1]
        if not found or (not words and len(found) > 1):
            said = "no place is given" if not words else f'"{words}" is none of its places'
            raise NotMeant(f'"{typed}": {said}', f"{row.title} goes at {choices([ALL, *(p.title for p in known)])}")
        self._add(row.job_id, found)

    def _package(self, name: str) -> None:
        for item in self.packages:
            if item.package != name:
                continue
            if item.check_id:
                known = item.check_id not in self.asked.checks
                self.asked.checks.extend([item.check_id] if known else [])
            elif item.job_id in self.jobs:
                places = [place.id for place in self.jobs[item.job_id].places(self.car)]
                self._add(item.job_id, places if item.at == ALL else [item.at])
            else:
                self.asked.left_out.append(self.other_jobs[item.job_id].title)

    def _add(self, job_id: str, places: Iterable[str]) -> None:
        held = self.asked.places.setdefault(job_id, [])
        held += [place for place in places if place not in held]

    def jobs_asked(self) -> list[AskedJob]:
        """What was asked for, "all" where a job stands at each of several places."""
        found = []
        for job_id, places in self.asked.places.items():
            everywhere = len(places) > 1 and len(places) == len(self.jobs[job_id].places(self.car))
            found += [AskedJob(job=job_id, at=place) for place in ([ALL] if everywhere else places)]
        return found


def _one_of(typed: str, names: Mapping[str, Iterable[str]], what: str) -> str:
    found = meant(typed, names)
    if len(found) == 1:
        return found[0]
    if found:
        raise NotMeant(f'"{typed}" may be several', choices(name.replace("-", " ") for name in found))
    raise NotMeant(
        f'"{typed}" is not {what}{nearest(typed, [name.replace("-", " ") for name in names])}', "say it otherwise"
    )


def worrying(concern: str) -> bool:
    """Whether a concern is about stopping, a lamp, pressure or a long rest: then the car isn't driven to the shop.

    >>> worrying("Lamp of system 2 comes on"), worrying("Stops badly"), worrying("Annual service")
    (True, True, False)
    """
    return _WORRYING.search(concern) is not None


def cars_in(folder: Path) -> dict[Path, tuple[str, ...]]:
    """The cars on file: those of the folder of cars, else of the folder itself, each with its names."""
    place = folder / CARS if (folder / CARS).is_dir() else folder
    found = {}
    for path in sorted(place.glob("*.toml")):
        try:
            car = read_toml(path).get("car")
        except InputError:
            continue
        if isinstance(car, dict):
            found[path] = tuple(
                str(car[key]) for key in ("name", "id", "plate", "chassis_number", "year") if key in car
            )
    return found


def car_meant(typed: str, folder: Path) -> Path:
    """The file of a car, named by its path, or by words of its name, plate or chassis number. Raises NotMeant."""
    if typed.endswith(".toml"):
        beside = folder / typed
        return beside if beside.is_file() else Path(typed)
    known = {path.stem: (path, names) for path, names in cars_in(folder).items()}
    return known[_one_of(typed, {stem: names for stem, (_, names) in known.items()}, "a car on file")][0]


def job_text(said: Mapping[str, Any], jobs: Iterable[AskedJob], titles: Mapping[str, str]) -> str:
    """A job file. said: its plain keys, in order; a table's under its name. titles: of jobs, for the comments."""
    lines = ["# One visit of one car; job.toml of `estimator start` explains each field."]
    lines += [f"{key} = {_toml(value)}" for key, value in said.items() if not isinstance(value, dict) and value]
    for table, held in said.items():
        if isinstance(held, dict):
            lines += ["", f"[{table}]", *(f"{key} = {_toml(value)}" for key, value in held.items() if value)]
    for item in jobs:
        lines += ["", f"[[jobs]]  # {titles[item.job]}", f"job = {_toml(item.job)}"]
        lines += [f"at = {_toml(item.at)}"] if item.at != "car" else []
    return "\n".join(lines) + "\n"


def car_text(name: str, variant: str, family: str, systems: int) -> str:
    """A file for a car of which little is known: enough for an estimate."""
    ids = "".join(f'\n[[systems]]\nid = "system-{number}"\n' for number in range(1, systems + 1))
    return (
        "# Begun with a name and its systems; car.toml of `estimator start` explains each field.\n"
        "# `estimator limits` on this file lists what is missing, most useful first. Until then the car is never cleared.\n"
        f"# Work on stored-pressure brakes is for qualified people.\n\n[car]\nname = {_toml(name)}\nvariant = {_toml(variant)}"
        f"\n\n[fluid]\nfamily = {_toml(family)}\n{ids}"
    )


def file_name_of(name: str) -> str:
    """A file's name for a car.

    >>> file_name_of("Vardowe Shortcourt, 1961")
    'vardowe-shortcourt-1961.toml'
    """
    return ("-".join(re.findall(r"[a-z0-9]+", name.casefold())) or "car")[:60] + ".toml"


def path_from(folder: Path, path: Path) -> str:
    """A path as a file of a folder names it."""
    return Path(os.path.relpath(path, folder)).as_posix()


def _toml(value: Any) -> str:
    """A value as TOML writes it; texts of JSON are texts of TOML."""
    return (
        value.isoformat() if isinstance(value, dt.date) else json.dumps(value, ensure_ascii=False).replace("\x7f", "")
    )
