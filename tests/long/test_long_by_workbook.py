"""Every case of the sample through draft, fill and check. About half a minute.

python -m pytest tests/long/test_long_by_workbook.py
"""

import pytest

from tests.never_clear.by_workbook import drafted
from tests.never_clear.test_by_workbook import SAMPLE, says_the_same


@pytest.fixture(scope="module")
def blank(tmp_path_factory):
    return drafted(tmp_path_factory.mktemp("never-clear") / "job")


@pytest.mark.parametrize("case", SAMPLE, ids=lambda case: case.id)
def test_the_workbook_says_the_same(case, blank, tmp_path, capsys):
    says_the_same(case, blank, tmp_path, capsys)
