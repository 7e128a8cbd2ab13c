"""The table of mutants that survive: a run changes what it tried, and keeps what people wrote."""

import ast
import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parent / "long"))

import survivors
from mutations import mutants, mutated

SOURCE = '''
def closing(drop):
    """Words aren't changed: 1 < 2."""
    if drop <= 0:
        return "{pressure}+1"
    return drop * 2
'''


def test_a_mutant_is_named_by_its_function_and_text() -> None:
    found = {(item.function, item.line, item.mutation) for item in mutants(SOURCE)}
    assert found == {
        ("closing", "if drop <= 0:", "LtE"),
        ("closing", "if drop <= 0:", "if not"),
        ("closing", "if drop <= 0:", "0 → 1"),
        ("closing", 'return "{pressure}+1"', "+ → -"),
        ("closing", "return drop * 2", "Mult"),
        ("closing", "return drop * 2", "2 → 3"),
    }


def test_each_mutant_is_another_program() -> None:
    made = [ast.unparse(mutated(SOURCE, *item.place)) for item in mutants(SOURCE)]
    assert len(made) == len({*made, ast.unparse(ast.parse(SOURCE))}) - 1


def test_reasons_stay_and_what_is_killed_or_gone_leaves(tmp_path: Path) -> None:
    old, new, killed, gone, again = (("m", "f", line, "LtE") for line in ("a", "b", "c", "d", "e"))
    known = dict.fromkeys((old, killed, gone, again), "both sides give the same")
    rows = survivors.brought_up_to_date(known, {old, new, killed, again}, {new, killed, again}, {new, again})
    assert rows == {old: "both sides give the same", new: "", again: "both sides give the same"}
    survivors.write(rows, tmp_path / "survivors.csv")
    assert survivors.read(tmp_path / "survivors.csv") == rows
