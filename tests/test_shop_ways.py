"""Documents in a shop's own units and dates: no text of a form keeps those of another."""

import datetime as dt
import re

import pytest
from boxes_by_key import appraise_boxes
from letter_samples import entries_at

from estimator.workbook.compose import compose
from estimator.workbook.form_styles import DATE_CODES, form_look

DAY = dt.date(2026, 11, 25)
FOREIGN = re.compile(r"\d ?(?:lbf|mph|psi|°F)\b")
ISO, FILES = re.compile(r"\b\d{4}-\d\d-\d\d\b"), re.compile(r"\b\w+\.(?:toml|csv)\b")


def shown(**show):
    record, entries = entries_at("before")
    shop = record.shop.model_copy(update={"show": record.shop.show.model_copy(update=show)})
    return compose(appraise_boxes(record.model_copy(update={"shop": shop}), entries))


def words_of(book):
    for tab in book.tabs:
        if tab.head.kind == "form":
            for part in (tab.head, *tab.blocks):
                for row in part.rows:
                    for cell in row.cells:
                        if cell.box is None and isinstance(cell.value, str):
                            yield f"{tab.name} {row.ref}", cell.value


def test_a_metric_shop_reads_no_other_units_and_no_other_dates():
    units = {"pressure": "bar", "force": "N", "speed": "km/h", "temperature": "°C"}
    texts = list(words_of(shown(**units, dates="25.11.2026")))
    said = " ".join(text for _, text in texts)
    assert len(texts) > 500 and "556 N" in said and "dated 25.11.2026" in said and "valid until 25.12.2026" in said
    assert [item for item in texts if FOREIGN.search(item[1]) or ISO.search(item[1])] == []


@pytest.mark.parametrize("dates", DATE_CODES)
def test_days_are_written_as_the_shop_writes_them(dates):
    book = shown(dates=dates)
    looks = {
        form_look(cell.look, boxed=True, line="", column=1, last=9)["num_format"]
        for tab in book.tabs
        if tab.head.kind == "form"
        for part in (tab.head, *tab.blocks)
        for row in part.rows
        for cell in row.cells
        if cell.box is not None and cell.box.kind == "date"
    }
    parts = {"yyyy": "2026", "mm": "11", "dd": "25"}
    assert {re.sub("yyyy|mm|dd", lambda found: parts[found[0]], look) for look in looks} == {dates}


def test_forms_name_no_files():
    assert [item for item in words_of(shown()) if FILES.search(item[1])] == []
