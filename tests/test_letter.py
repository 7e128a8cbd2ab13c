"""The letter says what was found, what it means, what may be done with the car, and why each job is there."""

import re

import pytest
from boxes_by_key import appraise_boxes
from letter_pages import text_of, tree
from letter_samples import NAMES, appraisal_at, bent, entries_at, letter_at

from estimator.facts.checks import checks
from estimator.letters.meanings import meanings
from estimator.letters.render import letter_html
from estimator.limits.charted_figures import reserves
from estimator.limits.judging.driving import DO_NOT_DRIVE, NO_FINDING, NOTHING_MEASURED, ROAD_TEST


@pytest.mark.parametrize(
    ("name", "state"),
    [
        ("drafted", NOTHING_MEASURED),
        ("before", DO_NOT_DRIVE),
        ("after", ROAD_TEST),
        ("road", NO_FINDING),
        ("mineral", NOTHING_MEASURED),
    ],
)
def test_what_may_be_done_with_the_car(name, state):
    assert appraisal_at(name).driving.state == state
    words = text_of(letter_at(name), "state")
    assert state.casefold() in words.casefold()
    left = words.replace(state, "").replace(state.capitalize(), "")
    other = {NOTHING_MEASURED, DO_NOT_DRIVE, ROAD_TEST, NO_FINDING} - {state}
    assert not any(one in left for one in other)


@pytest.mark.parametrize("name", NAMES)
def test_the_car_is_never_called_safe_and_the_cautions_stand(name):
    words = text_of(letter_at(name))
    said = re.findall(r"((?:\S+ ){0,8})safe\b", words, re.IGNORECASE)
    assert said and all(
        before.endswith(("This letter never states that the car is ", "This does not mean the car is "))
        for before in said
    )
    assert not re.search(r"roadworth|passed", words, re.IGNORECASE)
    for caution in (
        "Work on stored-pressure brakes is for qualified people.",
        "Depressurize before opening any line",
        "Both gauges must read zero",
        "Local codes and licensed practice come before this letter.",
    ):
        assert caution in words


@pytest.mark.parametrize("name", NAMES)
def test_own_words_have_the_apostrophes_of_print_and_those_of_people_are_theirs(name):
    own, taken_out = re.subn(r'<bdi class="said">.*?</bdi>', "", letter_at(name), flags=re.DOTALL)
    words = text_of(re.sub(r"<style>.*?</style>", "", own, flags=re.DOTALL))
    assert taken_out and "’" in words and not re.search("['\"]", words)
    assert "the manufacturer's sheet" in text_of(letter_at("before"))


def test_every_check_that_can_be_bad_has_its_meaning():
    judged = {check.id for check in checks() if check.kind in ("number", "look", "family")}
    assert judged == set(meanings())
    assert all(bool(check.judged) == bool(check.judged_as) for check in checks())
    told = " ".join(text for item in meanings().values() for text in item.model_dump().values())
    assert not re.search(r"\bsafe\b", told)


def test_findings_say_what_was_read_and_what_is_wanted():
    found = text_of(letter_at("before"), "found")
    for words in (
        "Precharge, accumulator 2: 30 psi (corrected to the manufacturer’s reference temperature), out of limits (742 to "
        "980 psi).",
        "Hold, pressure after 30 min, system 2: 750 psi (pressure loss, corrected for temperature; read 1,210 psi), out of "
        "limits (at most 140 psi).",
        "Applications until lamp on, system 2: 2, out of limits (at least 13).",
        "Thinnest pad: front left 2.2 mm and front right 2.4 mm, out of limits (at least 3 mm).",
        "Precharge, accumulator 1: 744 psi (corrected to the manufacturer’s reference temperature; read 739 psi), too close "
        "to limit (742 to 1,011 psi). The reading is within the gauge’s uncertainty (±11 psi) of the limit",
        "This one has lost gas.",
        "78 of the 83 checks",
    ):
        assert words in found
    after = text_of(letter_at("after"), "found")
    assert "After work: 17, within limits." in after and "Do not drive the car" not in after


