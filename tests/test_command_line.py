"""The commands as people use them: examples of their help and of the README, exit statuses, messages, JSON."""

import contextlib
import functools
import io
import json
import os
import re
import shlex
import shutil
import signal
import subprocess
import sys
import time
from decimal import Decimal
from pathlib import Path

import pytest
from cli_runs import COMMAND, ROOT, SMALL, copied_demo, environment, run, shared_demo

from estimator import __version__
from estimator.cli.app import COMMANDS, main

NAMES = [module.__name__.rsplit(".", 1)[1] for module in COMMANDS]
# What an example ends with where that isn't 0: the demo's workbooks have findings, and check says so.
FINDINGS = ("check ",)


@pytest.fixture(scope="session")
def demo(tmp_path_factory):
    return shared_demo(tmp_path_factory)


@pytest.fixture(scope="session")
def small(tmp_path_factory):
    """The files of a small job, and its workbook; not to be changed."""
    folder = tmp_path_factory.mktemp("small") / "job"
    shutil.copytree(SMALL, folder)
    assert main(["draft", str(folder / "job.toml"), "-o", str(folder / "quote.xlsx")]) == 0
    return folder


@pytest.fixture
def told(capsys, monkeypatch, tmp_path):
    """Run a command within this process, in a folder of its own. Returns status, standard output, standard error."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("ESTIMATOR_SEAL_KEY", raising=False)
    capsys.readouterr()

    def tell(*words):
        status = main([str(word) for word in words])
        result, said = capsys.readouterr()
        assert "Traceback" not in result + said
        return status, result, said

    return tell


@functools.cache
def help_of(*words, spelling="-h"):
    with contextlib.redirect_stdout(io.StringIO()) as printed:
        assert main([*words, spelling]) == 0
    return printed.getvalue()


def examples_in(text):
    return [line.strip() for line in text.split("\n") if re.match(r"\s+estimator \S", line)]


# --- help and examples ------------------------------------------------------------------------------------------------


def test_help_names_every_command_and_says_the_caution():
    text = help_of()
    assert run("-h", cwd=ROOT).stdout == text, "in a process of its own as in this one"
    assert [name for name in NAMES if not re.search(rf"^  {name}  +\S", text, re.M)] == []
    assert "..." not in text.partition("Commands:")[2], "a command's first sentence is cut short"
    words = " ".join(text.split())
    assert "both gauges at zero" in words and "never states that a car is safe" in words
    assert examples_in(text)


@pytest.mark.parametrize("name", NAMES)
def test_help_of_each_command_has_an_example_and_both_spellings(name):
    short = help_of(name)
    assert help_of(name, spelling="--help") == short
    assert all(line.startswith(f"estimator {name}") for line in examples_in(short)) and examples_in(short)


ALL_EXAMPLES = ["estimator demo --out demo", "estimator check demo"] + [
    example for module in COMMANDS for example in module.EXAMPLES
]


def test_the_list_of_examples_is_what_help_prints():
    printed = [line for words in ([], *([name] for name in NAMES)) for line in examples_in(help_of(*words))]
    assert printed == ALL_EXAMPLES


@pytest.mark.parametrize("example", dict.fromkeys(ALL_EXAMPLES))
def test_example_runs_as_printed(example, demo, tmp_path):
    """Pasted as it is, in the folder where the demo was run."""
    words = shlex.split(example)
    if words[1] == "demo":
        assert words[2:] in ([], ["--out", "demo"])  # the shared demo was made so
        return
    done = run(*words[1:], cwd=copied_demo(demo, tmp_path))
    expected = 1 if example.removeprefix("estimator ").startswith(FINDINGS) else 0
    assert done.returncode == expected, done.stderr
    assert done.stdout.strip()
    if words[1] in ("draft", "fill"):  # byte for byte what the demo made in another process
        made = (tmp_path / words[words.index("-o") + 1]).read_bytes()
        assert made in [path.read_bytes() for path in (demo / "demo").iterdir() if path.is_file()]
    if "--json" in words:
        assert json.loads(done.stdout)["schema"] == 1


def test_examples_of_the_readme_run_in_order(demo, tmp_path):
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```sh\n(.*?)```", text, re.S)
    lines = [line.partition("#")[0].strip() for block in blocks for line in block.split("\n")]
    lines = [line for line in lines if line.startswith("estimator ")]
    assert len(lines) >= 5
    folder = copied_demo(demo, tmp_path)
    for line in lines:
        done = run(*shlex.split(line)[1:], cwd=folder)
        expected = 1 if line.startswith("estimator check") else 0
        assert done.returncode == expected, f"{line}: {done.stderr}"


def test_readme_marks_the_two_commands():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for mark in ("demo", "test"):
        block = re.search(rf"^<!-- {mark} command -->\n```sh\n(.+)\n```$", text, re.M)
        assert block and "\n" not in block[1], mark
    assert "estimator demo" in text and "-m pytest" in text


# --- usage, version, log ----------------------------------------------------------------------------------------------


def test_version(told):
    assert told("--version") == (0, f"estimator {__version__}\n", "")


@pytest.mark.parametrize(
    "words",
    [
        ("--no-such",),
        ("chekc", "a.xlsx"),
        ("check",),
        ("check", "a.xlsx", "--jobs", "0"),
        ("draft",),
        ("post", "a.xlsx"),
        ("books", "b", "--month", "2026-13"),
        ("core", "b", "LY-1"),
        ("core", "b", "LY-1", "ref", "returned", "--date", "soon"),
        ("fill", "a.xlsx"),
    ],
)
def test_wrong_usage_ends_with_2(told, words):
    status, result, said = told(*words)
    assert (status, result) == (2, "") and "-h" in said and said.strip().split("\n")[-1].startswith("Error: ")


def test_nothing_given_shows_the_help():
    done = run(cwd=ROOT)
    assert "Commands:" in done.stdout + done.stderr


def test_debug_writes_a_log(told, tmp_path):
    status, _, said = told("check", "gone.xlsx", "--debug")
    log = Path(said.strip().split("\n")[-1].removeprefix("log: "))
    assert status == 66 and log.parent == tmp_path
    assert "exit status 66" in log.read_text(encoding="utf-8")


def test_a_fault_of_the_program_is_said_in_words_with_a_log(told, monkeypatch):
    def fails(*_, **__):
        raise KeyError("nobody thought of this")

    monkeypatch.setattr("estimator.intake.load_job.load_job_and_prices", fails)
    status, result, said = told("draft", "job.toml")
    assert (status, result) == (70, "") and "internal error" in said
    log = Path(said.strip().split("log: ")[-1])
    assert "nobody thought of this" in log.read_text(encoding="utf-8")
    log.unlink()


# --- what is missing, not understood, not writable --------------------------------------------------------------------


def test_files_that_are_missing_end_with_66(told, small, tmp_path):
    for words in (
        ("draft", "job.toml"),
        ("check", "gone.xlsx"),
        ("fill", "gone.xlsx", small / "job.toml"),
        ("fill", small / "quote.xlsx", "gone.csv"),
        ("redraft", "gone.xlsx"),
        ("redraft", small / "quote.xlsx", "--job", "gone.toml"),
        ("limits", "car.toml"),
        ("books", "books"),
        ("core", "books"),
        ("draft", small / "job.toml", "--tables", "no-tables"),
        ("check", tmp_path),
    ):
        status, result, said = told(*words)
        assert status == 66 if words[0] != "fill" or words[1] != "gone.xlsx" else status in (65, 66), words
        assert result == "" or words[0] == "check"
        assert (said + result).strip()


def test_a_bad_input_is_told_whole_and_nothing_is_written(told, small, tmp_path):
    shutil.copytree(small, tmp_path / "job")
    job = tmp_path / "job" / "job.toml"
    job.write_text(job.read_text().replace('complaint = "Lamp lights early."', 'complain = "x"'), encoding="utf-8")
    status, result, said = told("draft", job)
    assert (status, result) == (65, "")
    assert f'{job}: key "complain": unknown key (did you mean "complaint"?)' in said
    assert "2 errors; nothing was written" in said
    assert not list(tmp_path.glob("*.xlsx"))


def test_no_file_is_written_over_without_force(told, small, tmp_path):
    kept = tmp_path / "quote.xlsx"
    kept.write_bytes(b"mine")
    (tmp_path / "entries.csv").write_text("key,value\nvisit.before.by,Tam Orrick\n", encoding="utf-8")
    for words in (
        ("draft", small / "job.toml", "-o", kept),
        ("fill", small / "quote.xlsx", "entries.csv", "-o", kept),
        ("redraft", small / "quote.xlsx", "-o", kept),
    ):
        status, result, said = told(*words)
        assert (status, result) == (73, "") and "already exists" in said and "--force" in said
        assert kept.read_bytes() == b"mine"
    assert told("draft", small / "job.toml", "-o", kept, "--force")[:2] == (0, f"{kept}\n")
    assert kept.read_bytes().startswith(b"PK")


@pytest.fixture
def unwritable(tmp_path):
    """A folder that can't be written; what the system gives in /proc for who may write everywhere."""
    if os.geteuid() == 0:
        return Path("/proc/self")
    folder = tmp_path / "shut"
    folder.mkdir(mode=0o500)
    return folder


