"""The states of the brakes to look at, as the car's source map gives them: what may be lost, and what is then left."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from estimator.places import PEDAL_CIRCUIT
from estimator.records import Brake

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
        states in the order named; none for a car without a stored-pressure source
    Valid: any source map; a car without a valve has no states of the valve, one without a pedal circuit none of that.
    Raises:
        nothing
    [Source: derivation]
    Example:
        >>> from types import SimpleNamespace as Fed
        >>> front = Fed(source="system-1", behind_valve=False)
        >>> rear = Fed(source="system-2", behind_valve=True)
        >>> [state.name for state in states([front, rear])]
        ['everything', 'system-1 lost', 'system-2 lost', 'rear restricted', 'valve stuck open']
    """
    brakes = tuple(brakes)
    every = tuple(dict.fromkeys(brake.source for brake in brakes))
    systems = [source for source in every if source != PEDAL_CIRCUIT]
    if not systems:
        return ()
    found = [State("everything", every)]
    for lost in systems if len(systems) > 1 else ():
        found.append(State(f"{lost} lost", tuple(source for source in every if source != lost)))
    if PEDAL_CIRCUIT in every:
        found.append(State("pedal circuit alone", (PEDAL_CIRCUIT,)))
    if any(brake.behind_valve for brake in brakes):
        found += [State("rear restricted", every, "stuck closed"), State("valve stuck open", every, "stuck open")]
    return tuple(found)
