"""What was found, what it means, and what may be done with the car, as sentences."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from estimator.appraisal import Appraisal
from estimator.letters.formats import capital, counted, grouped, listing
from estimator.letters.meanings import meanings
from estimator.letters.reading_phrases import Subject, gave_up, subjects
from estimator.limits.judging.driving import DO_NOT_DRIVE, NOTHING_MEASURED, ROAD_TEST
from estimator.limits.judging.standing import UNMADE, VOID, Standing
from estimator.limits.judging.verdict_words import BAD, CLOSE, GOOD


@dataclass(frozen=True)
class Found:
    """A check that had a bad result, at one place or several: what begins it, what was read, what it means, what followed.

    `own` holds what a person wrote, to be shown after `read`."""

    lead: str
    read: str
    own: tuple[str, ...]
    meaning: str
    after: str
    off_the_road: bool


@dataclass(frozen=True)
class State:
    """What may be done with the car: the words, what they mean, and the checks behind them by reason."""

    words: str
    act: bool
    meaning: str
    reasons: tuple[tuple[str, str], ...]


def state(appraisal: Appraisal) -> State:
    """The state of the car. It never says more than that no finding prohibits driving."""
    driving = appraisal.driving
    if driving.state == NOTHING_MEASURED:
        meaning = (
            "Nothing has been measured yet, so nothing is known of these brakes. Do not drive the car, not even a short "
            "distance. Move it only on a trailer or flatbed."
        )
        return State(driving.state, True, meaning, ())
    concerns = ((_reason(item), item) for item in appraisal.standings if item.concern or item.open)
    reasons = tuple((capital(reason), labels(items)) for reason, items in grouped(concerns).items())
    if driving.state == DO_NOT_DRIVE:
        many = driving.concerns
        kept = f"{counted(many, 'safety check')} {'has' if many == 1 else 'have'} no good result yet. " if many else ""
        mixed = tuple(item.title for item in appraisal.mixed)
        if mixed:
            kept += f"{counted(len(mixed), 'authorized part')} {'is' if len(mixed) == 1 else 'are'} for another kind of fluid. "
            reasons = (*reasons, ("For another kind of fluid", "; ".join(mixed)))
        road = counted(driving.road_open, "road check")
        last = (
            f" {road} {'follows' if driving.road_open == 1 else 'follow'} as the last step."
            if driving.road_open
            else ""
        )
        until = (
            "until that is corrected" if mixed or not many else f"until {'it does' if many == 1 else f'all {many} do'}"
        )
        meaning = f"{kept}Do not drive the car, not even a short distance, {until}. Move it only on a trailer or flatbed.{last}"
        return State(driving.state, True, meaning, reasons)
    if driving.state == ROAD_TEST:
        meaning = (
            "All checks made at standstill are good. The road checks remain; until then only the shop may drive the car, "
            "and only for the road test."
        )
        return State(driving.state, True, meaning, reasons)
    meaning = (
        f"{driving.made} of {driving.asked} requested checks were made; no finding prohibits driving. This does not mean the "
        "car is safe. It reports what was measured that day."
    )
    unseen = [item for item in appraisal.standings if item.unexamined]
    return State(driving.state, False, meaning, (("Not examined", labels(unseen)),) if unseen else ())


def _reason(item: Standing) -> str:
    if item.unexplained and not item.failed:
        return "good now, bad before, with no repair or repeat reading recorded in between"
    if item.contradicted:
        return "contradicts another reading"
    if item.latest in GOOD:
        return "good, but the gauge was overdue for calibration"
    return f"{item.latest} ({item.why})" if gave_up(item.latest) and item.why else item.latest


def found(appraisal: Appraisal) -> tuple[Found, ...]:
    """Each check with a bad result before or after work; what prohibits driving first."""
    bad = [item for item in subjects(appraisal) if item.verdict("before") in BAD or item.verdict("after") in BAD]
    made = [_found(items) for items in grouped((_alike(item), item) for item in bad).values()]
    return tuple(sorted(made, key=lambda item: not item.off_the_road))


def _alike(item: Subject) -> tuple[str, ...]:
    """What subjects share that are told of together."""
    phase = "before" if item.verdict("before") in BAD else "after"
    after = item.verdict("after") if item.standing.made_after else ""
    check = item.standing.row.check.id
    return check, item.side(phase), item.verdict("before"), after, str(item.standing.concern)


def _found(items: Sequence[Subject]) -> Found:
    first = items[0]
    check = first.standing.row.check
    phase = "before" if first.verdict("before") in BAD else "after"
    alone = len(items) == 1
    lead = capital(f"{first.title}, {first.place}" if alone and first.place else first.title)
    read, wanted, own = _read(items, phase, alone)
    verdict = f"{first.verdict(phase)} ({wanted})." if wanted else f"{first.verdict(phase)}."
    sentences = [f"{read}, {verdict}" if read else verdict]
    meaning = meanings()[check.id].of(first.side(phase)) if check.id in meanings() else ""
    if first.verdict(phase) == CLOSE:
        off = listing(dict.fromkeys(item.uncertainty(phase) for item in items))
        within = f"within the gauge's uncertainty ({off}) of the limit"
        meaning = f"The reading is {within}, so it is treated as a fault until remeasured."
    sentence = " ".join(sentences)
    return Found(
        lead,
        sentence,
        own,
        meaning,
        _after(items, alone) if phase == "before" else "",
        any(item.standing.concern for item in items),
    )


def _read(items: Sequence[Subject], phase: str, alone: bool) -> tuple[str, str, tuple[str, ...]]:
    """The readings of a group, the limit if all share it, and what people wrote in place of a reading."""
    when = " after work" if phase == "after" else ""
    first = items[0]
    shown = [(item, item.shown(phase)) for item in items]
    if first.looked is not None:
        own = tuple(dict.fromkeys(words.text for _, words in shown if words.text))
        places = "" if alone else listing(item.place for item in items)
        return f"{places}{when}".strip(), first.wanted(), own
    one_limit = len({item.wanted() for item in items}) == 1
    texts = []
    for item, words in shown:
        text = words.text if alone or not item.place else f"{item.place} {words.text}"
        typed = f"read {words.typed}" if words.typed and words.typed != words.text else ""
        limit = "" if one_limit or not item.wanted() else f"limit {item.wanted()}"
        inside = "; ".join(part for part in (item.judged_as, typed, limit) if part)
        texts.append(f"{text} ({inside})" if inside else text)
    return f"{listing(texts)}{when}", first.wanted() if one_limit else "", ()


def _after(items: Sequence[Subject], alone: bool) -> str:
    """What was read of the same after work."""
    first = items[0].standing
    if not first.made_after:
        return "It has not been measured since the work." if first.latest == VOID else ""
    shown = [(item.place, item.shown("after")) for item in items]
    texts = [
        words.text if alone or not place else f"{place} {words.text}"
        for place, words in shown
        if words.text and not words.own_words
    ]
    readings = f"{listing(texts)}, " if texts else ""
    return f"After work: {readings}{first.after.verdict}."


def applications(appraisal: Appraisal) -> tuple[str, ...]:
    """How often each system could be applied until its lamp came on, before and after work."""
    found = []
    for item in subjects(appraisal):
        if item.standing.row.check.id != "applications":
            continue
        read = [(phase, item.shown(phase).text) for phase in ("before", "after") if item.shown(phase).text]
        if read:
            times = listing(
                f"after {text} {'application' if text == '1' else 'applications'} {phase} work" for phase, text in read
            )
            found.append(f"the warning lamp of {item.place} came on {times}")
    return tuple(found)


def unmade(appraisal: Appraisal) -> tuple[tuple[str, str], ...]:
    """Asked for and not made, or not since work that calls for it again, beside those that the state names already."""
    rows = [
        (_reason(item), item)
        for item in appraisal.standings
        if item.asked and not item.concern and (item.latest in UNMADE or gave_up(item.latest) or item.latest == VOID)
    ]
    return tuple((capital(words), labels(items)) for words, items in grouped(rows).items())


def looked_at(appraisal: Appraisal, phase: str) -> tuple[tuple[str, str], ...]:
    """What was checked by eye and hand in a phase, by what was said of it."""
    rows = [
        (item.verdict(phase), item.standing)
        for item in subjects(appraisal)
        if item.looked is not None and item.looked.row.check.kind != "text" and item.verdict(phase) not in UNMADE
    ]
    return tuple((capital(words), labels(items)) for words, items in grouped(rows).items())


def labels(items: Iterable[Standing], between: str = "; ") -> str:
    """Checks with their places, each check once: "thinnest pad (front left and front right); pedal feel"."""
    pairs = [(item.row.check.title, "" if item.row.place.kind == "car" else item.row.place.title) for item in items]
    named = []
    for title, places in grouped(pairs).items():
        where = [place for place in dict.fromkeys(places) if place]
        named.append(f"{title} ({listing(where)})" if where else title)
    return between.join(named)