@pytest.mark.skipif(not hasattr(os, "geteuid") or not Path("/proc/self").exists(), reason="wants a system with /proc")
def test_a_folder_that_cannot_be_written_ends_with_73(told, small, unwritable):
    for words in (
        ("draft", small / "job.toml", "-o", unwritable / "quote.xlsx"),
        ("start", unwritable / "workshop"),
        ("demo", "--out", unwritable / "demo"),
    ):
        status, result, said = told(*words)
        assert (status, result) == (73, ""), words
        assert "couldn't be written" in said and "lets you write" in said


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="wants /dev/full")
def test_standard_output_that_is_full_ends_with_73(small):
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [*COMMAND, "limits", str(small / "car.toml")],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            env=environment(),
            cwd=small,
        )
    assert done.returncode == 73 and "standard output" in done.stderr and "Traceback" not in done.stderr


def test_a_reader_that_leaves_early_is_no_fault(small):
    limits = subprocess.Popen(
        [*COMMAND, "limits", str(small / "car.toml")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(),
        cwd=small,
    )
    limits.stdout.readline()
    limits.stdout.close()
    said = limits.stderr.read().decode()
    limits.stderr.close()
    assert limits.wait() in (0, 73) and "Traceback" not in said and "Error" not in said


# --- check ------------------------------------------------------------------------------------------------------------


def test_check_groups_by_who_must_act_and_keeps_to_80_columns(told, demo):
    status, result, said = told("check", demo / "demo" / "LY-311-A-r1-before.xlsx", "--full")
    assert status == 1 and said == ""
    lines = result.split("\n")
    assert [line for line in lines[1:] if len(line) > 80] == []
    assert result.index("For the mechanic") < result.index("For the advisor")
    mechanic = result[result.index("For the mechanic") : result.index("For the advisor")]
    assert mechanic.index("DO NOT DRIVE because of:") < mechanic.index("Other findings:")
    assert "DO NOT DRIVE" in lines[3] and "\x1b" not in result
    words = " ".join(result.split())
    assert lines.index("For the mechanic (Inspection)") < 15  # the car, what to do, causes and price band
    assert len(lines) - lines.index("For the mechanic (Inspection)") < 51  # the findings
    assert "cause: the readings point clearly to: lost gas in the accumulator, system 2" in words
    assert "this visit may come to" in words and "This is no estimate" in words
    assert "too close to limit, counts as a fault" in words
    assert "unable to measure (seized or broken)" in words and "2 not measured or checked:" in words
    assert words.count("is safe") == words.count("This program never states that a car is safe") == 1


def test_check_of_a_folder_goes_on_after_a_bad_file(told, small, tmp_path):
    folder = tmp_path / "all"
    folder.mkdir()
    shutil.copy(small / "quote.xlsx", folder / "b.xlsx")
    (folder / "a.xlsx").write_bytes(b"not a workbook")
    shutil.copy(small / "quote.xlsx", folder / "c.xlsx")
    (folder / "~$b.xlsx").write_bytes(b"lock")
    (folder / "notes.txt").write_text("no workbook")
    for jobs in ("1", "2"):
        status, result, said = told("check", folder, "--json", "--jobs", jobs)
        assert status == 1 and said == ""
        books = json.loads(result)["workbooks"]
        assert [Path(book["file"]).name for book in books] == ["a.xlsx", "b.xlsx", "c.xlsx"]
        assert [book["state"] for book in books] == ["unreadable", "sound", "sound"]
        if jobs == "1":
            first = result
    assert result == first
    text = told("check", folder, "--jobs", "2")[1]
    assert text.index("a.xlsx") < text.index("b.xlsx") < text.index("c.xlsx") and "3 workbooks" in text


FINDING = {
    "rule": str,
    "severity": str,
    "what": str,
    "tab": str,
    "cell": str,
    "key": str,
    "expected": str,
    "found": str,
    "unit": str,
    "source": str,
    "fix": str,
    "cause": str,
    "followers": int,
}
BOX = {"key": str, "tab": str, "cell": str, "kind": str, "unit": str, "allowed": object, "value": object}
TOTALS = ("labor", "parts", "sublet", "fees", "core_deposits", "discount", "tax", "total")
STEP = {"kind": str, "id": str, "place": str, "title": str, "cost": str}
CAUSE = {
    "id": str,
    "place": str,
    "title": str,
    "probability": float,
    "explains": list,
    "job": str,
    "next": (dict, type(None)),
    "price_low": str,
    "price_high": str,
}
WORKBOOK = {
    "file": str,
    "document": str,
    "revision": int,
    "state": str,
    "car": str,
    "behind": list,
    "unexamined": list,
    "verdicts": dict,
    "findings": list,
    "boxes": list,
    "totals": dict,
    "proposed_totals": dict,
    "causes": list,
    "next": (dict, type(None)),
    "price_low": str,
    "price_high": str,
    "entries": dict,
    "cells_compared": int,
    "notes": list,
    "seal": str,
}


def holds(shape, data):
    assert list(data) == list(shape) or set(data) == set(shape)
    for name, kind in shape.items():
        assert isinstance(data[name], kind), name


def test_check_json_has_the_documented_schema(told, demo):
    files = [demo / "demo" / f"LY-311-A-r1{step}.xlsx" for step in ("", "-before", "-after", "-road")]
    status, result, _ = told("check", *files, "--json")
    data = json.loads(result)
    assert status == 1 and set(data) == {"schema", "program", "workbooks"} and data["schema"] == 1
    assert [book["car"] for book in data["workbooks"]] == [
        "not-measured",
        "do-not-drive",
        "shop-road-test-only",
        "no-do-not-drive-finding",
    ]
    assert [[cause["id"] for cause in book["causes"]] for book in data["workbooks"]] == [[], ["gas-gone"], [], []]
    for book in data["workbooks"]:
        holds(WORKBOOK, book)
        assert book["state"] == "sound" and len(book["boxes"]) > 1000
        for finding in book["findings"]:
            holds(FINDING, finding)
            assert finding["severity"] in ("stop", "warn", "note")
        for box in book["boxes"]:
            holds(BOX, box)
            assert box["kind"] in ("number", "text", "list", "date")
            assert isinstance(box["allowed"], list if box["kind"] in ("list", "number") else type(None))
        keys = {box["key"] for box in book["boxes"]}
        assert len(keys) == len(book["boxes"])
        for cause in book["causes"]:
            holds(CAUSE, cause)
            assert 0.1 <= cause["probability"] <= 1 and cause["explains"] and set(cause["explains"]) <= keys
        for item in (book, *book["causes"]):
            assert 0 < Decimal(item["price_low"]) <= Decimal(item["price_high"])
            if item["next"] is not None:
                holds(STEP, item["next"])
                assert (
                    item["next"]["kind"] in ("read-again", "test", "repair", "let-be")
                    and Decimal(item["next"]["cost"]) >= 0
                )
        for totals in (book["totals"], book["proposed_totals"]):
            assert tuple(totals) == TOTALS and all(re.fullmatch(r"-?[0-9]+\.[0-9]{2}", x) for x in totals.values())


# --- fill, redraft, post: what is refused -----------------------------------------------------------------------------


def altered(path, to):
    """A copy in which a person typed a number over a formula."""
    import openpyxl

    book = openpyxl.load_workbook(path)
    book["Estimate"].protection.sheet = False
    cells = (cell for row in book["Journal"].iter_rows() for cell in row)
    next(cell for cell in cells if str(cell.value).startswith("=") and cell.number_format != "General").value = 12.5
    book.save(to)
    return to


def test_an_unsound_workbook_is_neither_filled_nor_posted(told, small, tmp_path):
    wrong = altered(small / "quote.xlsx", tmp_path / "altered.xlsx")
    (tmp_path / "entries.csv").write_text("key,value\nvisit.before.by,Tam Orrick\n", encoding="utf-8")
    status, result, said = told("fill", wrong, "entries.csv")
    assert (
        (status, result) == (1, "") and "Journal!" in said and "overwrites a formula" in said and "not intact" in said
    )
    status, result, said = told("post", wrong, "--books", "books")
    assert (status, result) == (1, "") and "not posted" in said and "overwrites a formula" in said
    assert not (tmp_path / "books").exists() and not list(tmp_path.glob("*-filled.xlsx"))


def fill(told, workbook, to, *lines):
    csv = Path("typed.csv")
    csv.write_text("key,value\n" + "\n".join(lines) + "\n", encoding="utf-8")
    assert told("fill", workbook, csv, "-o", to, "--force")[:2] == (0, f"{to}\n")
    return to


def test_post_refuses_what_is_undecided_unconsented_or_mixed_and_posts_the_rest_once(told, small, tmp_path):
    quote = small / "quote.xlsx"
    decided = (
        "decision.front-pads.front-axle,authorized",
        "decision.bleed-system.system-1,authorized",
    )
    consent = (
        "consent.1.stage,repair",
        "consent.1.amount,{}",
        "consent.1.date,2026-11-25",
        "consent.1.who,Wren Castellow",
    )
    status, result, said = told("post", quote, "--books", "books")
    assert (status, result) == (1, "") and "awaiting a decision" in said
    without = fill(told, quote, tmp_path / "without.xlsx", *decided)
    assert "no authorization recorded" in told("post", without, "--books", "books")[2]
    short = fill(told, quote, tmp_path / "short.xlsx", *decided, *(line.format("100.00") for line in consent))
    assert (
        "record a further authorization" in told("post", short, "--books", "books")[2].casefold()
        and "allowed" in told("post", short, "--books", "books")[2]
    )
    done = tuple(line.replace("decision.", "done.").replace("authorized", "completed") for line in decided)
    ready = fill(told, quote, tmp_path / "ready.xlsx", *decided, *done, *(line.format("400.00") for line in consent))
    boxes = json.loads(told("check", ready, "--json")[1])["workbooks"][0]["boxes"]
    parts = next(box["allowed"] for box in boxes if box["key"] == "change.1.part")
    part = next(part for part in parts if part.endswith("front-axle"))
    change = (f"change.1.part,{part}", "change.1.substitute_family,mineral", "change.1.substitute,Pads")
    mixed = fill(told, ready, tmp_path / "mixed.xlsx", *change)
    assert "never mix the two" in told("post", mixed, "--books", "books")[2]
    assert not (tmp_path / "books").exists()
    # The car must not be driven, and its document posts all the same; what is refused doesn't stop it.
    status, result, said = told("post", short, ready, "--books", "books", "--who", "Marsh Delaney")
    assert status == 1 and "not posted" in said
    assert f"{ready}: LY-101-A revision 1: posted" in result and "written: books/journal-000001.csv" in result
    status, result, _ = told("post", ready, "--books", "books")
    assert status == 0 and "already posted" in result and "written" not in result
    status, result, _ = told("books", "books", "--json", "--verify")
    listed = json.loads(result)
    assert status == 0 and listed["findings"] == [] and len(listed["documents"]) == 1


def test_post_dates_the_invoice_and_keeps_out_what_is_not_done(told, small, tmp_path):
    decided = ("decision.front-pads.front-axle,authorized", "decision.bleed-system.system-1,authorized")
    consent = ("stage,repair", "amount,400.00", "date,2026-11-25", "who,Wren Castellow")
    agreed = fill(
        told, small / "quote.xlsx", tmp_path / "agreed.xlsx", *decided, *(f"consent.1.{row}" for row in consent)
    )
    post = ("post", agreed, "--books", "books", "--today", "2026-12-08")
    status, result, said = told(*post)
    assert (status, result) == (1, "") and "not posted: LY-101-A revision 1: authorized work" in said
    assert told(*post, "--override", "work-not-done")[0] == 1  # without a reason
    done = tuple(line.replace("decision.", "done.").replace("authorized", "completed") for line in decided)
    ready = fill(told, agreed, tmp_path / "ready.xlsx", *done)
    post = ("post", ready, "--books", "books", "--today", "2026-12-08", "--who", "Marsh Delaney")
    for date, words in (("2026-11-24", "on or after it"), ("2026-12-09", "up to today")):
        status, result, said = told(*post, "--date", date)
        assert (status, result) == (1, "") and words in said and not list(tmp_path.glob("books/journal*"))
    status, result, _ = told(*post, "--date", "2026-11-30")
    assert status == 0 and "posted" in result
    status, result, _ = told(*post)  # today's date is nobody's wish to change the invoice's
    assert status == 0 and "already posted" in result
    status, result, _ = told(
        "pay", "books", "LY-101-A", "20", "cash", "--shop", small / "shop.toml", "--today", "2026-12-08"
    )
    assert status == 65  # this shop names no account for payments
    assert told("close", "books", "2026-11", "--today", "2026-12-08", "--who", "M. Delaney")[0] == 0
    assert told("void", "books", "LY-101-A", "--why", "test", "--date", "2026-11-30", "--today", "2026-12-08")[0] == 1
    assert told("void", "books", "LY-101-A", "--why", "billed twice", "--today", "2026-12-08")[0] == 0
    status, result, _ = told("books", "books", "--document", "LY-101-A")
    assert status == 0 and "voided by" in result and "billed twice" in result and "2026-11-30  invoice" in result


def test_a_sealed_workbook_is_not_posted_without_its_key(told, small, tmp_path):
    (tmp_path / "key").write_text("0123456789abcdef0123456789abcdef", encoding="utf-8")
    (tmp_path / "key").chmod(0o600)
    told("draft", small / "job.toml", "-o", "sealed.xlsx", "--seal", "key")
    status, result, said = told("post", "sealed.xlsx", "--books", "books")
    assert (status, result) == (1, "") and "the seal was not checked" in said and not (tmp_path / "books").exists()
    assert "the seal was not checked" in told("letter", "sealed.xlsx")[2]
    assert "seal" not in told("letter", "sealed.xlsx", "--seal", "key", "--force")[2]


def test_a_letter_never_takes_the_place_of_a_workbook(told, small, tmp_path):
    for name in ("other.xlsx", "copy.html"):
        shutil.copy(small / "quote.xlsx", name)
    for name in ("other.xlsx", "copy.html", "new.xlsm"):
        status, result, said = told("letter", "other.xlsx", "-o", name, "--force")
        assert (status, result) == (73, "") and "never takes the place of a workbook" in said
    assert (tmp_path / "copy.html").read_bytes() == (small / "quote.xlsx").read_bytes()
    assert not (tmp_path / "new.xlsm").exists()


# --- terminal ---------------------------------------------------------------------------------------------------------


def on_a_terminal(*words, cwd, **more):
    """What the command shows on a terminal: both streams as one."""
    pty = pytest.importorskip("pty")
    master, slave = pty.openpty()
    process = subprocess.Popen(
        [*COMMAND, *map(str, words)], stdout=slave, stderr=slave, cwd=cwd, env=environment(TERM="xterm", **more)
    )
    os.close(slave)
    shown = io.BytesIO()
    while True:
        try:
            piece = os.read(master, 65536)
        except OSError:
            break
        if not piece:
            break
        shown.write(piece)
    os.close(master)
    return process.wait(), shown.getvalue().decode("utf-8", "replace")


def test_bold_and_progress_only_on_a_terminal(small, tmp_path):
    shutil.copy(small / "quote.xlsx", tmp_path / "a.xlsx")
    shutil.copy(small / "quote.xlsx", tmp_path / "b.xlsx")
    status, shown = on_a_terminal("check", "a.xlsx", "b.xlsx", "--jobs", "1", cwd=tmp_path)
    assert status == 1 and "\x1b[1m" in shown and "checked 2 of 2" in shown
    _, plain = on_a_terminal("check", "a.xlsx", cwd=tmp_path, NO_COLOR="1")
    assert "\x1b" not in plain
    piped = run("check", "a.xlsx", "b.xlsx", "--jobs", "1", cwd=tmp_path)
    assert "\x1b" not in piped.stdout and piped.stderr == ""


def test_a_terminal_that_knows_only_ascii_gets_replacements(small):
    done = run("limits", small / "car.toml", cwd=small, env=environment(PYTHONIOENCODING="ascii"))
    assert done.returncode == 0 and done.stdout.isascii()
    as_json = run("limits", small / "car.toml", "--json", cwd=small, env=environment(PYTHONIOENCODING="ascii"))
    assert "°C" in {row["unit"] for row in json.loads(as_json.stdout)["workings"]}


def test_a_line_break_in_a_files_own_name_makes_no_second_line(small, tmp_path):
    shutil.copy(small / "quote.xlsx", tmp_path / "a\nstop: b.xlsx")
    (tmp_path / "c\x1b[2J\r.xlsx").write_bytes(b"PK")
    done = run("check", ".", cwd=tmp_path)
    assert done.returncode in (1, 65)
    assert "\x1b" not in done.stdout + done.stderr and "\r" not in done.stdout + done.stderr
    assert not any(line.startswith("stop: b.xlsx") for line in (done.stdout + done.stderr).splitlines())
    assert "a\\nstop: b.xlsx" in done.stdout + done.stderr


# --- interrupts -------------------------------------------------------------------------------------------------------


def interrupted(words, cwd, after):
    """Start a command and interrupt it, as Ctrl-C does, once `after` seconds are over. Its status and messages."""
    process = subprocess.Popen(
        [*COMMAND, *map(str, words)],
        cwd=cwd,
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),  # ignored where tests run behind
    )
    time.sleep(after)
    os.killpg(process.pid, signal.SIGINT)
    try:
        result, said = process.communicate(timeout=60)
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
    return process.returncode, result, said


