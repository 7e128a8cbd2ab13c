"""The figures that the charts show: the reserve of each system, and the deceleration in each failure state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.limits.working import Si, Workings


@dataclass(frozen=True)
class Reserve:
    """The gauge pressure of each system after a number of applications; its lamp and its secondary pressure."""

    number: int
    after: tuple[Si, ...]
    lamp: tuple[Si, ...]
    secondary: tuple[Si, ...]

    @property
    def ref(self) -> str:
        return f"after-{self.number}"

    @property
    def label(self) -> str:
        return f"after {self.number}" if self.number else "at cut-out"


@dataclass(frozen=True)
class Stopping:
    """A failure state: the deceleration reached and what is to spare over what the yardstick asks for."""

    scope: str
    road: Si
    spare: Si

    @property
    def ref(self) -> str:
        return self.scope

    @property
    def label(self) -> str:
        return self.scope.removeprefix("braking-").replace("-", " ")

    @property
    def figure(self) -> str:
        return self.scope.replace("-", " ")

    @property
    def asked(self) -> Si:
        return "" if isinstance(self.road, str) or isinstance(self.spare, str) else self.road - self.spare


def charted(workings: Workings, systems: Sequence[str]) -> tuple[str, ...]:
    """The systems whose reserve the car's data give."""
    names = ("lamp", "secondary", "application", "charged")
    return tuple(one for one in systems if not any(workings.rows[f"{one}.{name}"].needs for name in names))


def reserves(workings: Workings, systems: Sequence[str]) -> tuple[Reserve, ...]:
    """The pressure after each application without recharging, for every system, in the shown unit."""
    rows = workings.rows
    count = 0
    while systems and all(f"{system}-applications.after-{count}" in rows for system in systems):
        count += 1
    return tuple(
        Reserve(
            number,
            tuple(rows[f"{system}-applications.after-{number}"].shown for system in systems),
            tuple(rows[f"{system}.lamp"].shown for system in systems),
            tuple(rows[f"{system}.secondary"].shown for system in systems),
        )
        for number in range(count)
    )


def stoppings(workings: Workings) -> tuple[Stopping, ...]:
    """The deceleration in each failure state that the car's data give, and what the yardstick asks for."""
    rows = workings.rows
    roads = [row for row in rows.values() if row.scope.startswith("braking-") and row.name == "road"]
    scopes = [row.scope for row in roads if not row.needs]
    return tuple(Stopping(scope, rows[f"{scope}.road"].shown, rows[f"{scope}.spare"].shown) for scope in scopes)
