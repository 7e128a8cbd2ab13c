"""Mutation testing of hydraulics/ and limits/: one small change at a time, and do the tests notice?

    python tests/long/mutate_physics.py [--sample N] [module ...]      for example: --sample 400 gas precharge_rows

Operators, comparisons, numbers and checks are changed, and the operators of the expressions that become formulas
(mutations.py). Each mutant runs in a process of its own, forked after the tests have passed once, so that imports and
the answers of CoolProp are ready. All take some 40 minutes; --sample takes N of them, drawn with a fixed seed. Writes the
survivors into survivors.csv, where reasons stay, and prints the share killed with its 95 % interval; ends with 1 when
fewer than 90 % of either folder are killed.
"""

import argparse
import functools
import importlib
import inspect
import math
import os
import random
import signal
import sys
import time
import types
from pathlib import Path

import pytest
import survivors
from _pytest.runner import runtestprotocol
from mutations import mutants, mutated

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
        self.counts, self.tried, self.survived = {}, set(), set()
        self.known = survivors.read()

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
            found, killed = self.drawn(package), 0
            for number, (name, mutant) in enumerate(found, 1):
                module = sys.modules[name]
                source = Path(module.__file__).read_text(encoding="utf-8")
                key = key_of(name, mutant)
                self.tried.add(key)
                if self.survives(items, module, mutated(source, *mutant.place), seconds):
                    self.survived.add(key)
                    print("survived:", *key, sep=" · ", flush=True)
                else:
                    killed += 1
                if number == len(found) or found[number][0] != name:
                    print(f"{name}: {killed} of {number} killed so far", flush=True)
                    self.write_survivors()
            self.counts[package] = (killed, len(found))
        return True

    def write_survivors(self):
        possible = {key_of(*item) for package in TESTS for item in all_mutants(package)}
        survivors.write(survivors.brought_up_to_date(self.known, possible, self.tried, self.survived))

    def modules(self, package):
        return [name for name in modules_of(package) if not self.wanted or name.rpartition(".")[2] in self.wanted]

    def drawn(self, package):
        """The mutants of a package that were asked for, in the order of their modules."""
        wanted = set(self.modules(package))
        found = [item for item in all_mutants(package) if item[0] in wanted]
        if self.sample and self.sample < len(found):
            chosen = random.Random(f"mutants of {package}").sample(range(len(found)), self.sample)
            found = [found[number] for number in sorted(chosen)]
        return found


def modules_of(package):
    folder = ROOT / package.replace(".", "/")
    paths = sorted(path.relative_to(folder).with_suffix("") for path in folder.rglob("[a-z]*.py"))
    return [".".join((package, *path.parts)) for path in paths]


@functools.cache
def all_mutants(package):
    """Module and mutant of each change that is possible."""
    sources = {name: Path(importlib.import_module(name).__file__) for name in modules_of(package)}
    return [(name, item) for name, path in sources.items() for item in mutants(path.read_text(encoding="utf-8"))]


def key_of(name, mutant):
    return name, mutant.function, mutant.line, mutant.mutation


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
