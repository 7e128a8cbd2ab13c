"""Mutation testing of hydraulics/ and limits/: one small change at a time, and do the tests notice?

    python tests/long/mutate_physics.py [--sample N] [module ...]      for example: --sample 400 gas precharge_rows

Operators, comparisons, numbers and checks are changed, and the operators of the expressions that become formulas. Each
mutant runs in a process of its own, forked after the tests have passed once, so that imports and the answers of CoolProp
are ready. All take some 40 minutes; --sample takes N of them, drawn with a fixed seed. Prints the survivors and the share
killed with its 95 % interval; ends with 1 when fewer than 90 % of either folder are killed.
"""

import argparse
import ast
import functools
import importlib
import inspect
import math
import os
import random
import re
import signal
import sys
import time
import types
from pathlib import Path

import pytest
from _pytest.runner import runtestprotocol

ROOT = Path(__file__).parent.parent.parent
LEAST_SHARE = 0.90
TIMES_THE_SOUND_ONE = 8  # a mutant that takes so many times as long hangs, and counts as killed
TESTS = {
    "estimator.hydraulics": (
        "test_hydraulics_docstrings",
        "test_hydraulics_by_hand",
        "test_hydraulics_edges",
        "test_hydraulics_refusals",
        "test_published_cases",
        "test_hydraulics_dimensions",
        "test_hydraulics_gas",
        "test_hydraulics_reserve",
        "test_hydraulics_properties",
        "test_hydraulics_properties_mechanics",
        "test_rows_answered_again",
    ),
    "estimator.limits": (
        "test_measurement",
        "test_published_cases",
        "test_limits",
        "test_limits_derived",
        "test_expressions",
        "test_rows_answered_again",
        "test_driving",
        "test_readings_agree",
        "test_limits_sheet",
        "test_engines_agree",
    ),
}
# Slow, or seen by the others.
LEFT_OUT = "not pricing and not generated_jobs and not blank and not another_engine and not libreoffice"
OPERATORS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult}
COMPARISONS = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq}
COMPARISONS |= {ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is}
SIGNS = {"+": "-", "-": "+", "*": "/", "/": "*", "<": "<=", "<=": "<", ">": ">=", ">=": ">", "<>": "="}
SIGNS |= {"MIN(": "MAX(", "MAX(": "MIN(", "AND(": "OR(", "OR(": "AND("}
CHECKS = ("positive", "not_negative", "within", "rising", "finite")


def nodes(tree):
    """Every node that may be changed: not words for people, not annotations, not imports."""
    found = []
    for field, value in ast.iter_fields(tree):
        if field in ("annotation", "returns", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.JoinedStr):
                found.append(child)
            elif isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):
                continue
            elif isinstance(child, ast.AST) and not isinstance(child, (ast.Import, ast.ImportFrom)):
                found += [child, *nodes(child)]
    return found


def operators_of(text):
    """The operators outside braces of a text that is an expression over keys, each with its part and place."""
    parts = text.values if isinstance(text, ast.JoinedStr) else [text]
    words = [part.value if isinstance(part, ast.Constant) else "" for part in parts]
    if not re.search(r"[{}]|[A-Z]{2,}\(", "".join(words)):
        return []
    found, depth = [], 0
    for part, word in zip(parts, words, strict=True):
        for match in re.finditer(r"[{}]|<=|>=|<>|[-+*/<>]|\bMINA?\(|\bMAXA?\(|\bAND\(|\bOR\(", word):
            depth += (match[0] == "{") - (match[0] == "}")
            if depth == 0 and match[0] in SIGNS:
                found.append((part, match))
    return found


def change(node, which):
    """Changes a node in place and says how, or nothing where there is nothing to change."""
    if isinstance(node, ast.JoinedStr) or (isinstance(node, ast.Constant) and isinstance(node.value, str)):
        if which >= len(operators := operators_of(node)):
            return ""
        part, sign = operators[which]
        part.value = part.value[: sign.start()] + SIGNS[sign[0]] + part.value[sign.end() :]
        return f"{sign[0]} → {SIGNS[sign[0]]}"
    if isinstance(node, ast.Compare) and which < len(node.ops) and type(node.ops[which]) in COMPARISONS:
        was = node.ops[which]
        node.ops[which] = COMPARISONS[type(was)]()
        return type(was).__name__
    if which == 1 and isinstance(node, ast.If):
        node.test = ast.UnaryOp(ast.Not(), node.test)
        return "if not"
    if which:
        return ""
    if isinstance(node, ast.BinOp) and type(node.op) in OPERATORS:
        was = node.op
        node.op = OPERATORS[type(was)]()
        return type(was).__name__
    if isinstance(node, ast.BoolOp):
        node.op = ast.And() if isinstance(node.op, ast.Or) else ast.Or()
        return "and/or"
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        node.op = ast.UAdd()
        return "minus"
    if isinstance(node, ast.Constant) and isinstance(node.value, (int, float)) and not isinstance(node.value, bool):
        was = node.value
        node.value = was + 1 if was in (0, 1, 2) else was * 1.1
        return f"{was} → {node.value}"
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        name = node.func.id
        if name in ("min", "max"):
            node.func.id = "max" if name == "min" else "min"
            return name
        if name in CHECKS or name.startswith("_check"):
            node.func, node.args, node.keywords = ast.Name("bool", ast.Load()), [], []
            return f"without {name}"
    return ""


def mutants(source):
    """Each possible change: its line, what it is, and how to make it."""
    for number, node in enumerate(nodes(ast.parse(source))):
        for which in range(100):
            if said := change(node, which):
                yield node.lineno, said, (number, which)
            elif which:
                break


def mutated(source, number, which):
    tree = ast.parse(source)
    change(nodes(tree)[number], which)
    return ast.fix_missing_locations(tree)


