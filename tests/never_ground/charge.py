"""The nitrogen of one accumulator, step by step: real (CoolProp: Span and others 2000), and exchanging heat with its shell.

SI, absolute pressures.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from CoolProp.CoolProp import AbstractState, DmassT_INPUTS

from tests.real_nitrogen import density

_N2 = AbstractState("HEOS", "Nitrogen")
_N2.specify_phase(2)  # supercritical gas: CoolProp need not look for a liquid


@dataclass
class Charge:
    """The nitrogen of one shell: its mass stays, its volume is what the fluid leaves; heat flows to the shell's metal."""

    shell: float
    precharge: float
    ambient: float
    relaxation_s: float
    mass: float = 0.0
    volume: float = 0.0
    kelvin: float = 0.0

    def __post_init__(self) -> None:
        self.mass = self.shell * density(self.precharge, self.ambient)
        self.volume, self.kelvin = self.shell, self.ambient

    @property
    def pressure(self) -> float:
        _N2.update(DmassT_INPUTS, self.mass / self.volume, self.kelvin)
        return float(_N2.p())

    def at(self, pressure: float, kelvin: float) -> float:
        """The gas volume, settled, at a pressure and temperature."""
        return self.mass / density(pressure, kelvin)

    def settle(self, volume: float) -> None:
        self.volume, self.kelvin = min(volume, self.shell), self.ambient

    def move(self, fluid: float, seconds: float) -> bool:
        """Give out fluid (take in, if negative) without heat, then let heat flow. False once no fluid is left to give."""
        volume = self.volume + fluid
        if volume > self.shell:
            return False
        _N2.update(DmassT_INPUTS, self.mass / self.volume, self.kelvin)
        entropy, guess = _N2.smass(), self.kelvin * (self.volume / volume) ** 0.4
        self.kelvin = self._isentropic(self.mass / volume, entropy, guess)
        self.volume = volume
        self.kelvin = self.ambient + (self.kelvin - self.ambient) * math.exp(-seconds / self.relaxation_s)
        return True

    def _isentropic(self, density: float, entropy: float, guess: float) -> float:
        """The temperature at a density and an entropy, by Newton's method: ds/dT at constant volume is cv/T."""
        kelvin = guess
        for _ in range(20):
            _N2.update(DmassT_INPUTS, density, kelvin)
            step = (entropy - _N2.smass()) * kelvin / _N2.cvmass()
            kelvin += step
            if abs(step) < 1e-6:
                break
        return kelvin