def test_work_says_why_and_what_declining_means():
    work = text_of(letter_at("before"), "work")
    for words in (
        "Reason: the readings point to lost gas in accumulator 2; the accumulator is past its service life, accumulator 2.",
        "Reason: you requested it; worn pads, front left and front right.",
        "Reason: the gas pressure is not within limits, accumulator 1.",
        "Reason: rotor thickness, rear right, cannot be checked.",
        "If you decline items 3, 4 or 7, the car must not be driven until the checks behind them have been",
        "Safety work. Without this job, labor is $316.45 less.",
        "rebuilt, $260.40, plus a $60.00 core deposit, refundable with the old part",
        "in place of Front pads, axle set (compared: Lining thickness and outline",
    ):
        assert words in work
    decided = text_of(letter_at("decisions"), "work")
    assert (
        "You declined: Recheck precharge with a second gauge, or by a slow bleed-down, accumulator 1, safety work."
        in decided
    )
    remains = "Reason: the gas pressure is not within limits, accumulator 1. Left as found: the gas"
    assert remains in decided and "Declined by Wren Castellow on November 26, 2026." in decided
    assert "Turn two front rotors on the car. No finding requires it." in decided
    assert "Without this job" not in decided
    bare = text_of(
        letter_html(bent("decisions", {"line.accumulator-exchange.accumulator-2.decision": "declined"})), "work"
    )
    assert (
        "Left as found, and the car must not be driven: the gas pressure is not within limits, accumulator 2; too few brake "
        "applications in reserve, system 2;" in bare
    )
    assert "The checks behind it were repeated and are good." in text_of(letter_at("road"), "work")


def test_consent_is_told_as_it_was_given():
    told = text_of(letter_at("decisions"), "consent")
    for words in (
        "On November 25, 2026 Wren Castellow authorized $700.00 for the diagnosis, by signature; taken by Ines Quill.",
        "On November 27, 2026 Wren Castellow authorized $300.00 for additional work, by text message; taken by Ines Quill.",
        "You have authorized $3,300.00 in total. The authorized work comes to $2,744.40, including tax.",
        "by at most $100.00",
        "On November 26, 2026 Wren Castellow declined safety work, by telephone",
    ):
        assert words in told
    assert "Signature" not in told and "Signature" in text_of(letter_at("before"), "consent")
    over = text_of(letter_html(bent("decisions", {"consent.2.amount": 100.0})), "consent")
    assert re.search(
        r"The authorized work is \$1,544\.40 over that\. We need your further authorization for \$1,644\.40", over
    )


def test_a_gauge_past_its_date_and_a_reading_that_became_good_are_named():
    late = bent("after", {"reading.lamp-pressure.system-1.gauge_after": "pressure-3000-b"})
    words = text_of(letter_html(late), "state")
    assert "Good, but the gauge was overdue for calibration: lamp pressure (system 1)." in words
    undone = [key for key in entries_at("after")[1] if key.endswith(".done")]
    changes = {"reading.parking-brake-hold.car.before": "fault found", **dict.fromkeys(undone)}
    grown = bent("after", changes)
    assert grown.standing_of["parking-brake-hold.car"].unexplained
    assert "Good now, bad before, with no repair or repeat reading" in text_of(letter_html(grown), "state")
    void = text_of(letter_html(bent("after", {"reading.precharge.accumulator-2.after": None})))
    assert "It has not been measured since the work." in void and "Remeasure: precharge (accumulator 2)" in void


def test_a_reading_bad_after_work_is_found_too():
    page = letter_html(bent("after", {"reading.lamp-pressure.system-1.after": 900.0}))
    found = text_of(page, "found")
    assert "Lamp pressure, system 1: 900 psi after work, out of limits (1,210 to 1,350 psi)." in found
    assert "The warning lamp comes on too late" in found and "Do not drive the car" in found


