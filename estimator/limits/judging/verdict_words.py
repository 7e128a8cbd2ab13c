"""The fixed words of verdicts and choices, and the phases and sides by which they are told apart."""

from __future__ import annotations

WITHIN, OUTSIDE, CLOSE = "within limits", "out of limits", "too close to limit"
NOT_MEASURED, COULD_NOT = "not measured", "unable to measure"
NO_FAULT, FAULT, NOT_CHECKED, COULD_NOT_CHECK = "no fault found", "fault found", "not checked", "unable to check"
RECORDED, NO_LIMIT = "recorded", "no limit on file"
NO_DRIVE_LIMIT, NOT_BELIEVABLE = "no limit on file for driving", "not believable"
CONTRADICTS = "contradicts another"
GOOD = (WITHIN, NO_FAULT, RECORDED)
BAD = (OUTSIDE, CLOSE, FAULT)
LOOK_WORDS = (NO_FAULT, FAULT, COULD_NOT_CHECK)
FAMILY_WORDS = ("glycol", "mineral", "silicone", "not sure")
AGAIN = "repeat reading"
WHY_WORDS = ("no access", "seized or broken", "no suitable gauge", "not safe to test", "see note", AGAIN)
PHASES = ("before", "after")
SIDES = ("service_low", "service_high", "danger_low", "danger_high")
COVERAGE = 2.0
