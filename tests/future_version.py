"""A version to come, made for the tests: a copy of the program in which words, a check and a table have other names.

Run in a process of its own: `python future_version.py WORKBOOK… ENTRIES…` prints what that version makes of them.
"""

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VERSION = "99.0.0"
CHECK, CHECK_NOW = "parking-brake-travel", "parking-brake-lever"
TABLE, TABLE_NOW = "consent", "authorization"
WORDS = {"authorized": "granted", "no fault found": "nothing amiss"}
STEP = f"""
STEPS = (*STEPS, Step(STEPS[-1].after, "{VERSION}",
    keys={{"reading.{CHECK}.*": "reading.{CHECK_NOW}.*", "{TABLE}.*": "{TABLE_NOW}.*"}},
    words={{
        "*.decision": {{"authorized": "granted"}},
        "reading.*": {{"no fault found": "nothing amiss"}},
        "/tables/calls/*/verdict": {{"no fault found": "nothing amiss"}},
        "/tables/calls/*/check_id": {{"{CHECK}": "{CHECK_NOW}"}},
        "/tables/job_checks/*/check_id": {{"{CHECK}": "{CHECK_NOW}"}},
        "/tables/job_checks/*/1": {{"{CHECK}": "{CHECK_NOW}"}},
        "/car/limits/*/check": {{"{CHECK}": "{CHECK_NOW}"}},
    }},
),)
"""
# Files, what is written there, what the version to come writes instead.
CHANGES = (
    ("estimator/__init__.py", r'__version__ = ".*"', f'__version__ = "{VERSION}"'),
    ("estimator/*/**/*.py", r"no fault found", "nothing amiss"),
    ("estimator/pricing/decisions.py", r'"authorized"', '"granted"'),
    ("estimator/facts/checks.toml", rf'^id = "{CHECK}"', f'id = "{CHECK_NOW}"'),
    ("estimator/letters/meanings.toml", rf"^\[{CHECK}\]", f"[{CHECK_NOW}]"),
    ("estimator/facts/stages.toml", rf'"{CHECK}"', f'"{CHECK_NOW}"'),
    ("estimator/workbook/tabs/consent.py", r'(\{|^ +")consent([:"@])', rf"\1{TABLE_NOW}\2"),
    ("estimator/workbook/tabs/estimate.py", r'"consent"', f'"{TABLE_NOW}"'),
    ("estimator/boxes/*.py", r'"consent"', f'"{TABLE_NOW}"'),
)


def make_version(folder: Path, *, with_step: bool) -> Path:
    """The program with other names, in a folder; with the step that declares them, or without."""
    for name in ("estimator", "labor_tables"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    for pattern, old, new in CHANGES:
        found = 0
        for path in folder.glob(pattern):
            text, number = re.subn(old, new, path.read_text(encoding="utf-8"), flags=re.M)
            path.write_text(text, encoding="utf-8")
            found += number
        assert found, f"{pattern} holds no {old}"
    if with_step:
        path = folder / "estimator/migrations.py"
        text = path.read_text(encoding="utf-8")
        path.write_text(re.sub(r"(?m)^STEPS = .*$", lambda match: match[0] + STEP, text), encoding="utf-8")
    return folder


def made_of(folder: Path, *files: Path) -> dict[str, object]:
    """What the version in a folder makes of workbooks and entries files."""
    command = [sys.executable, __file__, *map(str, files)]
    run = subprocess.run(
        command, cwd=folder, env={"PYTHONPATH": str(folder)}, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)


def _made(path: Path) -> dict[str, object]:
    from estimator.errors import Refused
    from estimator.money import money_text
    from estimator.readback.check import check_workbook
    from estimator.readback.rebuild import redrafted

    def shown(entries: object) -> dict[str, object]:
        return {key: value if isinstance(value, float) else str(value) for key, value in entries.items() if value != ""}

    checked = check_workbook(path)
    assert checked.appraisal is not None, [finding.line() for finding in checked.findings]
    found = {
        "rules": sorted({f"{item.rule} {item.severity}" for item in checked.integrity}),
        "state": checked.appraisal.driving.state,
        "total": money_text(checked.appraisal.agreed["total"]),
        "proposed": money_text(checked.appraisal.proposed["total"]),
        "entries": shown(checked.entries.values),
        "unplaced": [item.key for item in checked.findings if item.key and not item.cell],
    }
    try:
        again = redrafted(checked, checked.carried.record).appraisal
    except Refused as refusal:
        return found | {"lost": [item.key for item in refusal.findings], "refused": str(refusal)}
    return found | {
        "again": shown(again.entries.as_boxes()),
        "again_state": again.driving.state,
        "again_total": money_text(again.agreed["total"]),
    }


def _typed(path: Path, workbook: Path) -> dict[str, object]:
    """The entries of a file as they are typed into a fresh workbook of another one's record."""
    from estimator.appraise import appraise
    from estimator.boxes.entries import Entries
    from estimator.intake.entries_csv import load_entries
    from estimator.pricing.first_entries import first_entries
    from estimator.readback.apply_entries import apply_entries
    from estimator.readback.check import check_workbook
    from estimator.workbook.compose import compose

    record = check_workbook(workbook).carried.record
    entries = apply_entries(
        load_entries(path), compose(appraise(record, Entries())).boxes(), first_entries(record).as_boxes()
    )
    return {key: value if isinstance(value, float) else str(value) for key, value in entries.items()}


if __name__ == "__main__":
    names = [Path(name) for name in sys.argv[1:]]
    made = {name.name: _made(name) if name.suffix == ".xlsx" else _typed(name, names[0]) for name in names}
    print(json.dumps(made))
