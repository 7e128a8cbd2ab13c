"""What DEVELOPERS.md says of tests is so."""

import re
from pathlib import Path

TESTS = Path(__file__).parent
PAGE = (TESTS.parent / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_every_test_that_it_names_exists():
    named, file = [], ""
    for match in re.finditer(r"`((?:books/)?test_\w+\.py)?::(test_\w+)`", PAGE):
        file = match[1] or file
        named.append((file, match[2]))
    assert len(named) > 20
    gone = [pair for pair in named if f"def {pair[1]}(" not in (TESTS / pair[0]).read_text(encoding="utf-8")]
    assert gone == []


def test_every_file_that_it_names_exists():
    for name in re.findall(r"`(tests/[\w/]+(?:\.\w+)?)`", PAGE):
        assert (TESTS.parent / name).exists(), name
