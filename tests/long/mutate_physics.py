"""Mutation testing of hydraulics/ and limits/measurement.py: one small change at a time, and do the tests notice?

    python tests/long/mutate_physics.py [module ...]      for example: gas reserve

Each mutant runs in a process of its own, forked after the tests have passed once, so that imports and the answers of
CoolProp are ready. It takes some 40 minutes in all. Prints the survivors; ends with 1 when fewer than 90 % are killed.
"""

import ast
import os
import signal
import sys
import types
from pathlib import Path

import pytest
from _pytest.runner import runtestprotocol

ROOT = Path(__file__).parent.parent.parent
LEAST_SHARE = 0.90
SECONDS_A_MUTANT = 180
TESTS = (
    "test_hydraulics_docstrings",
    "test_hydraulics_by_hand",
    "test_hydraulics_edges",
    "test_measurement",
    "test_hydraulics_refusals",
    "test_published_cases",
    "test_hydraulics_dimensions",
    "test_hydraulics_gas",
    "test_hydraulics_reserve",
    "test_hydraulics_properties",
    "test_hydraulics_properties_mechanics",
)
OPERATORS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult}
COMPARISONS = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq}
COMPARISONS |= {ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is}
CHECKS = ("positive", "not_negative", "within", "rising", "finite")


def nodes(tree):
    """Every node that may be changed: not words for people, not annotations, not imports."""
    found = []
    for field, value in ast.iter_fields(tree):
        if field in ("annotation", "returns", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and not isinstance(child, (ast.JoinedStr, ast.Import, ast.ImportFrom)):
                found += [child, *nodes(child)]
    return found


def change(node, which):
    """Changes a node in place and says how, or nothing where there is nothing to change."""
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
    for number in range(len(nodes(ast.parse(source)))):
        for which in (0, 1):
            tree = ast.parse(source)
            node = nodes(tree)[number]
            if said := change(node, which):
                yield node.lineno, said, ast.fix_missing_locations(tree)


def put_in(module, tree):
    """Gives the loaded module's functions the mutant's code, and every module its changed constants."""
    names = dict(vars(module))
    exec(compile(tree, module.__file__, "exec"), names)
    for name, new in names.items():
        old = vars(module).get(name)
        if isinstance(old, types.FunctionType) and old.__module__ == module.__name__:
            old.__code__, old.__defaults__ = new.__code__, new.__defaults__
        elif isinstance(old, type) and old.__module__ == module.__name__ and "__post_init__" in vars(old):
            old.__post_init__.__code__ = new.__post_init__.__code__
        elif isinstance(new, (int, float, tuple, dict)) and old != new:
            for other in list(sys.modules.values()):
                if getattr(other, "__name__", "").startswith("estimator") and vars(other).get(name) == old:
                    setattr(other, name, new)


class Mutation:
    """Takes the place of pytest's own loop over the collected tests."""

    def __init__(self, wanted):
        self.wanted, self.share = wanted, 0.0

    def failed(self, items):
        for item, following in zip(items, [*items[1:], None], strict=True):
            if any(report.failed for report in runtestprotocol(item, nextitem=following, log=False)):
                return item.nodeid
        return ""

    def survives(self, items, module, tree):
        process = os.fork()
        if not process:
            ends = 1
            try:
                signal.alarm(SECONDS_A_MUTANT)
                put_in(module, tree)
                ends = 1 if self.failed(items) else 0
            finally:
                os._exit(ends)
        return os.waitpid(process, 0)[1] == 0

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session):
        if failed := self.failed(session.items):
            raise pytest.UsageError(f"{failed} fails without any mutation")
        made = killed = 0
        names = [
            f"estimator.hydraulics.{path.stem}" for path in sorted((ROOT / "estimator/hydraulics").glob("[a-z]*.py"))
        ]
        for name in [*names, "estimator.limits.measurement"]:
            if self.wanted and name.rsplit(".", 1)[1] not in self.wanted:
                continue
            module = sys.modules[name]
            source = Path(module.__file__).read_text(encoding="utf-8")
            for line, said, tree in mutants(source):
                made += 1
                if self.survives(session.items, module, tree):
                    print(f"survived: {name}, line {line}: {said}: {source.splitlines()[line - 1].strip()}", flush=True)
                else:
                    killed += 1
            print(f"{name}: {killed} of {made} killed so far", flush=True)
        self.share = killed / made
        return True


if __name__ == "__main__":
    os.chdir(ROOT)
    sys.path[:0] = [str(ROOT), str(ROOT / "tests")]
    mutation = Mutation(sys.argv[1:])
    files = [f"tests/{name}.py" for name in TESTS]
    pytest.main(["-q", "-p", "no:cacheprovider", "-k", "not pricing", *files], plugins=[mutation])
    print(f"{mutation.share:.1%} killed")
    sys.exit(0 if mutation.share >= LEAST_SHARE else 1)
