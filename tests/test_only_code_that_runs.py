"""Every definition of the program is reached from a command, by name."""

from pathlib import Path

from reached_code import Reached, read_module

import estimator
from estimator.cli.app import COMMANDS

PACKAGE = Path(estimator.__file__).parent
# Rooms whose definitions all count as reached, and why.
EXEMPT = {
    "estimator.hydraulics": "the independent answer to every working of limits/, until the diagnosis calls it",
    "estimator.limits": "its rows are being rewritten as data; take this line out once they are",
}
ENTRIES = [
    "estimator.__main__:main",
    "estimator.demo.samples:main",
    *(f"{module.__name__}:{name}" for module in COMMANDS for name in ("EXAMPLES", module.__name__.rsplit(".", 1)[1])),
]


def name_of(path):
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def modules(planted=()):
    found = {name_of(path): path.read_text(encoding="utf-8") for path in sorted(PACKAGE.rglob("*.py"))}
    return [read_module(name, text + dict(planted).get(name, "")) for name, text in found.items()]


def unreached(planted=()):
    parsed = modules(planted)
    spared = [module for module in parsed if module.name.startswith(tuple(EXEMPT))]
    entries = [f"{module.name}:{name}" for module in spared for name in module.definitions]
    templates = [path.read_text(encoding="utf-8") for path in sorted(PACKAGE.rglob("*.j2"))]
    found = Reached(parsed, [*ENTRIES, *entries], templates).unreached()
    return [str(item) for item in found if not item.module.startswith(tuple(EXEMPT))]


def test_every_definition_is_reached_from_a_command():
    found = unreached()
    assert not found, "\n".join([*found, "take it out, use it, or move it to tests/ as a second answer"])
