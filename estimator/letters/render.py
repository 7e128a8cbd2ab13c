"""The one loader of the letter's templates, and the letter."""

from __future__ import annotations

import functools
from importlib.resources import files
from typing import TYPE_CHECKING

from estimator.appraisal import Appraisal
from estimator.diagnosis.advice.advice import advise
from estimator.letters import charts, due_next, found, work
from estimator.letters.cost import consents, cost
from estimator.letters.formats import amount, capital, counted, day, link, listing, printed, said, sign_of
from estimator.letters.measured import measured
from estimator.letters.pointing import pointing
from estimator.pricing.decisions import AGREED
from estimator.pricing.together import together

if TYPE_CHECKING:
    from jinja2 import Environment


def environment() -> Environment:
    """Templates of this package: everything is escaped, a name that isn't there is an error, and the program's own words
    get the apostrophes of print."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    folder = files("estimator.letters") / "templates"
    loader = FunctionLoader(lambda name: folder.joinpath(name).read_text(encoding="utf-8"))
    made = Environment(loader=loader, autoescape=True, undefined=StrictUndefined, lstrip_blocks=True, finalize=printed)
    made.filters |= {
        "amount": amount,
        "capital": capital,
        "counted": counted,
        "day": day,
        "link": link,
        "listing": listing,
        "said": said,
    }
    return made


def letter_html(appraisal: Appraisal, logs: tuple[charts.Picture, ...] = ()) -> str:
    """The letter to the customer: one HTML page that needs nothing else, no script, no other file, no network.

    logs: pictures of recorded gauges.

    The same appraisal gives the same page, byte for byte. Text that people wrote is escaped and keeps to itself.
    """
    items = work.items(appraisal)
    readings = measured(appraisal)
    extras = work.extras(appraisal)
    after = "after" in readings.phases or any(item.done for item in items)
    currency = appraisal.record.shop.shop.currency
    made = environment()
    made.filters["amount"] = functools.partial(amount, currency=currency)
    made.filters["day"] = written = functools.partial(day, dates=appraisal.record.shop.show.dates)
    return made.get_template("letter.html.j2").render(
        symbol=sign_of(currency),
        grounds=[str(item.number) for item in items if item.open and item.grounds],
        undecided=[str(item.number) for item in items if item.open]
        + [str(item.number) for item in extras if item.open],
        record=appraisal.record,
        visits=[(visit.label, written(visit.date), str(visit.by)) for visit in appraisal.visits if day(visit.date)],
        measured_any=any(item.made_before or item.made_after for item in appraisal.standings),
        after=after,
        state=found.state(appraisal),
        found=found.found(appraisal),
        pointing=pointing(appraisal, advise(appraisal)),
        unmade=found.unmade(appraisal),
        made=appraisal.driving.made,
        asked=appraisal.driving.asked,
        applications=found.applications(appraisal),
        looked=[(phase, found.looked_at(appraisal, phase)) for phase in ("before", "after")],
        reserve=charts.reserve_pictures(appraisal),
        stopping=charts.stopping_picture(appraisal),
        yardsticks=charts.yardsticks(appraisal),
        items=items,
        open=[item.title for item in items if item.decision == AGREED],
        extras=extras,
        refused=work.refused(appraisal),
        together=together(appraisal.labor.lines),
        cost=cost(appraisal),
        agreed_total=appraisal.agreed["total"],
        consents=consents(appraisal),
        measured=readings,
        logs=logs,
        due=due_next.due_next(appraisal),
    )