def test_the_table_holds_every_reading_once():
    appraisal, root = appraisal_at("road"), tree(letter_at("road"))
    rows = root.xpath("//table[@class='measured']/tbody/tr[td]")
    cells = [[" ".join(cell.text_content().split()) for cell in row.xpath("td")] for row in rows]
    names = [row.xpath("th/span[@class='name']")[0].text_content().rstrip("*") for row in rows]
    assert len(names) == len(set(names))
    read = {
        (item.row.check.id, item.row.place.id)
        for item in appraisal.judged
        if any(isinstance(p.si, float) for p in item.phases.values())
    }
    texts = [item for item in appraisal.looked if item.row.check.kind == "text"]
    written = {item.ref for item in texts if item.words("before") or item.words("after")}
    assert len(rows) == len(read) + len(written)
    at = dict(zip(names, cells, strict=True))
    assert at["Cut-out, system 1"] == ["2,055; 2,060; 2,050 psi within limits", "2,055; 2,050; 2,060 psi within limits"]
    assert at["Rotor thickness, rear right"] == ["", "11.2 mm within limits"]
    assert at["Thinnest pad, front left"] == ["2.2 mm out of limits", "11 mm within limits"]
    assert at["Serial and date stamp, accumulator 2"] == ["KR-0912", "KR-2203"]
    bad = {name for name, row in zip(names, rows, strict=True) if row.xpath("td[contains(@class, 'bad')]")}
    judged = {
        item.label[0].upper() + item.label[1:]
        for item in appraisal.judged
        if item.phases["before"].verdict in ("out of limits", "too close to limit")
    }
    assert bad == judged


@pytest.mark.parametrize("name", ["before", "mineral"])
def test_the_curves_are_the_pressures_of_the_appraisal(name):
    """Each point of a reserve figure's curve, the lamp and the secondary pressure, at their heights above its axis."""
    appraisal = appraisal_at(name)
    rows = reserves(appraisal.workings, appraisal.record.car.places.systems)
    figures = [svg for svg in tree(letter_at(name)).xpath("//figure//svg") if "reserve-" in svg.get("aria-labelledby")]
    assert len(figures) == len(rows[0].after) > 0
    for system, svg in enumerate(figures):

        def heights(style, svg=svg):
            (path,) = (path for path in svg.xpath(".//path[@style]") if style in path.get("style"))
            return [float(y) for y in re.findall(r"[ML] [\d.]+ ([\d.]+)", path.get("d"))]

        (axis, _) = heights("stroke-width: 0.8; stroke-linejoin: miter; stroke-linecap: square")
        drawn = [heights(f"stroke-{style};") for style in ("width: 2.2", "dasharray: 5,3", "dasharray: 1,2")]
        wanted = [[row.after[system] for row in rows], [rows[0].lamp[system]] * 2, [rows[0].secondary[system]] * 2]
        scale = (axis - drawn[0][0]) / wanted[0][0]
        for line, pressures in zip(drawn, wanted, strict=True):
            assert [axis - y for y in line] == pytest.approx([pressure * scale for pressure in pressures], abs=0.02)


def test_notes_of_the_shop_stay_in_the_shop_and_sources_are_not_excused():
    record, entries = entries_at("before")
    job = record.job.model_copy(
        update={"shop_notes": ("Pays late.",), "customer_notes": ("Open until noon on Fridays.",)}
    )
    words = text_of(letter_html(appraise_boxes(record.model_copy(update={"job": job}), entries)))
    assert "Open until noon on Fridays." in words and "Pays late." not in words
    for name in NAMES:
        assert not re.search("from memory|stored copy|Measured again", text_of(letter_at(name)))


def test_it_opens_with_what_to_do_and_items_can_be_reached():
    root, words = tree(letter_at("before")), text_of(letter_at("before"))
    titles = [" ".join(element.text_content().split()) for element in root.xpath("//h2")]
    assert titles[:3] == ["Can the car be driven?", "What we need from you", "Findings"]
    assert words.index("Please decide these items: 1, 2, 3") < words.index("Findings")
    links = root.xpath("//a/@href")
    assert "tel:555-0147" in links and "mailto:desk@lanternyard.example" in links
    numbers = [
        element.text_content() for element in root.xpath("//ol[@class='items']/li[not(@class)]/span[@class='ordinal']")
    ]
    assert numbers == [str(line.rank) for line in appraisal_at("before").labor.lines if line.proposed]


def test_decelerations_are_told_in_g_and_years_in_words():
    page = letter_at("before")
    drawn = " ".join(tree(page).xpath("//figure//*[local-name()='text' or local-name()='desc']/text()"))
    assert re.search(r"0\.\d\d\sg", drawn) and "m/s²" not in text_of(page) + drawn
    assert "14 years" in text_of(page)
