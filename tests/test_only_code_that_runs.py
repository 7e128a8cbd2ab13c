"""Every definition of the program is reached from a command, by name."""

import operator
from pathlib import Path

from reached_code import Reached, read_module

import estimator
from estimator.cli.app import COMMANDS
from estimator.workbook import write

PACKAGE = Path(estimator.__file__).parent
# Rooms whose definitions all count as reached, and why.
EXEMPT = {
    "estimator.hydraulics": "what a diagnosis will ask of accumulators, pump and pedal, until it does",
}
# Methods that a library calls by a name of its own, and which one.
CALLED_BY_LIBRARIES = {
    "_Sheet._prepare_formula": "XlsxWriter, for each formula",
    "_Sheet._xml_formula_element": "XlsxWriter, for each formula",
    "File._get_packager": "XlsxWriter, when it closes a file",
    "_Packager._write_core_file": "XlsxWriter, when it closes a file",
    "_Core._write_dc_subject": "XlsxWriter, when it writes the properties",
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
    found = Reached(parsed, [*ENTRIES, *entries], [*templates, *CALLED_BY_LIBRARIES]).unreached()
    return [item for item in found if not item.module.startswith(tuple(EXEMPT))]


def test_every_definition_is_reached_from_a_command():
    found = [str(item) for item in unreached()]
    assert not found, "\n".join([*found, "take it out, use it, or move it to tests/ as a second answer"])


def test_what_is_spared_is_there():
    names = {module.name for module in modules()}
    assert set(EXEMPT) <= names
    assert all(operator.attrgetter(name)(write) for name in CALLED_BY_LIBRARIES)


PLANTED = """

UNUSED = 1


def unused_function():
    return unused_function() or UNUSED or Unused().method()


class Unused:
    def method(self):
        return UNUSED
"""


def test_what_no_command_reaches_is_found():
    """Names that only each other name, in a file that every command loads; a method that no one asks for."""
    method = "\n\n    def nobody_asks(self):\n        return 0\n"
    money, cores = "estimator.money", "estimator.books.core_deposits"
    found = {(item.module, item.name) for item in unreached({money: PLANTED})}
    assert found >= {(money, name) for name in ("UNUSED", "unused_function", "Unused")}
    last_class = "\n\nclass Found(str):\n    pass" + method + "\n\nOUTCOMES |= {Found(): ''}\n"
    found = {(item.module, item.name) for item in unreached({cores: last_class})}
    assert (cores, "Found.nobody_asks") in found and (cores, "Found") not in found


def test_a_name_that_is_only_imported_is_not_reached():
    planted = {"estimator.money": PLANTED, "estimator.cli.core": "\n\nfrom estimator.money import unused_function\n"}
    assert ("estimator.money", "unused_function") in {(item.module, item.name) for item in unreached(planted)}
