"""Questions at the counter: what a command asks of whoever sits at its terminal, where options leave it out."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TypeVar

import typer

from estimator.cli.output import say
from estimator.errors import InputError, InputProblem
from estimator.intake.new_job import NotMeant, Order, car_meant, cars_in

Value = TypeVar("Value")


def someone_sits_there() -> bool:
    """Whether questions can be answered."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def needed(**given: object) -> None:
    """Refuse options that are missing where nobody can be asked. Raises BadParameter."""
    missing = [f"--{name.replace('_', '-')}" for name, value in given.items() if not value]
    if missing and not someone_sits_there():
        raise typer.BadParameter(f"missing: {', '.join(missing)}")


def asked(what: str, default: str = "") -> str:
    """An answer, or the default. Empty answers are asked again."""
    return str(typer.prompt(what, default=default or None, err=True)).strip()


def understood(option: str, typed: str, take: Callable[[str], Value], again: str = "") -> Value:
    """What `take` makes of words; asked again where someone sits there. Raises InputError where nobody does."""
    while True:
        try:
            return take(typed)
        except NotMeant as error:
            problem = InputProblem(option, "the words", *error.args)
            if not someone_sits_there():
                raise InputError([problem]) from None
            say(problem.line())
            typed = asked(again or option)


def car_of(typed: str, folder: Path) -> Path:
    """The file of a car on file, chosen from a list where none was named."""
    if not typed:
        for path, names in cars_in(folder).items():
            say(f"  {path.stem}: {', '.join(names)}")
        typed = asked("Car (words of its name or plate)")
    return understood("--car", typed, lambda words: car_meant(words, folder), "Car")


def take_jobs(order: Order, jobs: Iterable[str], checks: Iterable[str], titles: Mapping[str, str]) -> None:
    """Take what options ask for; without any, ask until an empty answer."""
    jobs, checks = list(jobs), list(checks)
    for words in checks:
        understood("--check", words, order.check, "Check")
    for words in jobs:
        _take(order, words)
    if jobs or checks:
        return
    say("Jobs and packages, one a line; ? lists them; an empty line ends.")
    while True:
        typed = str(typer.prompt("Job or package", default="", show_default=False, err=True)).strip()
        if typed == "?":
            for name in order.names:
                say(f"  {name.replace('-', ' ')}" + (f": {titles[name]}" if name in titles else ""))
        elif typed:
            _take(order, typed)
        elif order.asked.places or order.asked.checks:
            return


def _take(order: Order, words: str) -> None:
    def take(typed: str) -> None:
        if someone_sits_there() and (places := order.needs_places(typed)):
            where = asked(f"Where (all, {', '.join(places)})", "all")
            typed = f"{typed}, {where}"
        order.ask(typed)

    understood("--job", words, take, "Job or package, place")
