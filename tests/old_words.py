"""What the fixed words of earlier versions are called now, by the column of their box: a plain table of its own.

And where the entries of a workbook stand once its round of readings is over, by a plain rule of its own.
"""

from collections.abc import Collection, Mapping

_LOOKS = {"no fault seen": "no fault found", "fault seen": "fault found", "could not be checked": "unable to check"}
NOW: Mapping[str, Mapping[str, str]] = {
    "decision": {"agreed": "authorized"},
    "done": {"done": "completed"},
    "stage": {"strip-down": "teardown", "added work": "additional work"},
    "why": {"no gauge for it": "no suitable gauge", "measured again": "repeat reading"},
    "before": _LOOKS,
    "after": _LOOKS,
}
# Kept workbooks that show a better state than present rules give: their car has no limit on file for the movement of the
# pedal, which grounds it now.
BETTER_THEN = {"0.1.0-road", "0.2.0-glycol-after", "0.2.0-glycol-road"}
# Kept workbooks with completed jobs, whose round is over -> the gauges that were out of date when they were read.
OVER: Mapping[str, tuple[str, ...]] = {
    "0.1.0-road": (),
    "0.2.0-glycol-after": (),
    "0.2.0-glycol-road": (),
    "0.3.0-road": (),
    "0.4.0-road": (),
    "0.2.0-mineral-road": ("pressure-3000-b", "pressure-5000"),
}


def in_words_of_now(entries: Mapping[str, object]) -> dict[str, object]:
    """Entries of an earlier version with the words that they have now."""
    return {key: NOW.get(key.rpartition(".")[2], {}).get(value, value) for key, value in entries.items()}  # type: ignore[call-overload]


def in_the_next_round(entries: Mapping[str, object], out_of_date: Collection[str] = ()) -> dict[str, object]:
    """Entries once a round is over: of each check and visit what was entered last stands before work, with its gauge; a
    reading by a gauge out of date has no place. All else stays as it is."""
    found = dict(entries)
    for key in entries:
        row, _, column = key.rpartition(".")
        if row == "visit.after":
            found[f"visit.before.{column}"] = found.pop(key)
        elif key.startswith("reading.") and column == "after":
            found[f"{row}.before"] = found.pop(key)
            gauge = entries.get(f"{row}.gauge_after", "")
            if f"{row}.gauge_before" in entries:
                found[f"{row}.gauge_before"] = gauge
            if gauge in out_of_date:
                del found[f"{row}.before"]
    return found
