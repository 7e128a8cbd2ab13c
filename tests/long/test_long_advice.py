"""Cars with faults on which the advised tests are made: what is named then, what is repaired needlessly, what it costs.

About ten minutes. python -m pytest tests/long/test_long_advice.py -s     (-s shows the table of DEVELOPERS.md)
"""

from __future__ import annotations

from tests.faulty_cars.advised import Visited, visited
from tests.faulty_cars.scenarios import SCENARIOS

CARS = 8
FIRST, FIRST_TWO, NEEDLESS = 0.92, 0.93, 0.2
FIGURES = ("today", "today_two", "first", "first_two", "right")


def test_the_advised_tests_name_the_cause() -> None:
    """Needless repairs a car; every finding called by itself costs more on average, the right repair among it in both."""
    found = {name: visited(name, range(CARS)) for name in SCENARIOS}
    print(f"\n{table(found)}")
    faulty = [one for name, cars in found.items() if SCENARIOS[name].causes for one in cars]
    assert sum(one.first for one in faulty) >= FIRST * len(faulty)
    assert sum(one.first_two for one in faulty) >= FIRST_TWO * len(faulty)
    assert sum(one.needless for one in faulty) <= NEEDLESS * len(faulty)
    assert sum(one.cost for one in faulty) < sum(one.by_findings for one in faulty)
    sound = [one for name, cars in found.items() if not SCENARIOS[name].causes for one in cars]
    assert all(one.first for one in sound)


def table(found: dict[str, list[Visited]]) -> str:
    """The table of DEVELOPERS.md: cars of each fault by what holds of them, then tests, needless repairs and costs a car."""
    heads = ("fault", "cars", "first today", "first two", "first after tests", "first two", "right repair")
    lines = [
        f"| {' | '.join((*heads, 'tests', 'needless', 'cost', 'by findings'))} |",
        f"|{' --- |' * (len(heads) + 4)}",
    ]
    rows = found | {"all with a fault": [one for name, cars in found.items() if SCENARIOS[name].causes for one in cars]}
    for name, cars in rows.items():
        held = [sum(getattr(one, figure) for one in cars) for figure in FIGURES]
        means = [
            sum(getattr(one, figure) for one in cars) / len(cars)
            for figure in ("tests", "needless", "cost", "by_findings")
        ]
        words = [f"{means[0]:.1f}", f"{means[1]:.2f}", f"{means[2]:,.0f}", f"{means[3]:,.0f}"]
        lines.append(f"| {' | '.join((name, str(len(cars)), *map(str, held), *words))} |")
    everyone = rows["all with a fault"]
    shares = (
        f"{figure.replace('_', ' ')} {sum(getattr(one, figure) for one in everyone) / len(everyone):.1%}"
        for figure in FIGURES
    )
    return "\n".join([*lines, ", ".join(shares)])
