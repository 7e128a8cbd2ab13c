"""The hypotheses of one system: nothing wrong, each cause in several severities, gas low or gone beside one other."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from estimator.diagnosis.causes.foretell import HOLD_S, ML, State, foretold
from estimator.diagnosis.causes.hypotheses import (
    At,
    Cell,
    Foretold,
    Hypothesis,
    Shared,
    cells,
    evenly,
    five_digits,
    rounded,
    widened,
)
from estimator.diagnosis.causes.looks import fault_seen
from estimator.diagnosis.causes.setup import Expected, SystemSetup

LOOKED = ("fluid-level", "sight-glass", "first-pump")
GAS = ("gas-low", "gas-gone", "gas-high", "diaphragm-burst")
GAS_BESIDE = ("gas-low", "gas-gone")
GONE_BELOW = 0.08
HIGHEST = 1.7
# Fluid that runs into the pan in the hold's time beyond the normal: what stands for a level, and how far it may differ.
PAN_SHARE = 0.9
LEAKS = cells(*(x * ML for x in (0.009, 0.02, 0.045, 0.1, 0.23, 0.6)), log=True)
LEAKS_FEW = cells(*(x * ML for x in (0.009, 0.036, 0.14, 0.6)), log=True)
SHARES = cells(0.85, 0.71, 0.56, 0.4, 0.24, 0.08)
SHARES_FEW = cells(0.85, 0.6, 0.35, 0.08)
# The precharge of each accumulator as a share of the manufacturer's, None for a burst diaphragm.
Gas = tuple[float | None, ...]
GAUGE = (0.855, 0.9, 0.945, 1.055, 1.1, 1.145)
IDLE = cells(0.86, 0.65, 0.45)


class Fault(NamedTuple):
    """A cause beside the gas: its severities alone and beside the gas, the state that a severity makes, more spread."""

    alone: tuple[Cell, ...]
    beside: tuple[Cell, ...]
    state: Callable[[float], Mapping[str, Any]]
    spread: Callable[[float], Mapping[str, float]] = lambda x: {}


def _two_sided(*edges: float) -> tuple[Cell, ...]:
    both = (*cells(*(-x for x in reversed(edges))), *cells(*edges))
    return tuple(cell._replace(share=cell.share / 2) for cell in both)


def faults(setup: SystemSetup) -> dict[str, Fault]:
    """Return the causes beside the gas that a system can have, by id."""
    cut_out, cut_in, lamp = setup.cut_out or 0.0, setup.cut_in or 0.0, setup.lamp or 0.0
    output = setup.output.mean if setup.output else 0.0
    around = cells(*GAUGE[:3]), cells(*GAUGE[3:])
    gauge = tuple(cell._replace(share=cell.share / 2) for side in around for cell in side)
    found = {
        "pump-weak": Fault(SHARES, SHARES_FEW, lambda x: {"delivery": x}),
        "feed-blocked": Fault(SHARES, SHARES_FEW, lambda x: {"delivery": x}, lambda x: {"charge-time": 9.0 / x}),
        "check-valve-leaks": Fault(LEAKS, LEAKS_FEW, lambda x: {"leak": x}),
        "valve-clearance-worn": Fault(LEAKS, LEAKS_FEW, lambda x: {"leak": x, "always": True}),
        "outside-leak": Fault(LEAKS, LEAKS_FEW, lambda x: {"leak": x, "always": True}),
        "cut-out-off": Fault(
            _two_sided(0.045, 0.1, 0.155, 0.22),
            _two_sided(0.045, 0.22),
            lambda x: {"cut_out": x * cut_out, "cut_in": 0.6 * x * cut_out},
            lambda x: {"cut-in": abs(0.35 * x * cut_out)},
        ),
        "cut-in-off": Fault(
            (*cells(-0.28, -0.17, -0.06), *cells(0.06, 0.12, 0.2)),
            (Cell(-0.28, -0.17, -0.06, 1.0), Cell(0.06, 0.13, 0.2, 1.0)),
            lambda x: {"cut_in": min(x * cut_in, 0.95 * cut_out - cut_in)},
        ),
        "switch-off": Fault(
            (*cells(-0.32, -0.2, -0.07), *cells(0.07, 0.2, 0.35, 0.5)),
            (Cell(-0.32, -0.2, -0.07, 1.0), Cell(0.07, 0.25, 0.5, 1.0)),
            lambda x: {"lamp": x * lamp},
        ),
        "output-off": Fault(_two_sided(0.11, 0.25, 0.42), _two_sided(0.11, 0.42), lambda x: {"output": x * output}),
        "gauge-off": Fault(gauge, gauge, lambda x: {"gauge": x}),
        "circuit-air": Fault(cells(1.35, 1.9, 2.7, 4.0), cells(1.35, 4.0), lambda x: {"stroke": x}),
        "other-user-leaks": Fault(LEAKS_FEW, LEAKS_FEW, lambda x: {"user_leak": x}),
    }
    if setup.output is None:
        del found["output-off"]
    if not setup.other_users:
        del found["other-user-leaks"]
    even = {name: fault._replace(alone=_even(fault.alone), beside=_even(fault.beside)) for name, fault in found.items()}
    return even


def _even(rows: Sequence[Cell]) -> tuple[Cell, ...]:
    total = sum(cell.share for cell in rows)
    return tuple(cell._replace(share=cell.share / total) for cell in rows)


class _System:
    """The hypotheses of a system, one after another."""

    def __init__(self, setup: SystemSetup, priors: Mapping[str, float]) -> None:
        self.setup, self.priors = setup, priors
        self.sound: Gas = tuple((shell.low + shell.high) / 2 for shell in setup.shells)
        self.faults = {name: fault for name, fault in faults(setup).items() if name in priors}
        self.several = len(setup.shells) > 1

    def all(self) -> Iterator[Hypothesis]:
        none = 1.0 - sum(prior for name, prior in self.priors.items() if name in GAS or name in self.faults)
        yield from self.of_nothing(none, "")
        for number, _ in enumerate(self.setup.shells):
            for name in GAS:
                if name in self.priors:
                    yield from self.of_gas(number, name, self.gas_cells(number, name), self.priors[name])
        for name, fault in self.faults.items():
            for cell in fault.alone:
                yield from self.of_fault(name, fault, cell, self.priors[name], (), self.sound_ends(), self.sound)
            yield from self.beside_gas(name, fault, fault.beside, self.priors[name], "")
        idle = Fault(IDLE, IDLE, lambda x: {"delivery": x})
        for at, cell in enumerate(IDLE):
            one = Fault((cell,), (cell,), idle.state)
            scenario = f"slow-idle {at}"
            yield from self.of_fault("", one, cell, none / cell.share, (), self.sound_ends(), self.sound, scenario)
            yield from self.beside_gas("", one, (cell,), 1 / cell.share, scenario)

    def at(self, mode: str, number: int | None = None) -> At:
        name = self.setup.id
        return At(mode, name, self.setup.shells[number].id if number is not None and self.several else name)

    def sound_ends(self) -> list[tuple[Gas, Gas]]:
        found: list[tuple[Gas, Gas]] = []
        for at, shell in enumerate(self.setup.shells):
            found.append((_with(self.sound, at, shell.low), _with(self.sound, at, shell.high)))
        return found

    def of_nothing(self, prior: float, scenario: str) -> Iterator[Hypothesis]:
        if self.several:
            ends = [(State(low), State(high)) for low, high in self.sound_ends()]
            yield self.made((), prior, State(self.sound), ends, scenario)
            return
        shell = self.setup.shells[0]
        for cell in cells(*evenly(shell.low, shell.high, 3)):
            yield self.made(
                (), prior * cell.share, State((cell.mid,)), [(State((cell.low,)), State((cell.high,)))], scenario
            )

    def gas_cells(self, number: int, name: str, few: bool = False) -> tuple[Cell, ...]:
        shell = self.setup.shells[number]
        if name == "gas-low":  # of several shells each moves less: fewer levels can be told apart
            return cells(*evenly(GONE_BELOW, shell.low, (1 if few else 5) if self.several else 2 if few else 8))
        if name == "gas-gone":
            return (
                (Cell(0.0, 0.04, GONE_BELOW, 1.0),)
                if few
                else (Cell(0.0, 0.0, 0.02, 0.5), Cell(0.02, 0.05, GONE_BELOW, 0.5))
            )
        if name == "gas-high":
            most = min(HIGHEST, 0.97 * (self.setup.cut_out or 1e9) / shell.precharge)
            return cells(*evenly(shell.high, max(most, shell.high + 0.1), 4))
        return (Cell(0.0, 0.0, 0.0, 1.0),)

    def of_gas(self, number: int, name: str, rows: Sequence[Cell], prior: float) -> Iterator[Hypothesis]:
        others = [ends for at, ends in enumerate(self.sound_ends()) if at != number]
        for cell in rows:
            burst = name == "diaphragm-burst"
            states = [State(_with(self.sound, number, None if burst else x)) for x in (cell.mid, cell.low, cell.high)]
            ends = [(states[1], states[2])]
            ends += [
                (State(_with(low, number, states[0].gas[number])), State(_with(high, number, states[0].gas[number])))
                for low, high in others
            ]
            share = prior * cell.share / len(self.setup.shells)
            yield self.made((self.at(name, number),), share, states[0], ends, "")

    def beside_gas(
        self, name: str, fault: Fault, rows: Sequence[Cell], prior: float, scenario: str
    ) -> Iterator[Hypothesis]:
        for number, _ in enumerate(self.setup.shells):
            for gas in GAS_BESIDE:
                if gas not in self.priors:
                    continue
                for level in self.gas_cells(number, gas, few=True):
                    ends = [(_with(self.sound, number, level.low), _with(self.sound, number, level.high))]
                    for cell in rows:
                        share = prior * self.priors[gas] * level.share / len(self.setup.shells)
                        beside = (self.at(gas, number),)
                        gas_now = _with(self.sound, number, level.mid)
                        yield from self.of_fault(name, fault, cell, share, beside, ends, gas_now, scenario)

    def of_fault(
        self,
        name: str,
        fault: Fault,
        cell: Cell,
        prior: float,
        beside: tuple[At, ...],
        gas_ends: Sequence[tuple[Gas, Gas]],
        gas: Gas,
        scenario: str = "",
    ) -> Iterator[Hypothesis]:
        middle, low, high = (
            State(gas, spread=fault.spread(x), **fault.state(x)) for x in (cell.mid, cell.low, cell.high)
        )
        ends = [(low, high)]
        ends += [(State(a, **fault.state(cell.mid)), State(b, **fault.state(cell.mid))) for a, b in gas_ends]
        causes = (*beside, self.at(name)) if name else beside
        scenario = f"gauge-off {cell.mid:g}" if name == "gauge-off" else scenario
        if name != "valve-clearance-worn" or self.setup.spools_into_pan == "no":
            yield self.made(causes, prior * cell.share, middle, ends, scenario)
            return
        known = self.setup.spools_into_pan == "yes"
        pan = pan_level(cell.mid)
        yield self.made(causes, prior * cell.share * (1.0 if known else 0.5), middle, ends, scenario, pan)
        if not known:
            yield self.made(causes, prior * cell.share * 0.5, middle, ends, scenario)

    def made(
        self,
        causes: tuple[At, ...],
        prior: float,
        state: State,
        ends: Sequence[tuple[State, State]],
        scenario: str,
        pan: int = 0,
    ) -> Hypothesis:
        setup = self.setup
        modes = [cause.mode for cause in causes]
        readings = widened(
            foretold(setup, state), ((foretold(setup, low), foretold(setup, high)) for low, high in ends)
        )
        shared = Shared(pan, int("outside-leak" in modes), int("gas-gone" in modes or "diaphragm-burst" in modes))
        looks = {check: fault_seen(check, modes) for check in LOOKED}
        return Hypothesis(causes, five_digits(prior), readings, looks, shared, scenario)


def pan_level(leak: float) -> int:
    """Return the level of the pan, from 1, to which a leak past the spools comes nearest."""
    return next((at for at, cell in enumerate(LEAKS_FEW, 1) if leak <= cell.high), len(LEAKS_FEW))


@functools.cache
def pan_levels() -> tuple[Foretold, ...]:
    """Return for each level of the pan what it adds to the pan; nothing at the first."""
    found = [Foretold(0.0, 0.0)]
    for cell in LEAKS_FEW:
        least, mean, most = (x * HOLD_S * PAN_SHARE for x in (cell.low, cell.mid, cell.high))
        found.append(rounded(Expected(mean, math.hypot((most - least) / math.sqrt(12), 0.3 * mean))))
    return tuple(found)


def _with(gas: Gas, at: int, share: float | None) -> tuple[float | None, ...]:
    return (*gas[:at], share, *gas[at + 1 :])


def system_hypotheses(setup: SystemSetup, priors: Mapping[str, float]) -> tuple[Hypothesis, ...]:
    """Return all hypotheses of a system; where its data say nothing of its accumulators, each cause without any reading."""
    if setup.shells:
        return tuple(_System(setup, priors).all())
    here = {mode: prior for mode, prior in priors.items() if mode in GAS or mode in faults(setup)}
    nothing = (Hypothesis((), five_digits(1 - sum(here.values())), {}),)
    return (*nothing, *(Hypothesis((At(mode, setup.id, setup.id),), five_digits(here[mode]), {}) for mode in here))
