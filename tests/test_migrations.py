"""Old names are read as what they meant: steps between versions, tried on the kept workbooks of 0.2.0 by a version to come."""

import csv
import json
from pathlib import Path

import pytest
from future_version import CHECK, CHECK_NOW, TABLE, TABLE_NOW, WORDS, made_of, make_version
from old_words import BETTER_THEN, OVER, in_the_next_round, in_words_of_now
from returned_workbooks import ROOT, book_of, demo_record

from estimator import __version__
from estimator.demo import start_files
from estimator.intake.labor_tables import load_labor_tables, packaged_tables
from estimator.intake.load_job import load_job
from estimator.limits.judging.driving import STATE_SLUGS
from estimator.migrations import STEPS, Step, key_now, record_now, steps_since, word_now
from estimator.readback.renamed_book import renamed
from estimator.workbook.layout import Layout

KEPT = ROOT / "tests" / "old_workbooks"
SHOWN = json.loads((KEPT / "shown.json").read_text(encoding="utf-8"))
STEMS = ("0.2.0-glycol-decided", "0.2.0-glycol-road", "0.2.0-mineral-road")


def entries_of(stem: str) -> dict[str, object]:
    kept = json.loads((KEPT / f"{stem}.json").read_text(encoding="utf-8"))
    return {key: value if isinstance(value, float) else str(value) for key, value in kept.items() if value != ""}


def as_named_to_come(entries: dict[str, object]) -> dict[str, object]:
    """Entries of 0.2.0 under the names of the version to come, worked out by plain replacement."""
    found = {}
    for key, value in in_words_of_now(entries).items():
        first, rest = key.split(".", 1)
        name = f"{TABLE_NOW if first == TABLE else first}.{rest}".replace(f".{CHECK}.", f".{CHECK_NOW}.")
        fixed = key.endswith(".decision") or (first == "reading" and key.rsplit(".", 1)[1] in ("before", "after"))
        found[name] = WORDS.get(value, value) if fixed else value
    return found


def gathered_now(key: str, entries: dict[str, object]) -> bool:
    """Whether an entry stands elsewhere now: those of parts in lines that name them, initials once on a page, the number of a
    photo in the check's note."""
    noted = key.endswith(".note") and key.replace(".note", ".photo") in entries
    return key.startswith("part.") or key.endswith((".initials", ".photo")) or noted


