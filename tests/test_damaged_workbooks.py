"""Damaged workbooks through the whole of a check: refused in words, or read as they are; never called sound wrongly.

A fixed sample here; 20,000 under tests/long/.
"""

from collections import Counter
from pathlib import Path

import pytest
from damage import Content, content_of, damaged, judge
from returned_workbooks import book_of, bytes_of, small_record, write

SEED, SAMPLES, CHUNKS = 4, 75, 3


def run(seeds: range, folder: Path, content: Content) -> Counter[str]:
    """Damage and judge a copy for each seed. Returns how often each kind ended in which state."""
    book, sound = book_of(small_record, SEED), bytes_of(small_record, SEED)
    path, found = folder / "copy.xlsx", Counter[str]()
    for seed in seeds:
        path.unlink(missing_ok=True)
        kind = damaged(seed, sound, book, path)
        verdict = judge(path, content, book)
        assert verdict.faults == (), (seed, kind, verdict.state, verdict.faults[:3])
        found[verdict.state] += 1
        found["judged"] += verdict.judged
    return found


@pytest.fixture(scope="module")
def content(tmp_path_factory: pytest.TempPathFactory) -> Content:
    found = content_of(write(tmp_path_factory.mktemp("sound") / "sound.xlsx", small_record, SEED))
    assert found is not None
    return found


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_damage_is_refused_or_read_as_it_is(chunk: int, content: Content, tmp_path: Path) -> None:
    each = SAMPLES // CHUNKS
    found = run(range(chunk * each, (chunk + 1) * each), tmp_path, content)
    assert found["unreadable"] >= 3 and found["judged"] >= 3, found


def test_the_judge_sees_what_is_wrong(content: Content, tmp_path: Path) -> None:
    """A judge that never finds anything proves nothing: one altered total, called sound, must be a fault."""
    from damage import _differences, _wrong_boxes
    from returned_workbooks import check

    checked = check(write(tmp_path / "a.xlsx", small_record, SEED))
    book = book_of(small_record, SEED)
    assert _wrong_boxes(checked, content) == _differences(checked, content, content, book) == []
    altered = dict(content)
    place = next(place for place, (formula, _) in content.items() if formula and place[0] == "Estimate")
    altered[place] = (content[place][0], 1.23)
    assert len(_differences(checked, altered, content, book)) == 1
    box = next(item for item in checked.entries.boxes if item.value is not None)
    altered[box.tab, box.cell] = (None, "another")
    assert len(_wrong_boxes(checked, altered)) == 1
