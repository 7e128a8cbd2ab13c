"""Draft, fill and redraft stopped dead at many points; the file that was there, or the new one, is what is left.

    python killed_writing.py FOLDER POINTS [SEED [COMMAND ...]]

For each of the commands a child process runs it as the shell would and is killed, at POINTS points: at lines of the code
that writes files, and after delays spread over the whole of the run. Then the command runs once more and must do its
work. Prints what was found, as JSON.
"""

import contextlib
import json
import os
import random
import re
import shutil
import signal
import sys
import time
from collections import Counter
from pathlib import Path

TESTS = Path(__file__).resolve().parent
sys.path[:0] = [str(TESTS), str(TESTS.parent)]

from fewer_jobs import keep_jobs  # noqa: E402
from returned_workbooks import FEW_JOBS, ROOT, write  # noqa: E402
from stopped_dead import Lines  # noqa: E402

from estimator.cli.app import main as estimator_main  # noqa: E402
from estimator.readback import write_verified as writing  # noqa: E402
from estimator.readback.check import check_workbook  # noqa: E402

OLD = b"an older file that somebody may need"


def prepared(folder: Path) -> dict[str, list[str]]:
    """A job with few jobs, a workbook and entries. Returns each command's words."""
    shutil.copytree(ROOT / "estimator/demo/files", folder, dirs_exist_ok=True)
    shutil.copytree(ROOT / "labor_tables", folder / "tables", ignore=shutil.ignore_patterns("*.py", "__pycache__"))
    keep_jobs(folder / "tables", FEW_JOBS.__contains__)
    car = folder / "car.toml"
    whole = car.read_text(encoding="utf-8")
    car.write_text(re.sub(r"(?ms)^\[\[intervals\]\].*?(?=^\[|\Z)", "", whole), encoding="utf-8")
    write(folder / "quote.xlsx")
    (folder / "entries.csv").write_text("key,value,unit,note\nvisit.before.by,Ida Fenwright,,\n", encoding="utf-8")
    job, tables = str(folder / "job.toml"), str(folder / "tables")
    return {
        "draft": ["draft", job, "--tables", tables],
        "fill": ["fill", str(folder / "quote.xlsx"), str(folder / "entries.csv")],
        "redraft": ["redraft", str(folder / "quote.xlsx"), "--job", job, "--tables", tables],
    }


def run(words: list[str]) -> int:
    with open(os.devnull, "w") as nothing, contextlib.redirect_stdout(nothing), contextlib.redirect_stderr(nothing):
        return estimator_main(words)


def counting(stop_at: int | None = None) -> Lines:
    """Count the lines that run in the code that writes files, and stop dead at one of them."""
    lines = Lines(lambda code: Path(code.co_filename).name in ("files.py", "tempfile.py"), stop_at)
    real = writing.write_whole

    def watched(path, content, verify=None):
        lines.watch()
        try:
            real(path, content, verify)
        finally:
            sys.settrace(None)
            writing.write_whole = real

    writing.write_whole = watched
    return lines


def killed(words: list[str], stop_at: int | None = None, after: float | None = None) -> bool:
    child = os.fork()
    if not child:
        if stop_at:
            counting(stop_at)
        os._exit(run(words))
    if after is not None:
        time.sleep(after)
        os.kill(child, signal.SIGKILL)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


def main(folder: Path, points: int, seed: int, commands: list[str]) -> None:
    rng = random.Random(seed)
    folder.mkdir(parents=True, exist_ok=True)
    counts: Counter[str] = Counter()
    for name, given in prepared(folder).items():
        if commands and name not in commands:
            continue
        out = folder / f"{name}-out" / "out.xlsx"
        out.parent.mkdir()
        words = [*given, "-o", str(out), "--force"]
        lines = counting()
        started = time.monotonic()
        assert run(words) in (0, 1), name
        taken = time.monotonic() - started
        total, new = lines.seen, out.read_bytes()
        assert check_workbook(out).state == "sound" and total > 20
        share = points // 2
        moments = [{"stop_at": rng.randint(1, total)} for _ in range(share)]
        moments += [{"after": rng.uniform(0, taken)} for _ in range(points - share)]
        for number, moment in enumerate(moments):
            before = OLD if number % 3 else None
            out.unlink(missing_ok=True)
            if before:
                out.write_bytes(before)
            counts["killed" if killed(words, **moment) else "finished before"] += 1
            left = out.read_bytes() if out.exists() else None
            assert left in (before, new), (name, moment, "a part of a file was left")
            counts["new file" if left == new else "old file" if before else "no file"] += 1
            others = [path.name for path in out.parent.iterdir() if path != out]
            assert all(other.startswith(".out.xlsx.") and other.endswith(".part") for other in others), others
            counts["a part beside it"] += len(others)
            for path in out.parent.glob(".*.part"):
                path.unlink()
        out.unlink(missing_ok=True)
        assert run(words) in (0, 1) and out.read_bytes() == new, "the next run does its work"
    print(json.dumps(counts))


if __name__ == "__main__":
    given = sys.argv[1:]
    main(Path(given[0]), int(given[1]), int(given[2]) if len(given) > 2 else 1, given[3:])
