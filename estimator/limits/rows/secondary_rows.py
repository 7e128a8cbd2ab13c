"""The lowest pressure of each system at which secondary braking is still met, as rows; the strokes asked for."""

from __future__ import annotations

from estimator.limits.row_table import Row
from estimator.limits.rows.brake_rows import BRAKES
from estimator.limits.rows.braking_rows import feeding
from estimator.limits.rows.common_rows import YARDSTICKS, once, published
from estimator.limits.rows.methods import Context
from estimator.limits.rows.pedal_rows import has_pedal_circuit
from estimator.limits.rows.state_rows import state_rows

STROKES = f"{YARDSTICKS}:strokes-to-come"
TOGETHER = "braking-everything:needed-secondary"
AT_TEST_FORCE = "with the pedal circuit, where there is one, at the test force"

# fmt: off
FEEDS_NONE = (
    Row("secondary", "p secondary gauge", "secondary braking: it feeds no brake", '"not known"', "pressure", plain=True),
)
WITH_OTHERS = (
    Row("secondary", "p secondary gauge",
        "lowest pressure for secondary braking, gauge: by this system with the other lost; where it cannot, by both",
        f"IF(ISNUMBER({{$alone}}),IF({{$alone}}<{{cut-out}},{{$alone}},{{{TOGETHER}}}),{{{TOGETHER}}})",
        "pressure", "derivation un-r13h", AT_TEST_FORCE, plain=True, without=TOGETHER),
)
BRAKES_UNKNOWN = (
    Row("secondary", "p secondary gauge", "lowest pressure for secondary braking, gauge", f"{{{BRAKES}}}", "pressure",
        guarded="body:mass body:tire-radius $others"),
)
BY_ITSELF = (
    Row("secondary", "p secondary gauge", "lowest pressure for secondary braking, gauge", f"{{{TOGETHER}}}",
        "pressure", "derivation un-r13h", AT_TEST_FORCE),
)
ABSOLUTE = (
    Row("secondary-abs", "p secondary", "that pressure, absolute", "{secondary}+{constant.atmosphere}",
        "pressure", "si-brochure"),
)
ASKED = (
    Row("$name", "$symbol", "$title, the last of them at secondary braking ($bearing)", "{$printed}+1",
        "count", "$source", status="$status"),
)
# fmt: on


@once
def secondary_rows(context: Context, system_id: str) -> None:
    """`secondary` (gauge) and `secondary-abs`: by this system with every other one lost, where it can, else by all."""
    state_rows(context)
    rows = context.workings.scope(system_id)
    systems = feeding(context.record.car)
    others = [system for system in systems if system != system_id]
    if not context.record.car.brakes:
        others = ["pedal:pressure"] if has_pedal_circuit(context) else []
        others += ["valve:closing", "valve:share"] if context.record.car.deceleration_valve else []
        rows.add(BRAKES_UNKNOWN, others=" ".join(others))
    elif system_id not in systems:
        rows.add(FEEDS_NONE)
    elif others:
        rows.add(WITH_OTHERS, alone=f"braking-{others[0]}-lost:needed")
    else:
        rows.add(BY_ITSELF)
    rows.add(ABSOLUTE)


@once
def stroke_rows(context: Context) -> None:
    """How many strokes the yardsticks ask for: after the lamp has lit, and from cut-out."""
    rows = context.workings.scope(YARDSTICKS)
    for fact_id, name, source, title in (
        ("warning-strokes", "strokes-to-come", "un-r13", "applications still to come when the lamp comes on"),
        ("reserve-strokes", "strokes-stored", "un-r13h", "applications that the stored volume must give from cut-out"),
    ):
        printed, fact = published(context, fact_id, fact_id.replace("-", " "), "count"), context.record.fact(fact_id)
        rows.add(
            ASKED,
            name=name,
            symbol=name.replace("-", " "),
            title=title,
            bearing=fact.kind,
            printed=printed,
            source=source,
            status=fact.status,
        )
