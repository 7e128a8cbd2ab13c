"""Every public function of hydraulics/ and of the second answers says its formula, units, validity and source."""

import doctest
import importlib
import inspect

import pytest
from physics_calls import CALLS
from physics_functions import MODULES, documented, unit_of_name, units_in

from estimator.facts.load_facts import sources

FUNCTIONS = documented()
IDS = [item.name for item in FUNCTIONS]
# Answers that aren't numbers.
WORDS = {"str", "bool", "tuple[str, ...]", "tuple[State, ...]"}


def numeric(parameter):
    return str(parameter.annotation) in ("float", "int", "float | None")


def test_every_function_is_found():
    assert len(FUNCTIONS) >= 55
    assert set(CALLS) == set(IDS), "tests/physics_calls.py holds one call of each"


@pytest.mark.parametrize("item", FUNCTIONS, ids=IDS)
def test_all_parts_are_there(item):
    missing = [
        part for part in ("Args", "Returns", "Valid", "Raises", "Example") if not item.parts.get(part, "").strip()
    ]
    assert not missing
    assert item.parts["Source"] in sources()
    assert ">>>" in item.parts["Example"]


@pytest.mark.parametrize("item", FUNCTIONS, ids=IDS)
def test_formula_stands_after_the_first_sentence(item):
    sentence, _, formula = item.parts["Formula"].partition("\n\n")
    assert sentence.endswith((".", ":"))
    assert formula.strip() or item.function.__annotations__["return"] in WORDS


@pytest.mark.parametrize("item", FUNCTIONS, ids=IDS)
def test_units_of_arguments_agree_with_their_names(item):
    for name, parameter in item.parameters.items():
        said = item.argument(name)
        assert said, f"{name} isn't described"
        if not numeric(parameter):
            continue
        units = units_in(said)
        wanted = unit_of_name(name)
        allowed = {wanted, "ΔK"} if wanted == "K" else {wanted}
        assert units and set(units) <= allowed, f"{name}: {units}, wanted {allowed}"


@pytest.mark.parametrize("item", FUNCTIONS, ids=IDS)
def test_answers_have_units(item):
    if item.function.__annotations__["return"] in WORDS:
        return
    assert units_in(item.parts["Returns"])


@pytest.mark.parametrize("item", FUNCTIONS, ids=IDS)
def test_raises_is_said_where_it_can_refuse(item):
    source = inspect.getsource(item.function)
    refuses = any(word in source for word in ("raise ", "positive(", "within(", "not_negative(", "rising("))
    said = item.parts["Raises"].strip()
    assert said.startswith("DomainError") or (said == "nothing" and not refuses)


@pytest.mark.parametrize("module_name", [*MODULES, "estimator.facts.load_facts", "estimator.facts.published"])
def test_examples(module_name):
    result = doctest.testmod(importlib.import_module(module_name), optionflags=doctest.ELLIPSIS)
    assert result.failed == 0


def test_modules_with_functions_have_examples_that_run():
    with_examples = [name for name in MODULES if doctest.testmod(importlib.import_module(name)).attempted]
    assert len(with_examples) == len({item.module for item in FUNCTIONS})