def functions_of(thing):
    """The plain functions behind a name: a function under its decorators, the methods of a class."""
    if isinstance(thing, type):
        return {f"{name}.{key}": f for name, item in vars(thing).items() for key, f in functions_of(item).items()}
    thing = thing.fget if isinstance(thing, property) else getattr(thing, "func", thing)
    thing = inspect.unwrap(getattr(thing, "__func__", thing)) if callable(thing) else thing
    return {"": thing} if isinstance(thing, types.FunctionType) else {}


def put_in(module, tree):
    """Gives the loaded module's functions the mutant's code, and every module its changed constants."""
    names = dict(vars(module))
    exec(compile(tree, module.__file__, "exec"), names)
    modules = [other for other in list(sys.modules.values()) if str(ROOT) in str(getattr(other, "__file__", ""))]
    for other in modules:
        for thing in vars(other).values():
            if isinstance(thing, functools._lru_cache_wrapper):
                thing.cache_clear()
    for name, new in names.items():
        old = vars(module).get(name)
        if getattr(old, "__module__", "") == module.__name__:
            replaced = functions_of(new)
            for key, function in functions_of(old).items():
                function.__code__, function.__defaults__ = replaced[key].__code__, replaced[key].__defaults__
        elif not name.startswith("__") and not callable(new) and repr(old) != repr(new):
            for other in modules:
                if vars(other).get(name) is old:
                    setattr(other, name, new)


class Mutation:
    """Takes the place of pytest's own loop over the collected tests."""

    def __init__(self, wanted, sample):
        self.wanted, self.sample = wanted, sample
        self.counts = {}

    def failed(self, items):
        for item, following in zip(items, [*items[1:], None], strict=True):
            if any(report.failed for report in runtestprotocol(item, nextitem=following, log=False)):
                return item.nodeid
        return ""

    def survives(self, items, module, tree, seconds):
        process = os.fork()
        if not process:
            ends = 1
            try:
                signal.alarm(int(TIMES_THE_SOUND_ONE * seconds) + 60)
                put_in(module, tree)
                ends = 1 if self.failed(items) else 0
            finally:
                os._exit(ends)
        return os.waitpid(process, 0)[1] == 0

    def pytest_configure(self):
        import hypothesis

        hypothesis.settings.register_profile("mutants", phases=[hypothesis.Phase.explicit, hypothesis.Phase.generate])
        hypothesis.settings.load_profile("mutants")  # a failure is enough: it needn't be made small

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session):
        took = {}
        for item in session.items:
            began = time.perf_counter()
            if self.failed([item]):
                raise pytest.UsageError(f"{item.nodeid} fails without any mutation")
            took[item] = time.perf_counter() - began
        for package, tests in TESTS.items():
            seconds = sum(took[item] for item in session.items if item.path.stem in tests)
            items = sorted((item for item in session.items if item.path.stem in tests), key=took.__getitem__)
            found = list(self.drawn(package))
            killed = 0
            for number, (name, line, said, place) in enumerate(found, 1):
                module = sys.modules[name]
                source = Path(module.__file__).read_text(encoding="utf-8")
                if self.survives(items, module, mutated(source, *place), seconds):
                    words = source.splitlines()[line - 1].strip()
                    print(f"survived: {name}, line {line}: {said}: {words}", flush=True)
                else:
                    killed += 1
                if number == len(found) or found[number][0] != name:
                    print(f"{name}: {killed} of {number} killed so far", flush=True)
            self.counts[package] = (killed, len(found))
        return True

    def modules(self, package):
        folder = ROOT / package.replace(".", "/")
        paths = sorted(path.relative_to(folder).with_suffix("") for path in folder.rglob("[a-z]*.py"))
        return [".".join((package, *path.parts)) for path in paths if not self.wanted or path.name in self.wanted]

    def drawn(self, package):
        """The mutants of a package that were asked for, in the order of their modules."""
        found = [
            (name, *mutant)
            for name in self.modules(package)
            for mutant in mutants(Path(importlib.import_module(name).__file__).read_text(encoding="utf-8"))
        ]
        if self.sample and self.sample < len(found):
            chosen = random.Random(f"mutants of {package}").sample(range(len(found)), self.sample)
            found = [found[number] for number in sorted(chosen)]
        return found


def interval(killed, made):
    """The 95 % interval of a share (Wilson score): of all mutants, when a sample was drawn."""
    share, z = killed / made, 1.959964
    middle = share + z * z / (2 * made)
    half = z * math.sqrt(share * (1 - share) / made + z * z / (4 * made * made))
    return tuple((middle + sign * half) / (1 + z * z / made) for sign in (-1, 1))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--sample", type=int, default=0)
    parser.add_argument("modules", nargs="*")
    given = parser.parse_args()
    os.chdir(ROOT)
    sys.path[:0] = [str(ROOT), str(ROOT / "tests")]
    mutation = Mutation(given.modules, given.sample)
    wanted = [names for package, names in TESTS.items() if any(mutation.modules(package))]
    files = dict.fromkeys(f"tests/{name}.py" for names in wanted for name in names)
    pytest.main(["-q", "-p", "no:cacheprovider", "-k", LEFT_OUT, *files], plugins=[mutation])
    shares = {package: counts for package, counts in mutation.counts.items() if counts[1]}
    for package, (killed, made) in shares.items():
        low, high = interval(killed, made)
        print(f"{package}: {killed} of {made} killed, {killed / made:.1%} (95 % interval {low:.1%} to {high:.1%})")
    return 0 if shares and all(killed / made >= LEAST_SHARE for killed, made in shares.values()) else 1


if __name__ == "__main__":
    sys.exit(main())
