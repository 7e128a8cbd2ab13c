"""Published numbers: every broken file is refused in words, every number has a source, every source is used."""

import re
from pathlib import Path

import pytest
from physics_functions import documented
from published import cases

from estimator.errors import InputError
from estimator.facts.load_facts import facts, load, sources
from estimator.facts.published import FACT_UNITS, WORDS
from estimator.quantities import UNITS
from tests.row_road import every_row

ROOT = Path(__file__).parent.parent
BAD = ROOT / "tests" / "bad_facts"
SOURCES = (BAD / "sources.toml").read_text(encoding="utf-8")
GOOD = (BAD / "good.toml").read_text(encoding="utf-8")
BAD_FACTS = sorted(path for path in BAD.glob("*.toml") if path.name not in ("good.toml", "sources.toml"))
BAD_SOURCES = sorted((BAD / "of_sources").glob("*.toml"))


def fact(fact_id):
    return facts()[fact_id]


def said(path):
    first = path.read_text(encoding="utf-8").splitlines()[0]
    return first.removeprefix("# said: ").split(" | ")


def test_the_good_file_passes():
    known, found = load(SOURCES, {"good.toml": GOOD})
    assert list(known) == ["a-rule"]
    assert found["hold-time"].si == 10.0
    assert found["half-of-normal"].si == 0.5
    assert found["in-words"].si is None


@pytest.mark.parametrize("path", BAD_FACTS, ids=lambda path: path.stem)
def test_broken_facts_are_refused_in_words(path):
    with pytest.raises(InputError) as caught:
        load(SOURCES, {path.name: path.read_text(encoding="utf-8")})
    lines = str(caught.value)
    for words in said(path):
        assert words.casefold() in lines.casefold()
    assert all(line.startswith(f"{path.name}: ") for line in lines.splitlines())
    assert len(caught.value.problems) == (2 if path.stem == "two_mistakes" else 1), lines


@pytest.mark.parametrize("path", BAD_SOURCES, ids=lambda path: path.stem)
def test_broken_sources_are_refused_in_words(path):
    with pytest.raises(InputError) as caught:
        load(path.read_text(encoding="utf-8"), {}, path.name)
    for words in said(path):
        assert words in str(caught.value)
    assert len(caught.value.problems) == 1


def test_all_mistakes_of_all_files_are_said_at_once():
    texts = {path.name: path.read_text(encoding="utf-8") for path in BAD_FACTS}
    with pytest.raises(InputError) as caught:
        load(SOURCES, texts)
    assert {problem.file for problem in caught.value.problems} == set(texts)


def test_the_same_id_in_two_files_is_a_duplicate():
    with pytest.raises(InputError, match=r"second\.toml: \[\[fact\]\] hold-time, id: .* stands twice"):
        load(SOURCES, {"first.toml": GOOD, "second.toml": GOOD})


def test_no_number_without_a_source_and_a_status():
    assert len(facts()) >= 130
    for found in facts().values():
        assert found.source in sources()
        assert found.si is not None or found.unit == WORDS
        if found.kind in ("rule", "yardstick"):
            assert found.clause
        if sources()[found.source].kind == "trade practice":
            assert found.kind == "practice" and found.status in ("common-practice", "memory")


def test_no_source_goes_unused():
    """Used by a number, a formula, a working row, a published case, or a check."""
    used = {found.source for found in facts().values()}
    used |= {item.parts["Source"] for item in documented()}
    used |= {key for row in every_row() for key in row.sources.split()}
    used |= {case.raw["source"] for case in cases()}
    used |= set(
        re.findall(r'^source = "([a-z0-9-]+)"', (ROOT / "estimator/facts/checks.toml").read_text("utf-8"), re.M)
    )
    assert set(sources()) - used == set()


