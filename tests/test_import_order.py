"""Imports run one way, in the order of the layout; nothing imports in a circle; heavy libraries are imported late."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import estimator

PACKAGE = Path(estimator.__file__).parent
ORDER = [
    *(
        "errors",
        "files",
        "drawing",
        "text_width",
        "money",
        "quantities",
        "written_quantities",
        "places",
        "migrations",
        "records",
        "boxes",
        "facts",
        "intake",
        "hydraulics",
        "limits",
        "diagnosis",
        "diagnosis.causes",
    ),
    *(
        "pricing",
        "appraisal",
        "appraise",
        "car_history",
        "diagnosis.advice",
        "gauge_findings",
        "reading_findings",
        "findings",
        "quote_notes",
        "next_step",
        "workbook",
        "readback",
        "pressure_logs",
        "books",
        "letters",
        "demo",
        "cli",
        "__main__",
    ),
]
# Each reads what others computed and needs none of the other.
APART = {("intake", "hydraulics"), ("books", "letters")}
HEAVY = {"pint", "pandas", "numpy", "openpyxl", "xlsxwriter", "jinja2", "lxml", "typer"}
MODULES = sorted(PACKAGE.rglob("*.py"))


def name_of(path):
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


NAMES = {name_of(path) for path in MODULES}


def imported(path):
    """The modules of this package that a file imports, inside functions too."""
    found = set()
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: line {node.lineno}: imports are written in full"
            found |= {f"{node.module}.{alias.name}" for alias in node.names if f"{node.module}.{alias.name}" in NAMES}
            found.add(node.module)
    return {name for name in found if name.split(".")[0] == "estimator"} - {"estimator"}


GRAPH = {name_of(path): imported(path) for path in MODULES}


def layer(module):
    """The first part of its name; causes and advice are two floors of one room, with pricing between them."""
    parts = module.split(".")
    if parts[1:2] == ["diagnosis"]:  # causes lie below prices, advice above them
        return ".".join(parts[1:3])
    return parts[1] if len(parts) > 1 else ""


@pytest.mark.parametrize("module", sorted(NAMES - {"estimator"}))
def test_imports_run_one_way(module):
    own = layer(module)
    assert own in ORDER, f"{own} has no place in the order yet"
    for other in GRAPH[module]:
        assert ORDER.index(layer(other)) <= ORDER.index(own), f"{module} imports {other}"
        assert (layer(other), own) not in APART, f"{module} imports {other}"


def test_no_circle():
    done, path = set(), []

    def visit(module):
        assert module not in path, " → ".join([*path[path.index(module) :], module])
        if module in done:
            return
        path.append(module)
        for other in sorted(GRAPH.get(module, ())):
            # A package's __init__ that hands on its own modules is no circle of theirs.
            if other != module and not module.startswith(f"{other}."):
                visit(other)
        path.pop()
        done.add(module)

    for module in sorted(GRAPH):
        visit(module)


@pytest.mark.parametrize(
    "module", ["estimator.intake.load_job", "estimator.intake.entries_csv", "estimator.facts.load_facts"]
)
def test_heavy_libraries_are_imported_late(module):
    code = f"import sys, {module}; print(sorted({HEAVY!r} & set(sys.modules)))"
    run = subprocess.run([sys.executable, "-c", code], cwd=PACKAGE.parent, capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
