"""The long runs of the books: ten to twenty-five minutes on two cores.

    python -m pytest tests/long/test_long_books.py

The default run has a fixed sample of each.
"""

import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS / "books"), str(TESTS)]

import engines  # noqa: E402
from test_damaged_books import flip, kept, shop  # noqa: E402, F401
from test_killed_posting import kill, slips  # noqa: E402
from test_many_at_once import post_at_once  # noqa: E402
from test_money_oracle import documents_sheet, judge_documents, sample, wrong_cells  # noqa: E402

DOCUMENTS, CHUNK = 100_000, 1_000


def test_no_cent_of_difference_in_100_000_documents():
    with ProcessPoolExecutor(2) as workers:
        chunks = [range(first, first + CHUNK) for first in range(0, DOCUMENTS, CHUNK)]
        assert [fault for faults in workers.map(judge_documents, chunks) for fault in faults] == []


@engines.needs_libreoffice
def test_no_cent_of_difference_in_libreoffice(tmp_path):
    paths, wanted = [], []
    for number in range(5):
        paths.append(tmp_path / f"money-{number}.xlsx")
        wanted.append(documents_sheet(paths[-1], sample(400, 1000 * number)))
    for expected, values in zip(wanted, engines.recalculate_with_libreoffice(paths), strict=True):
        assert wrong_cells(expected, values) == {}


def test_240_lines_and_60_moments_at_which_posting_is_killed(tmp_path):
    found = kill(tmp_path, 240, 60)
    assert found["killed"] >= 240
    assert found["whole batch was kept"] > 50 and found["nothing was kept"] > 50
    assert found["left a hot journal"] and found["files made again, and said so"] > 50


def test_8_processes_50_posts_of_20_documents(tmp_path):
    post_at_once(tmp_path / "books", processes=8, turns=50, size=20)


def test_1500_flipped_bits_end_in_findings_and_never_in_a_fault(kept, tmp_path, capsys):  # noqa: F811
    found = flip(kept, tmp_path, 1500, 2)
    assert found["register"] > 300 and found["files"] > 300


def test_300_posts_under_kill_with_every_slip_mixed_in(tmp_path):
    found = slips(tmp_path, 300, 2)
    assert found["killed"] > 100 and found["refused"] > 60 and found["voided"] and found["close"]
