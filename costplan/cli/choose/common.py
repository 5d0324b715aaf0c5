"""What the commands of `costplan choose` share: what is wished, the choice, and why it has no answer."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

from costplan.cli.common import answer, not_negative, open_scenario, read_day, stop
from costplan.cli.progress import Bars, unless_stopped

if TYPE_CHECKING:
    from datetime import date

    from costplan.choose import Aimed, Pick, Wishes
    from costplan.problems import Problem
    from costplan.report.choose import About
    from costplan.scenario import Scenario

Pins = Annotated[
    list[str],
    typer.Option(
        "--pin",
        metavar="SLOT=PART",
        help="This part in this slot; SLOT=nothing leaves it empty. May be repeated.",
        show_default=False,
    ),
]
Bans = Annotated[
    list[str],
    typer.Option("--ban", metavar="PART", help="Nowhere this part. May be repeated.", show_default=False),
]
Suppliers = Annotated[
    list[str],
    typer.Option("--supplier", metavar="NAME", help="Buy from nobody else. May be repeated.", show_default=False),
]
By = Annotated[
    str,
    typer.Option(
        "--by", metavar="DATE", help="Everything is here by this day, ordered on the day of --on.", show_default=False
    ),
]
OnHand = Annotated[
    list[str],
    typer.Option(
        "--on-hand",
        metavar="WHO",
        help="Pieces of this engine, of the car or the shelf may be used, at what they would sell for; repeatable.",
        show_default=False,
    ),
]
AllowUnknown = Annotated[
    bool,
    typer.Option("--allow-unknown", help="Also parts of which a clause, a fit or the estimate of power cannot tell."),
]
Optional = Annotated[
    list[str],
    typer.Option(
        "--optional",
        metavar="SLOT",
        help="This slot may be filled or left empty, whatever the build has there. May be repeated.",
        show_default=False,
    ),
]
Budget = Annotated[
    str, typer.Option("--budget", metavar="SUM", help="The most that a bill may come to.", show_default=False)
]
Cheapen = Annotated[
    list[str],
    typer.Option(
        "--cheapen",
        metavar="SLOT",
        help="A cheaper part than planned in this slot too, though positions.csv says that it is not to be stretched. "
        "May be repeated.",
        show_default=False,
    ),
]
Level = Annotated[
    str,
    typer.Option(
        "--level",
        metavar="LEVEL",
        help="Whose interval counts: the first part due that this service level reaches, or one above it.",
        show_default=False,
    ),
]
OnPrices = Annotated[
    str,
    typer.Option(
        "--on",
        metavar="DATE",
        help="The day whose prices, rules and dyno sheets count, 2027-05-14; today if not given, or opening day while "
        "that lies ahead.",
        show_default=False,
    ),
]


Longest = Annotated[
    float, typer.Option("--seconds", min=0.1, max=86_400, help="The most that the search takes, all in all.")
]
Seconds = Annotated[
    float, typer.Option("--seconds", min=0.1, max=86_400, help="The most that the search takes for each part it tries.")
]


#: The units of figures in answers as data, by their keys.
UNITS = MappingProxyType(
    dict.fromkeys(("power", "error", "more_power", "power_since"), "kW")
    | dict.fromkeys(("events", "more_events"), "event")
)


#: The title of a page that says why no bill is there.
WHY = "Why nothing meets fits, book and wishes"


@dataclass(frozen=True, slots=True)
class Said:
    """What was wished, as it was written."""

    pins: Iterable[str] = ()
    bans: Iterable[str] = ()
    suppliers: Iterable[str] = ()
    by: str = ""
    on_hand: Iterable[str] = ()
    allow_unknown: bool = False
    optional: Iterable[str] = ()
    budget: str = ""
    level: str = ""
    cheapen: Iterable[str] = ()


@dataclass(frozen=True)
class Choice:
    """A scenario with what is wished of a choice from it, and the form of the answer.

    `pulled_by`: the day whose dyno sheets count, None for all of them. `bars` watch whatever takes long.
    """

    scenario: Scenario
    wishes: Wishes
    level: str
    pulled_by: date | None
    as_json: bool
    as_csv: bool = False
    bars: Bars = field(default_factory=Bars)

    @property
    def head(self) -> dict[str, Any]:
        """What every answer says first, as data."""
        title, invented, wishes = self.scenario.header.title, self.scenario.invented, self.wishes
        dyno = {"up_to": self.pulled_by, "pulls": len(self.pulls), "days": sorted(set(self.pulls))}
        said = {"scenario": title, "invented": invented, "on": wishes.on, "wishes": wishes, "level": self.level}
        return {**said, "dyno": dyno, "units": UNITS}

    def about(self, aimed: Aimed | None = None) -> About:
        """What every page says of it; of a choice also whose interval counts."""
        from costplan.report.choose import About

        scenario, header = self.scenario, self.scenario.header
        airflow = scenario.built().pattern.airflow
        return About(
            header.title,
            scenario.invented,
            header.currency,
            airflow.unit if airflow else "kW",
            self.wishes,
            aimed.level.level if aimed and aimed.level else self.level,
            self._set_by(aimed),
            self.pulled_by,
            tuple(row.slot for row in scenario.files.positions if not row.stretch),
            aimed.too_many.slots if aimed and aimed.too_many else (),
        )

    def _set_by(self, aimed: Aimed | None) -> tuple[date, ...]:
        """The days of those pulls that set the estimate of power: of engines whose own power can be estimated."""
        sheet = aimed.estimator.calibration if aimed and aimed.estimator else None
        places = {point.place for point in sheet.points} if sheet else set()
        return tuple(pull.date for pull in self.scenario.dyno if pull.place in places)

    @property
    def pulls(self) -> tuple[date, ...]:
        """The days of the pulls on a dyno that count, one for each."""
        by = self.pulled_by
        return tuple(pull.date for pull in self.scenario.dyno if by is None or pull.date <= by)


def open_choice(
    folder: Path, on: str, sets: Iterable[str], said: Said, *, as_json: bool, as_csv: bool = False
) -> Choice:
    """What there is to choose from and what is wished, or the end of the command with all problems."""
    from costplan.choose import wrong_wishes

    _need_solver()
    bars = Bars()
    with unless_stopped(bars):
        scenario, today = open_scenario(folder, sets, on, as_json=as_json)
        if scenario.build is None:
            stop([scenario.without("pattern")], as_json=as_json)
        wishes, faults = _wishes(said, today if on else scenario.day(today), as_json=as_json)
        wrong = (*faults, *wrong_wishes(scenario, wishes, said.level))
    if wrong:
        stop(wrong, as_json=as_json)
    return Choice(scenario, wishes, said.level, today if on else None, as_json, as_csv, bars)


def _need_solver() -> None:
    """Ends the command where the solver is not installed."""
    try:
        import ortools.sat.python.cp_model  # noqa: F401 - whether it is there
    except ImportError:
        typer.echo("Choosing needs ortools, which is not here: install costplan anew.", err=True)
        raise typer.Exit(2) from None


def _wishes(said: Said, on: date, *, as_json: bool) -> tuple[Wishes, tuple[Problem, ...]]:
    from costplan.choose import Wishes

    pinned, faults = read_pins(said.pins)
    by, wrong = read_day(said.by, "--by")
    budget = not_negative(said.budget, "--budget", as_json=as_json) if said.budget else None
    wishes = Wishes(
        on,
        pinned,
        tuple(dict.fromkeys(said.bans)),
        tuple(dict.fromkeys(said.suppliers)),
        by if said.by and not wrong else None,
        tuple(dict.fromkeys(said.on_hand)),
        "allow" if said.allow_unknown else "exclude",
        tuple(dict.fromkeys(said.optional)),
        budget,
        tuple(dict.fromkeys(said.cheapen)),
    )
    return wishes, (*faults, *wrong)


def read_pins(texts: Iterable[str]) -> tuple[dict[str, str], tuple[Problem, ...]]:
    """The parts by slot of `SLOT=PART` words."""
    from costplan.problems import Place, Problem

    found, faults = dict[str, str](), list[Problem]()
    for number, text in enumerate(texts, start=1):
        place, (slot, _, part) = Place(f"--pin {number}"), (word.strip() for word in text.partition("="))
        if not (slot and part):
            faults.append(Problem("REA017", place, "", text, "not SLOT=PART:", "write it as springs=TV-S165"))
        elif slot in found:
            faults.append(Problem("REA023", place, "", text, "a slot that is pinned twice:", "give one part for it"))
        else:
            found[slot] = part
    return found, tuple(faults)


def aimed_at(choice: Choice) -> Aimed:
    """The puzzle with its amounts, or the end of the command where dyno sheets up to the day calibrate nothing."""
    from costplan.choose import prepare

    with unless_stopped(choice.bars), choice.bars.waiting("Asking fits and clauses of all parts"):
        aimed = prepare(choice.scenario, choice.wishes, choice.level, pulled_by=choice.pulled_by)
    if aimed.estimator and aimed.estimator.problems:  # of the pulls up to a day; all of them together were fine
        stop(aimed.estimator.problems, as_json=choice.as_json)
    return aimed


def need_valued_power(choice: Choice, aimed: Aimed) -> None:
    """Ends the command where power is asked for and there are too many combinations to be valued."""
    from costplan.problems import Place, Problem

    many = aimed.too_many
    if many is not None:
        what, advice = "more combinations than can be valued, so many:", f"pin or ban parts of {', '.join(many.slots)}"
        stop([Problem("CHO001", Place("--pin"), "", str(many.count), what, advice)], as_json=choice.as_json)


def need_estimate(choice: Choice, option: str) -> None:
    """Ends the command where power is asked for that the pattern does not let be estimated."""
    if choice.scenario.built().pattern.airflow is None:
        stop([_lacking(option, "power", "this needs [airflow] in the pattern:", _AIRFLOW)], as_json=choice.as_json)


_AIRFLOW = "add the table; costplan columns pattern.toml says what belongs into it"


def need_season(choice: Choice, option: str, what: str) -> None:
    """Ends the command where something is asked for that only positions that wear can tell."""
    if not choice.scenario.files.positions:
        advice = "write it; costplan columns positions.csv says what belongs into it"
        stop([_lacking(option, what, "this needs positions.csv:", advice)], as_json=choice.as_json)


def need_known_power(choice: Choice, aimed: Aimed, option: str) -> None:
    """Ends the command where bills are possible, but the power of none of them can be estimated."""
    from costplan.choose import AIMS, best

    with unless_stopped(choice.bars), choice.bars.waiting("Asking whether any bill is possible"):
        chosen, _ = best(aimed, AIMS["price"], 10.0)
    if chosen.option is None or aimed.estimator is None:
        return
    missing = aimed.estimator.look(choice.scenario.built()).missing[:3]
    what = "no bill has a power that can be estimated:"
    advice = f"give what is missing, such as {'; '.join(missing) or 'flow of the parts that are left'}"
    stop([_lacking(option, "power", what, advice)], as_json=choice.as_json)


def _lacking(option: str, value: str, what: str, advice: str) -> Problem:
    from costplan.problems import Place, Problem

    return Problem("REA016", Place(option), "", value, what, advice)


def no_bill(
    choice: Choice, seconds: float, *, impossible: bool, wishes: Wishes | None = None, what: str = WHY
) -> NoReturn:
    """Prints why no bill meets everything, or that none was found in time, and ends the command with status 1.

    `wishes`: what cannot be met, where it is more than was wished; `what` it is, as the page's title.
    """
    from costplan.choose import encode, explain
    from costplan.report.choose import conflict_csv, conflict_page, unfound_page

    asked, conflict = wishes or choice.wishes, None
    if impossible:
        with unless_stopped(choice.bars), choice.bars.waiting("Looking for what is at odds"):
            watch = watched(choice.bars, "Asking what would have to give")
            conflict = explain(encode(choice.scenario, asked, whole=True), seconds, watch)
        choice.bars.close()
    about = choice.about()
    answer(
        "choose conflict",
        {**choice.head, "wishes": asked, "seconds": seconds, "conflict": conflict},
        lambda: conflict_csv(about, conflict),
        lambda: conflict_page(about, conflict, what) if conflict else unfound_page(about, seconds),
        as_json=choice.as_json,
        as_csv=choice.as_csv,
    )
    raise typer.Exit(1)


def begun(choice: Choice, aimed: Aimed, seconds: float, slot: str = "", part: str = "") -> tuple[Pick, Aimed]:
    """The build as planned with the fewest changes that meet everything, or why there is none, and the end.

    `part`: this one in a slot, if any bill has it there.
    """
    from costplan.choose import AIMS, best, start_from

    with unless_stopped(choice.bars), choice.bars.waiting("Looking for the fewest changes"):
        pick, kept = start_from(aimed, seconds, slot, part) if part else (None, aimed)
        if pick is None:
            pick, kept = start_from(aimed, seconds)
        if pick is not None:
            return pick, kept
        chosen, _ = best(aimed, AIMS["price"], seconds)
    no_bill(choice, seconds, impossible=chosen.proof.status == "impossible")


def watched(bars: Bars, words: str) -> Callable[[Iterable[Any]], Iterator[Any]]:
    """What shows a bar for items that are worked on one by one."""
    return lambda items: bars.each(items, words)