def test_yardsticks_say_when_they_do_not_bind():
    stop = fact("failed-circuit-stop")
    assert stop.bearing(1972) == "reference value; binds cars from model year 2001, not one of 1972"
    assert stop.bearing(2001) == "binds cars from model year 2001"
    assert fact("reserve-strokes").bearing(2020) == "reference value; not required of this car"
    assert fact("integrity-hold-time").bearing(1972) == "a rule"
    assert (
        fact("accumulator-stops").bearing(1974)
        == "reference value; binds cars from model year 1976 to 2000, not one of 1974"
    )
    assert fact("accumulator-stops").bearing(2000) == "binds cars from model year 1976 to 2000"
    assert (
        fact("accumulator-stops").bearing(2001)
        == "reference value; binds cars from model year 1976 to 2000, not one of 2001"
    )
    assert fact("pad-service").bearing(1972) == "common practice"
    assert fact("fluid-bulk-modulus").bearing(1972) == "a property"


def test_what_rests_on_memory_says_so():
    """The numbers that nobody read in their source, by name: whoever reads one takes it out of this list."""
    from_memory = {found.id for found in facts().values() if found.status == "memory"}
    assert {"secondary-deceleration", "reserve-strokes", "recharge-time", "asme-grade-1a"} <= from_memory
    for found in facts().values():
        if found.status == "memory" and found.kind != "practice":
            assert found.edition in ("not read", "2014"), found.id


def test_units_of_facts_are_exact():
    """Checked against pint, the units beyond those that the program shows included."""
    import pint

    registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    spelled = {
        "mm²/s": "mm**2/s",
        "cm³/ft": "cm**3/ft",
        "1/°F": "1/delta_degF",
        "kg/m³": "kg/m**3",
        "J/(kg·K)": "J/kg/kelvin",
    }
    assert set(FACT_UNITS) - set(UNITS) <= {*spelled, "USD"}
    for unit, words in spelled.items():
        assert FACT_UNITS[unit].factor == pytest.approx(
            registry.Quantity(1, words).to_base_units().magnitude, rel=1e-12
        )


@pytest.mark.parametrize(
    ("fact_id", "si"),
    [
        ("pedal-force-power-brakes", 25 * 4.4482216152605),
        ("road-stop-speed", 20 * 1609.344 / 3600),
        ("road-stop-distance", 25 * 0.3048),
        ("accumulator-depleted-stop", 7 * 0.3048),
        ("lining-over-rivets", 25.4e-3 / 32),
        ("dot-4-boiling-wet", 155 + 273.15),
        ("hose-burst-small", 7000 * 6894.757293168),
        ("hose-swell-1500-psi", 0.42e-6 / 0.3048),
        ("en-837-class-1-6", 0.016),
        ("fluid-expansion", 4.6e-4 * 1.8),
        ("lamp-share-of-normal", 0.5),
        ("fl-excess-cap", 50),
    ],
)
def test_values_in_si(fact_id, si):
    assert fact(fact_id).si == pytest.approx(si, rel=1e-12)


def test_facts_agree_with_one_another():
    """Distances and decelerations of the same rule; the families and their classes."""
    from tests.second_answers.published_stops import deceleration_of_coefficient, regulation_distance

    speed, linear = fact("test-speed").si, fact("cold-stop-linear").si
    for distance, quadratic in (
        ("cold-stop", "cold-stop-quadratic"),
        ("failed-circuit-stop", "failed-circuit-quadratic"),
    ):
        assert regulation_distance(speed, linear, fact(quadratic).si) == pytest.approx(fact(distance).si, rel=1e-9)
    for deceleration, quadratic in (
        ("service-deceleration", "cold-stop-quadratic"),
        ("secondary-deceleration", "failed-circuit-quadratic"),
    ):
        assert round(deceleration_of_coefficient(fact(quadratic).si), 2) == fact(deceleration).si
    for name in ("dot-3", "dot-4", "dot-5", "dot-5-1"):
        assert fact(f"{name}-boiling-dry").si > fact(f"{name}-boiling-wet").si
