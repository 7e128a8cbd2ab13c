"""Every public function of the physics, and what its docstring declares."""

from __future__ import annotations

import importlib
import inspect
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

HYDRAULICS = Path(__file__).parent.parent / "estimator" / "hydraulics"
SECOND = Path(__file__).parent / "second_answers"
# domain.py refuses numbers and holds no physics.
MODULES = [
    *(f"estimator.hydraulics.{path.stem}" for path in sorted(HYDRAULICS.glob("*.py")) if path.stem != "domain"),
    *(f"tests.second_answers.{path.stem}" for path in sorted(SECOND.glob("[a-z]*.py"))),
]

# The unit that the end of a name stands for; the longest end that fits counts.
UNIT_OF_SUFFIX = {
    "_pa": "Pa",
    "_k": "K",
    "_m": "m",
    "_m2": "m²",
    "_m3": "m³",
    "_kg": "kg",
    "_n": "N",
    "_s": "s",
    "_m_s": "m/s",
    "_m_s2": "m/s²",
    "_m_s2_pa": "m/s²/Pa",
    "_m3_s": "m³/s",
    "_m2_s": "m²/s",
    "_m3_per_m": "m³/m",
    "_pa_s": "Pa·s",
    "_per_s": "1/s",
    "_per_k": "1/K",
    "_rad": "rad",
    "_j": "J",
    "_j_kg_k": "J/(kg·K)",
}


@dataclass(frozen=True)
class Documented:
    """A public function and the parts of its docstring."""

    module: str
    function: object
    parts: dict[str, str]

    @property
    def name(self) -> str:
        return f"{self.module.rsplit('.', 1)[1]}.{self.function.__name__}"

    @property
    def parameters(self) -> dict[str, inspect.Parameter]:
        return dict(inspect.signature(self.function).parameters)

    def argument(self, name: str) -> str:
        found = re.search(rf"^    {re.escape(name)}: (.*?)(?=^    \w+: |\Z)", self.parts["Args"], re.M | re.S)
        return found[1] if found else ""


def unit_of_name(name: str) -> str:
    ends = [end for end in UNIT_OF_SUFFIX if name.endswith(end)]
    return UNIT_OF_SUFFIX[max(ends, key=len)] if ends else "1"


def units_in(text: str) -> list[str]:
    return re.findall(r"\[([^\]]+)\]", text)


@cache
def documented() -> tuple[Documented, ...]:
    found = []
    for module_name in MODULES:
        module = importlib.import_module(module_name)
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == module_name and not name.startswith("_"):
                found.append(Documented(module_name, function, _parts(inspect.getdoc(function) or "")))
    return tuple(found)


def _parts(text: str) -> dict[str, str]:
    heads = "Args|Returns|Valid|Raises|Example"
    found = {"Formula": re.split(rf"^(?:{heads}):", text, maxsplit=1, flags=re.M)[0]}
    for head, body in re.findall(rf"^({heads}):(.*?)(?=^(?:{heads}):|^\[Source|\Z)", text, re.M | re.S):
        found[head] = body
    source = re.search(r"^\[Source: ([a-z0-9-]+)\]$", text, re.M)
    found["Source"] = source[1] if source else ""
    return found
