"""One word for one thing in all that people read: titles, messages, help, the workbook, letters, files and guides."""

import pytest
from glossary import PACKAGE, SAY, TABLES, comments, faults, in_csv, in_toml, messages
from letter_pages import text_of, tree
from letter_samples import NAMES, letter_at

from estimator.cli.app import COMMANDS, main

ROOT = PACKAGE.parent
# Where a forbidden word is right. Migrations hold old words; files of posted batches are held to the byte; names of keys.
RIGHT = {
    "migrations.py": ("added work", "measured again"),
    "books/csv_files.py": ("done by others",),
    "books/ubl.py": ("consent",),
    "facts/strict.py": ("yardstick",),
    "intake/shop_rules.py": ("consent",),
    "limits/rows/line_rows.py": ("pipes",),
    "car.toml": ("pipes", "maker"),
    # the name of a package
    "cli/new.py": ("overhaul",),
    "new": ("overhaul",),
    "README.md": ("overhaul",),
}
# Quoted law and standards stay as they are printed.
OURS = ("trade_practice.toml", "accumulators.toml", "gauges.toml", "parts_and_fluid.toml", "written_estimates.toml")


def told(texts):
    """Each text with a word that the shop doesn't say, and where it stands."""
    found = []
    for where, text in texts:
        right = next((words for name, words in RIGHT.items() if where.startswith(name)), ())
        wrong = [fault for fault in faults(text) if fault.split("'")[1].casefold() not in right]
        found += [f"{where}: {text[:80]!r}: {'; '.join(wrong)}"] if wrong else []
    return found


def test_messages_and_help():
    assert told(messages()) == []


def test_help_texts(capsys):
    texts = []
    for module in COMMANDS:
        name = module.__name__.rsplit(".", 1)[1]
        main([name, "-h"])
        texts.append((name, capsys.readouterr().out))
    assert len(texts) > 9 and told(texts) == []


def test_titles_of_facts_checks_and_meanings():
    texts = [
        *in_toml(PACKAGE / "facts/checks.toml", ("title", "group", "how", "judged_as", "drive_low", "drive_high")),
        *in_toml(PACKAGE / "letters/meanings.toml", ("bad", "low", "high")),
        *in_toml(PACKAGE / "pricing/consent_rules.toml", ("source",)),
    ]
    for name in OURS:
        texts += in_toml(PACKAGE / "facts/limits" / name, ("title",))
    assert len(texts) > 250 and told(texts) == []


def test_labor_tables():
    columns = ("title", "note", "description", "basis", "verdict")
    texts = [item for path in sorted(TABLES.glob("*.csv")) for item in in_csv(path, columns)]
    assert len(texts) > 250 and told(texts) == []


def test_files_that_people_write_in():
    texts = []
    for path in sorted((PACKAGE / "demo/files").iterdir()):
        texts += comments(path)
        if path.suffix == ".toml":
            texts += in_toml(path, ("title", "complaint", "terms", "source", "shop_notes", "description", "compared"))
    assert len(texts) > 100 and told(texts) == []


@pytest.mark.parametrize("name", NAMES)
def test_the_letter(name):
    drawn = tree(letter_at(name)).xpath(
        "//*[local-name()='text' or local-name()='title' or local-name()='desc']/text()"
    )
    assert told([(name, text_of(letter_at(name))), *((name, text) for text in drawn)]) == []


@pytest.mark.parametrize("guide", ["README.md", "labor_tables/README.md"])
def test_guides(guide):
    lines = (ROOT / guide).read_text(encoding="utf-8").splitlines()
    assert told((f"{guide}:{number}", line) for number, line in enumerate(lines, 1)) == []


def test_headings_of_the_developers_page():
    lines = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").splitlines()
    headings = [line for line in lines if line.startswith("#")]
    assert len(headings) > 8 and told(("DEVELOPERS.md", line) for line in headings) == []


def test_the_judge_knows_each_word():
    said = (
        "workshop", "maker's", "complaint", "asked for", "proposed", "calls for", "agreed to", "consents", "strip",
        "added work", "given back", "renewed", "overhaul", "off and on", "survey", "isolating test", "measured again",
        "pipe", "bleed screw", "hub play", "leakage pan", "in store", "gas vessel", "other users", "depleted", "strokes",
        "lit", "yardstick", "wanted", "brought to", "finer gauge", "typed in", "isn't sound", "write over", "left out",
        "dearest", "stands in", "off the road", "all checks passed",
    )  # fmt: skip
    assert len(said) == len(SAY)
    for word, pattern in zip(said, SAY, strict=True):
        assert faults(f"here {word} there"), pattern
    for text in ("90 % %", "5 %", "1.2e-09 Pa", "14 a."):
        assert faults(text), text
    assert faults("the shop replaces the line: 7.25%, 14 years") == [] and faults("`proposed_totals` and {maker}") == []
