"""The answers on the builder's page."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from costplan.cli.choose.common import Choice, aimed_at, watched
from costplan.cli.common import stop
from costplan.cli.job.common import open_jobs
from costplan.cli.progress import unless_stopped
from costplan.cli.report.asked import Asked

if TYPE_CHECKING:
    from datetime import date

    from costplan.build import Build
    from costplan.build.airflow import Estimator, Turn
    from costplan.choose import Aimed, Frontier
    from costplan.quote import Desk, Quote
    from costplan.quote.job import Job, JobListed, Standing
    from costplan.report.web.blocks import WebPage
    from costplan.report.web.builder import BuilderAnswers, Choices, Quoted

#: Points of the frontier, at most; each is a search of its own.
POINTS = 6
#: The most that the frontier may take, and each part that is tried, in seconds.
LONGEST, EACH = 60.0, 5.0


def can_be_made(asked: Asked) -> bool:
    """Where there is a build to look at: a catalog, a pattern and a build."""
    return asked.scenario.build is not None and asked.scenario.catalog is not None


def beside(folder: Path) -> tuple[str, ...]:
    """The shop's files."""
    from costplan.quote.desk import addresses_in

    return addresses_in(folder) if has_shop(folder) else ()


def has_shop(folder: Path) -> bool:
    return (folder / "shop.toml").exists()


def make(asked: Asked) -> WebPage:
    from costplan.report.web.builder import builder_page

    return builder_page(answers_of(asked))


def answers_of(asked: Asked) -> BuilderAnswers:
    """What the page shows, or the end of the command with all problems."""
    from costplan.report.web.builder import BuilderAnswers

    if not can_be_made(asked):
        stop([asked.scenario.without("pattern")], as_json=asked.as_json)
    scenario, day = asked.scenario, asked.scenario.day(asked.day)
    build = scenario.built()
    figures = scenario.figures(build, day)
    choice = _choice(asked, day)
    aimed = aimed_at(choice)
    estimator = aimed.estimator
    desk, jobs = _shop(asked)
    standings, older = _jobs(asked, desk, jobs) if desk else ((), ())
    return BuilderAnswers(
        title=scenario.header.title,
        invented=scenario.invented,
        on=asked.day,
        day=day,
        bill=figures.bill,
        figures=figures.all(),
        spreads={figure.name: figures.spread(figure.name) for figure in figures.all() if figure.value},
        benched=figures.benched(),
        fits=scenario.fits(build),
        verdicts=scenario.verdicts(day),
        breathing=estimator.look(build) if estimator else None,
        turns=tuple(_turns(build, estimator)) if estimator else (),
        choices=_choices(choice, aimed),
        shop=desk.book.header.shop if desk else "",
        quotes=tuple(_quotes(asked, desk)) if desk else (),
        jobs=standings,
        older=older,
    )


def _turns(build: Build, estimator: Estimator) -> Iterator[Turn]:
    """How the engine breathes with each part that takes turns in its intake."""
    from costplan.build.airflow import Turn
    from costplan.scenario.scenario import turns_of

    for slot, other in turns_of(build):
        if slot in estimator.slots:
            yield Turn(slot, other.fills[slot].part.part, estimator.look(other))


def _choice(asked: Asked, day: date) -> Choice:
    """A choice in which nothing is wished but what fits and book ask."""
    from costplan.choose import Wishes

    wishes = Wishes(day, {}, (), (), None, (), "exclude", (), None, ())
    return Choice(asked.scenario, wishes, "", asked.day, asked.as_json, bars=asked.bars)


def _choices(choice: Choice, aimed: Aimed) -> Choices | None:
    """The frontier, and what else could stand in each slot; None where neither power nor a season's cost is known."""
    from costplan.choose import option_of, start_from, swaps_from, tell
    from costplan.report.web.builder import Choices

    found = _frontier(choice, aimed)
    if found is None:
        return None
    about = choice.about(aimed)
    with unless_stopped(choice.bars):
        pick, kept = start_from(aimed, EACH)
        if pick is None:
            return Choices(about, found)
        start, changes = option_of(kept, pick), tell(kept, pick).changes
        watch = watched(choice.bars, "Trying the parts of each slot")
        swaps = swaps_from(kept, pick, (), EACH, watch, grounds=False)
    choice.bars.close()
    return Choices(about, found, start, changes, swaps)


def _frontier(choice: Choice, aimed: Aimed) -> Frontier | None:
    """Against estimated power where any bill has one, else against the cost of parts a season."""
    from costplan.choose import frontier

    found, watch = None, watched(choice.bars, "Finding what more money buys")
    with unless_stopped(choice.bars):
        if aimed.estimator is not None and aimed.too_many is None:
            found = frontier(aimed, "power", POINTS, LONGEST, watch)
        if (found is None or not found.points) and choice.scenario.files.positions:
            found = frontier(aimed, "season", POINTS, LONGEST, watch)
    choice.bars.close()
    return found


def _shop(asked: Asked) -> tuple[Desk | None, tuple[Job, ...]]:
    """The shop's desk with its jobs; none where the scenario has no shop."""
    if not has_shop(asked.folder):
        return None, ()
    return open_jobs(asked.folder, asked.sets, as_json=asked.as_json, beside=asked.beside)


def _jobs(asked: Asked, desk: Desk, jobs: tuple[Job, ...]) -> tuple[tuple[Standing, ...], tuple[JobListed, ...]]:
    """How each job stands that somebody signed, and older jobs of which only the hours count."""
    from costplan.quote.job import list_jobs, stand

    currency = desk.scenario.header.currency
    standings = (stand(job, desk.book, currency, asked.day) for job in jobs)
    older = (one for one in list_jobs(jobs, desk.book, currency, asked.day) if one.state == "hours only")
    return tuple(one for one in standings if one.earnings is not None), tuple(older)


def _quotes(asked: Asked, desk: Desk) -> Iterator[Quoted]:
    """Every request priced on its own day, else on the day called now, beside what is saved of it."""
    from costplan.quote import make_quote, requests_in
    from costplan.quote.revisions import difference
    from costplan.report.web.builder import Quoted

    for name in requests_in(asked.folder):
        request, problems = desk.request(name)
        if request is None:
            stop(problems, as_json=asked.as_json)
        saved = _saved(asked, name)
        between = tuple(difference(one, other) for one, other in pairwise(saved))
        asking, problems = desk.asking(request, request.head.date or asked.day)
        quote, problems = make_quote(asking) if asking else (None, problems)
        since = difference(saved[-1], quote) if saved and quote else None
        yield Quoted(name, quote, tuple(map(str, problems)), saved, between, since)


def _saved(asked: Asked, name: str) -> tuple[Quote, ...]:
    """The revisions that are saved of a request, or the end of the command where one cannot be read."""
    from costplan.cli.quote.common import saved_revision
    from costplan.quote.revisions import revisions_in

    numbers = revisions_in(asked.folder, name)
    return tuple(saved_revision(asked.folder, name, number, as_json=asked.as_json).quote for number in numbers)
