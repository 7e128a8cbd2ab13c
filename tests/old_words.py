"""What the fixed words of earlier versions are called now, by the column of their box: a plain table of its own."""

from collections.abc import Mapping

_LOOKS = {"no fault seen": "no fault found", "fault seen": "fault found", "could not be checked": "unable to check"}
NOW: Mapping[str, Mapping[str, str]] = {
    "decision": {"agreed": "authorized"},
    "done": {"done": "completed"},
    "stage": {"strip-down": "teardown", "added work": "additional work"},
    "why": {"no gauge for it": "no suitable gauge", "measured again": "repeat reading"},
    "before": _LOOKS,
    "after": _LOOKS,
}


def in_words_of_now(entries: Mapping[str, object]) -> dict[str, object]:
    """Entries of an earlier version with the words that they have now."""
    return {key: NOW.get(key.rpartition(".")[2], {}).get(value, value) for key, value in entries.items()}  # type: ignore[call-overload]
