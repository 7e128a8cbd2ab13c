"""The states of the brakes to look at, as the car's source map gives them: what may be lost, and what is then left."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from estimator.errors import DomainError
from estimator.hydraulics.circuits import PEDAL_CIRCUIT, Brake, sources

ValveState = Literal["working", "stuck open", "stuck closed"]


@dataclass(frozen=True)
class State:
    """A state of the brakes: which sources are alive, and what the deceleration valve does."""

    name: str
    alive: tuple[str, ...]
    valve: ValveState = "working"


def states(brakes: Iterable[Brake]) -> tuple[State, ...]:
    """The states to look at for a car: everything, each system lost, the pedal circuit alone, the rear restricted.

    alive = all sources of the map less those lost;  a state without a source isn't listed

    Args:
        brakes: the brakes of the car
    Returns:
        states in the order named
    Valid: any source map; a car without a valve has no states of the valve, one without a pedal circuit none of that.
    Raises:
        DomainError: a car without a stored-pressure source
    [Source: derivation]
    Example:
        >>> front = Brake("front-left", "front-axle", "system-1", 1e-3, 0.1, 0.4)
        >>> rear = Brake("rear-left", "rear-axle", "system-2", 1e-3, 0.1, 0.4, behind_valve=True)
        >>> [state.name for state in states([front, rear])]
        ['everything', 'system-1 lost', 'system-2 lost', 'rear restricted', 'valve stuck open']
    """
    brakes = tuple(brakes)
    every = sources(brakes)
    systems = [source for source in every if source != PEDAL_CIRCUIT]
    if not systems:
        raise DomainError("no brake of this car is fed by a system with stored pressure")
    found = [State("everything", every)]
    for lost in systems:
        alive = tuple(source for source in every if source != lost)
        if alive and len(systems) > 1:
            found.append(State(f"{lost} lost", alive))
    if PEDAL_CIRCUIT in every:
        found.append(State("pedal circuit alone", (PEDAL_CIRCUIT,)))
    if any(brake.behind_valve for brake in brakes):
        found += [State("rear restricted", every, "stuck closed"), State("valve stuck open", every, "stuck open")]
    return tuple(found)