@pytest.mark.skipif(sys.platform == "win32", reason="wants POSIX signals")
@pytest.mark.parametrize("jobs", ["1", "2"])
def test_an_interrupt_ends_with_130_and_leaves_nothing_running(demo, tmp_path, jobs):
    for number in range(100):
        (tmp_path / f"{number}.xlsx").hardlink_to(demo / "demo" / "LY-311-A-r1.xlsx")
    status, _, said = interrupted(["check", ".", "--jobs", jobs], tmp_path, 2.5)
    assert status == 130, said
    assert "interrupted" in said and "Traceback" not in said


def test_an_interrupt_while_the_program_loads_ends_with_130():
    """Ctrl-C just as a library is imported, which the command line itself needs."""
    program = """
import sys
class Interrupting:
    def find_spec(self, name, path=None, target=None):
        if name == "typer":
            raise KeyboardInterrupt
sys.meta_path.insert(0, Interrupting())
from estimator.__main__ import main
sys.exit(main())
"""
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, env=environment())
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "interrupted: nothing was begun\n")


@pytest.mark.skipif(sys.platform == "win32", reason="wants POSIX signals")
def test_an_interrupted_draft_leaves_no_part_of_a_file(demo, tmp_path):
    folder = copied_demo(demo, tmp_path)
    status, result, said = interrupted(["draft", "demo/job.toml", "-o", "quote.xlsx"], folder, 0.8)
    assert "Traceback" not in said
    # 0: a machine that drafts so fast; the signal's own status: one so slow that the interpreter was still starting
    assert status in (0, 130, -signal.SIGINT)
    if status:
        assert result == "" and not list(folder.glob("*.xlsx"))
    assert not list(folder.glob(".*.part"))
