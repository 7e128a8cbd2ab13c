"""Several people post the same documents to one folder at the same time: each document once.

A sample here; 8 processes, 50 posts of 20 documents each under tests/long/.
"""

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path

from book_samples import balances, verify
from many_at_once import document
from test_post import journals, judge

from estimator.books.listing import list_books
from estimator.books.post import post
from estimator.books.verify import verify as verify_all

WORKER = Path(__file__).with_name("many_at_once.py")


def start(books, processes, turns, size, reports=0):
    commands = [[sys.executable, WORKER, books, *map(str, (n, turns, size, reports))] for n in range(processes)]
    return [
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for command in commands
    ]


def post_at_once(books, processes, turns, size, reports=0):
    """Let them post; each document must stand once, with its own total. Returns how often which status was given."""
    running = start(books, processes, turns, size, reports)
    counts: Counter[str] = Counter()
    said = [process.communicate(timeout=1500) for process in running]
    assert [problems for _, problems in said] == [""] * processes
    assert [process.returncode for process in running] == [0] * processes
    for out, _ in said:
        counts.update(json.loads(out))
    listing = list_books(books)
    assert len(listing.documents) == turns * size == counts["posted"]
    assert counts["already-posted"] == (processes - 1) * turns * size and counts.total() == processes * turns * size
    assert all(len(item.entries) == 1 for item in listing.documents)
    total = sum(document(number).totals["total"] for number in range(turns * size))
    assert balances(books)["DUE", "USD"] == total
    assert judge(*journals(books)).returncode == 0
    assert verify(books) == ()
    return counts


def test_each_document_once(tmp_path):
    post_at_once(tmp_path / "books", processes=4, turns=4, size=5)


def test_each_document_once_and_the_month_report_is_the_last_one(tmp_path):
    books = tmp_path / "books"
    post_at_once(books, processes=3, turns=2, size=3, reports=1)
    assert len(list(books.glob("month-*"))) == 2 and verify_all(books) == ()


def test_what_is_verified_while_others_post_lacks_at_most_the_files_that_they_are_writing(tmp_path):
    books = tmp_path / "books"
    post([document(0)], books, "first", reports=False)
    running, verified = start(books, processes=2, turns=3, size=4), 0
    while any(process.poll() is None for process in running):
        assert [finding.line() for finding in verify(books) if not finding.fix.startswith("verify again")] == []
        verified += 1
    said = [process.communicate()[1] for process in running]
    assert said == ["", ""] and verified and verify(books) == ()
