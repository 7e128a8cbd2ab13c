"""Posting stopped dead at one of many points, then looked at by the next run.

    python killed_posting.py FOLDER LINES TIMES

Kills at LINES points spread over the lines that run while register and files are touched, and after TIMES delays
spread over the whole of a posting, so that some fall within the database's own work. Prints what was found, as JSON.
"""

import json
import os
import shutil
import signal
import sys
import time
from collections import Counter
from pathlib import Path

sys.path[:0] = [str(folder) for folder in Path(__file__).resolve().parents[:3]]

from book_samples import posting, revised, verify  # noqa: E402
from stopped_dead import Lines  # noqa: E402

import estimator.books.month_report  # noqa: E402, F401
from estimator.books.post import post  # noqa: E402
from estimator.books.register import FILE_NAME  # noqa: E402

WATCHED = ("post.py", "entries.py", "register.py", "batch_files.py", "files.py")  # what touches register and files
NOW = "2026-11-25T09:00:00+00:00"
FIRST = [posting(), posting("LY-2042"), posting("LY-2043", tax_kind="none")]
SECOND = [revised(FIRST[0]), posting("LY-2042"), posting("LY-2044", level="line"), revised(FIRST[2])]


def do_post(books, postings):
    return post(postings, books, "T. Quill", now=NOW, today=FIRST[0].date, reports=False)


def contents(books):
    files = (path for path in books.rglob("*") if path.is_file())
    return {
        str(p.relative_to(books)): p.read_bytes()
        for p in files
        if not p.name.endswith((".part", ".sqlite", "-journal"))
    }


def counting(stop_at=None):
    """Count the lines that run within the package, and stop dead at one of them."""
    lines = Lines(_touches_books, stop_at)
    lines.watch()
    return lines


def _touches_books(code):
    path = Path(code.co_filename)
    return path.name in WATCHED and path.parent.name in ("books", "estimator")


def killed(books, stop_at=None, after=None):
    """Post in a child that is killed at a line, or from outside after a time. Returns whether it was."""
    child = os.fork()
    if not child:
        if stop_at:
            counting(stop_at)
        do_post(books, SECOND)
        os._exit(0)
    if after is not None:
        time.sleep(after)
        os.kill(child, signal.SIGKILL)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


def main(folder, lines, times):
    base, whole = folder / "base", folder / "whole"
    do_post(base, FIRST)
    shutil.copytree(base, whole)
    counted = counting()
    started = time.monotonic()
    do_post(whole, SECOND)
    traced = time.monotonic() - started
    sys.settrace(None)
    total, want = counted.seen, contents(whole)
    shutil.rmtree(whole)
    shutil.copytree(base, whole)
    started = time.monotonic()
    killed(whole)
    taken = time.monotonic() - started
    points = [{"stop_at": 1 + i * (total - 1) // max(lines - 1, 1)} for i in range(lines)]
    points += [{"after": taken * i / times} for i in range(times)]
    counts: Counter[str] = Counter()
    for number, point in enumerate(points):
        books = folder / f"run-{number}"
        shutil.copytree(base, books)
        counts["killed" if killed(books, **point) else "finished before"] += 1
        counts["left a hot journal"] += (books / f"{FILE_NAME}-journal").exists()
        again = do_post(books, SECOND)
        statuses = tuple(item.status for item in again.documents)
        if statuses == ("already-posted",) * 4:
            counts["whole batch was kept"] += 1
            missing = bool(want.keys() - contents(base).keys()) and bool(again.messages)
            counts["files made again, and said so"] += missing
        else:
            assert statuses == ("reversed-and-posted", "already-posted", "posted", "reversed-and-posted"), (
                point,
                statuses,
            )
            assert again.messages == (), (point, again.messages)
            counts["nothing was kept"] += 1
        assert contents(books) == want, (point, contents(books).keys() ^ want.keys())
        assert verify(books) == (), (point, verify(books))
        shutil.rmtree(books)
    print(json.dumps({**counts, "lines": total, "seconds": round(taken, 4), "traced": round(traced, 3)}))


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
