"""Single-cell edits of a filled-in workbook, over all blocks of all tabs: each is found, at its cell, by its rule."""

from __future__ import annotations

from pathlib import Path

import pytest
from boxes_by_key import appraise_boxes, first_boxes
from plain_writing import write_workbook
from planted import Fault, faults
from strategies import demo_record
from written_file import edited

import estimator.demo
from estimator.intake.entries_csv import load_entries
from estimator.readback.check import Checked, check_workbook
from estimator.readback.rebuild import filled
from estimator.workbook.compose import compose

FILES = Path(estimator.demo.__file__).parent / "files"
CHUNKS, EACH, ALL = 10, 4, 11  # by default, and in tests/long/test_long_planted_faults.py
LABEL_RULES = ("text-changed", "cell-moved", "input-changed")


@pytest.fixture(scope="module")
def sound(tmp_path_factory) -> tuple[Path, Checked]:
    folder = tmp_path_factory.mktemp("planted")
    record = demo_record("job.toml")
    path = folder / "drafted.xlsx"
    write_workbook(compose(appraise_boxes(record, first_boxes(record))), path)
    for name in ("before.csv", "decisions.csv"):
        appraisal = filled(check_workbook(path), load_entries(FILES / name))
        path = folder / f"{name}.xlsx"
        write_workbook(compose(appraisal), path)
    checked = check_workbook(path)
    assert checked.state == "sound" and not checked.integrity
    return path, checked


def planted(checked: Checked, chunk: int, each: int = EACH) -> list[Fault]:
    """Every CHUNKS-th fault, `each` of them, evenly, so that all chunks together run through all blocks."""
    mine = faults(compose(checked.appraisal), 3)[chunk::CHUNKS][:ALL]
    return mine[:: len(mine) // each][:each]


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_a_planted_fault_is_found_at_its_cell(chunk: int, sound: tuple[Path, Checked], tmp_path: Path) -> None:
    all_found(sound, tmp_path, chunk, EACH)


def all_found(sound: tuple[Path, Checked], tmp_path: Path, chunk: int, each: int) -> None:
    path, checked = sound
    chosen = planted(checked, chunk, each)
    assert len(chosen) == each
    missed = []
    for fault in chosen:
        back = check_workbook(edited(path, tmp_path / "edited.xlsx", fault.tab, fault.cell, fault.edit))
        rules = LABEL_RULES if fault.rule == "label" else (fault.rule,)
        found = [
            item for item in back.integrity if item.rule in rules and (item.tab, item.cell) == (fault.tab, fault.cell)
        ]
        if not found or back.state != "unsound":
            missed.append(f"{fault.name} · {fault.rule} · said: {[item.line() for item in back.integrity][:3]}")
    assert not missed, "\n".join(missed)


def test_a_changed_rate_is_named_as_the_cause_of_what_follows(sound: tuple[Path, Checked], tmp_path: Path) -> None:
    """The stored values stay: the rate alone is altered, and nothing else is listed."""
    path, checked = sound
    all_faults = faults(compose(checked.appraisal), 3)
    fault = next(item for item in all_faults if item.key.startswith("rate.") and item.kind == "number changed")
    back = check_workbook(edited(path, tmp_path / "edited.xlsx", fault.tab, fault.cell, fault.edit))
    assert [item.rule for item in back.integrity] == ["input-changed"]
