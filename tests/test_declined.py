"""What the customer declined, on the Estimate: each item with what it leaves in the car, by whom, when; live, and with room."""

from boxes_by_key import appraise_boxes
from engines import Ironcalc
from letter_samples import appraisal_at, bent, entries_at
from plain_writing import write_workbook

from estimator.appraise import drafted as with_room
from estimator.findings import appraisal_findings
from estimator.workbook.compose import compose
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import column_letter

REPLACE = "line.accumulator-exchange.accumulator-2.decision"
FLUSH = "line.complete-fluid-renewal.car.decision"


def shown(appraisal):
    """The texts of the Estimate's block, row by row."""
    cells = compose(appraisal).by_key
    return [
        (cells[f"estimate_sums.declined.{n}.title"].value, cells[f"estimate_sums.declined.{n}-said.c2"].value)
        for n in range(1, appraisal.record.room.declined + 1)
    ]


def test_each_item_says_what_it_leaves_in_the_car():
    assert shown(appraisal_at("decisions"))[:2] == [
        (
            "Recheck precharge with a second gauge, accumulator 1",
            "Left as found: the gas pressure is not within limits, accumulator 1.",
        ),
        ("Turn two front rotors on the car", "No finding requires it."),
    ]
    lost = "Left as found: readings point to lost gas in accumulator 2. The car must not be driven."
    assert ("Replace accumulator, accumulator 2", lost) in shown(bent("decisions", {REPLACE: "declined"}))
    assert ("Brake fluid flush, all circuits", "Left as found: the brake fluid boils too early.") in shown(
        bent("before", {FLUSH: "declined"})
    )
    assert not any(title or said for title, said in shown(appraisal_at("before")))


def test_who_declined_and_when_is_that_of_the_authorizations():
    cells = compose(appraisal_at("decisions")).by_key
    assert cells["estimate_sums.declined-by.c4"].value == "Wren Castellow"
    assert cells["estimate_sums.declined-by.c6"].value == 46352  # 2026-11-26
    nobody = compose(bent("decisions", {"consent.4.date": None})).by_key
    assert nobody["estimate_sums.declined-by.c4"].value == nobody["estimate_sums.declined-by.c6"].value == ""


def test_there_is_room_for_all_and_a_live_change_says_where_there_is_none():
    record, entries = entries_at("before")
    lines = [line for line in appraisal_at("before").labor.lines if line.proposed]
    entries = {**entries, **{f"line.{line.ref}.decision": "declined" for line in lines}}
    found = appraise_boxes(record, entries)
    assert len(found.declined) == len(lines) > found.record.room.declined
    (short,) = [item for item in appraisal_findings(found) if item.rule == "estimate-short"]
    assert short.severity == "stop" and "declined" in short.what
    cells = compose(found).by_key
    assert cells["estimate_sums.declined.c7"].value == f"{len(lines) - 3} more declined: redraft before printing"
    roomy = with_room(found.record, found.entries)
    assert not [item for item in appraisal_findings(roomy) if item.rule == "estimate-short"]
    assert [title for title, _ in shown(roomy)] == [line.line.short_title for line in lines] + [""]


def test_it_follows_a_decision_typed_in_a_spreadsheet_program(tmp_path):
    made = compose(appraisal_at("before"))
    path = tmp_path / "book.xlsx"
    write_workbook(made, path)
    layout, book = Layout(made), Ironcalc(path)

    def at(key):
        tab, row, column = layout.address(key)
        return tab, f"{column_letter(column)}{row}"

    book.type(at(REPLACE), "declined")
    values = book.values()
    assert values[at("estimate_sums.declined.1.title")] == "Replace accumulator, accumulator 2"
    assert values[at("estimate_sums.declined.1-said.c2")].endswith("The car must not be driven.")