@pytest.fixture(scope="module")
def old_entries(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("entries") / "old.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([("key", "value"), *entries_of("0.2.0-glycol-decided").items()])
    return path


@pytest.fixture(scope="module")
def to_come(tmp_path_factory: pytest.TempPathFactory, old_entries: Path) -> dict[str, dict[str, object]]:
    folder = make_version(tmp_path_factory.mktemp("to-come"), with_step=True)
    return made_of(folder, *(KEPT / f"{stem}.xlsx" for stem in STEMS), old_entries)


@pytest.mark.parametrize("stem", STEMS)
def test_every_entry_arrives_where_words_keys_and_a_table_were_renamed(stem: str, to_come: dict[str, dict]) -> None:
    made, shown = to_come[f"{stem}.xlsx"], SHOWN[stem]
    better = stem in BETTER_THEN
    assert made["rules"] == ["other-version warn", *["state-changed stop"] * better]
    assert STATE_SLUGS[made["state"]] == ("do-not-drive" if better else shown["car"])
    assert (made["total"], made["proposed"]) == (shown["totals"]["total"], shown["proposed_totals"]["total"])
    expected = as_named_to_come(entries_of(stem))
    in_place = {key: value for key, value in expected.items() if not gathered_now(key, expected)}
    assert made["entries"].items() >= in_place.items() and len(in_place) > 450
    others = [key for key in made["entries"].keys() - in_place.keys() if not key.endswith((".why_after", ".note"))]
    assert {key.partition(".")[0] for key in others} <= {"change", "page"}
    again = expected
    if stem in OVER:
        again = as_named_to_come(in_the_next_round(entries_of(stem), OVER[stem]))
    again = {key: value for key, value in again.items() if not gathered_now(key, again)}
    assert made["again"].items() >= again.items(), "nothing is lost by drafting again"
    assert (made["again_state"], made["again_total"]) == (made["state"], made["total"])
    renamed_keys = [key for key in expected if CHECK_NOW in key or key.startswith(f"{TABLE_NOW}.")]
    assert len(renamed_keys) > 40
    assert not any(TABLE_NOW in key or CHECK_NOW in key for key in made["unplaced"]), "findings have their cells"


def test_an_entries_file_of_an_old_version_is_understood(to_come: dict[str, dict]) -> None:
    kept = as_named_to_come(entries_of("0.2.0-glycol-decided"))
    in_place = {key: value for key, value in kept.items() if not gathered_now(key, kept)}
    typed = to_come["old.csv"]
    assert typed.items() >= in_place.items()
    changed = {key.split(".", 1)[1].rpartition(".")[0] for key in kept if key.endswith(".substitute")}
    assert changed <= {value for key, value in typed.items() if key.startswith("change.") and key.endswith(".part")}


def test_without_the_step_redrafting_stops_and_names_what_would_be_lost(tmp_path: Path) -> None:
    folder = make_version(tmp_path / "to-come", with_step=False)
    (made,) = made_of(folder, KEPT / "0.2.0-glycol-road.xlsx").values()
    entries = entries_of("0.2.0-glycol-road")
    expected = {
        key
        for key, value in entries.items()
        if key.startswith(f"{TABLE}.")
        or f".{CHECK}." in key
        or (key.endswith(".decision") and value == "agreed")
        or (key.startswith("reading.") and value == "no fault seen")
    } - {f"reading.{CHECK}.car.initials", f"reading.{CHECK}.car.photo"}  # once on a page, in the note
    expected |= {f"reading.{CHECK}.car.why_after"}  # each phase has its reason
    assert set(made["lost"]) == expected and len(expected) > 90
    assert "Accept each named loss" in made["refused"]
    assert "state-changed stop" in made["rules"], "it showed a state that its entries don't lead to any more"


# --- the steps themselves ---------------------------------------------------------------------------------------------


def test_the_steps_lead_to_the_present_version() -> None:
    assert [step.before for step in STEPS[1:]] == [step.after for step in STEPS[:-1]]
    assert STEPS[-1].after == __version__
    assert {path.name.split("-")[0] for path in KEPT.glob("*.xlsx")} == {step.before for step in STEPS}


@pytest.mark.parametrize("name", ["job.toml", "job_mineral.toml"])
def test_no_present_name_is_an_old_one(name: str) -> None:
    """A name that was given up and came back with another meaning would be taken for the old one."""
    record = load_job(Path(start_files.__file__).parent / "files" / name, packaged_tables())
    book = book_of(lambda: record)
    assert [key for key in book.by_key if key_now(key) != key] == []
    words = [(cell.key, word) for cell in book.boxes() for word in cell.box.allowed]
    assert [item for item in words if word_now(*item) != item[1]] == []
    data = json.loads(record.model_dump_json())
    assert record_now(data, STEPS) == data


def test_which_steps_a_version_needs(monkeypatch: pytest.MonkeyPatch) -> None:
    steps = (Step("0.1.0", "0.9.0"), Step("0.9.0", "0.10.0"))
    monkeypatch.setattr("estimator.migrations.STEPS", steps)
    assert steps_since("0.1.0") == steps_since("0.0.9") == steps_since("unknown") == steps_since("") == steps
    assert steps_since("0.9.0") == steps[1:]
    assert steps_since("0.10.0") == steps_since("1.0.0") == ()


TWO = (
    Step(
        "1",
        "2",
        {"line.*.decision": "job.*.decision", "/tables/calls": "/tables/remedies"},
        {"job.*": {"yes": "agreed"}},
    ),
    Step(
        "2",
        "3",
        {"job.*": "work.*"},
        {"work.*.decision": {"agreed": "authorized"}, "/tables/remedies/*/word": {"a": "b"}},
    ),
)


def test_names_are_walked_step_by_step() -> None:
    assert key_now("line.road-test.car.decision", TWO) == "work.road-test.car.decision"
    assert key_now("line.road-test.car.done", TWO) == "line.road-test.car.done"
    assert word_now("line.x.car.decision", "Yes", TWO) == "authorized"
    assert word_now("work.x.car.decision", "yes", TWO) == "authorized", "by its present name too"
    assert word_now("line.x.car.decision", "agreed", TWO[1:]) == "agreed", "only at the keys that the step names"
    assert word_now("line.x.car.decision", 3.0, TWO) == 3.0
    old = {"tables": {"calls": [{"word": "a"}, {"word": "c"}]}, "calls": [{"word": "a"}]}
    assert record_now(old, TWO) == {"tables": {"remedies": [{"word": "b"}, {"word": "c"}]}, "calls": [{"word": "a"}]}


@pytest.mark.parametrize("new", ["/job/calls", "/tables/jobs"])
def test_a_step_that_would_move_a_field_of_the_record_is_refused(new: str) -> None:
    step = Step("1", "2", {"/tables/calls": new})
    with pytest.raises(ValueError, match="moves the field /tables/calls"):
        record_now({"tables": {"jobs": [], "calls": []}}, [step])


RENAMED = {
    "a table": {"line.*": "job.*"},
    "a column": {"line.*.decision": "line.*.choice"},
    "the rows of a check": {"reading.cut-out.*": "reading.cut-out-pressure.*"},
    "a working": {"working.*": "figure.*"},
}


@pytest.mark.parametrize("what", RENAMED)
def test_a_renamed_book_has_the_same_addresses_and_formulas(what: str) -> None:
    """Whatever the cells are called, what was drafted stands where it stood."""
    book = book_of()
    step = Step("1", "2", RENAMED[what])
    now = renamed(book, [step])
    assert now.by_key.keys() != book.by_key.keys()
    before, after = Layout(book), Layout(now)
    for old, new in zip(before.placed.values(), after.placed.values(), strict=True):
        was, is_now = (list(layout.formulas(place)) for layout, place in ((before, old), (after, new)))
        assert [(*at[:2], at[3]) for at in was] == [(*at[:2], at[3]) for at in is_now]
        assert [step.key(at[2].key) for at in was] == [at[2].key for at in is_now]


def test_entries_of_a_block_that_was_split_move() -> None:
    step = Step("1", "2", {"reading.*.after": "again.*.value"})
    assert list(renamed(book_of(), [step]).by_key) == [step.key(key) for key in book_of().by_key], (
        "in forms, box by box"
    )
    assert step.key("reading.cut-out.system-1.1.after") == "again.cut-out.system-1.1.value"


def test_labor_tables_with_old_words_are_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "labor_tables"
    folder.mkdir()
    for path in (ROOT / "labor_tables").glob("*.csv"):
        text = path.read_text(encoding="utf-8")
        (folder / path.name).write_text(text.replace("fault found", "defect seen"), encoding="utf-8")
    step = Step("0.3.0", "0.4.0", words={"/tables/calls/*/verdict": {"defect seen": "fault found"}})
    monkeypatch.setattr("estimator.migrations.STEPS", (step,))
    assert load_labor_tables(folder) == demo_record().tables
