"""The files of a season: its calendar, sessions, levels, positions, services and costs, and what may go wrong in it."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator, model_validator

from costplan.garage import CAR as CAR
from costplan.problems import nearest
from costplan.reading import Record
from costplan.reading.fields import (
    Count,
    Day,
    Days,
    Distance,
    Duration,
    Fuel,
    Kind,
    Length,
    Measure,
    MeasureName,
    Money,
    Name,
    NotNegative,
    Positive,
    Rpm,
    SignedMoney,
    Text,
    Whole,
    Words,
    YesNo,
    decimal_comma,
    refuse,
    to_decimal,
)

Carrier = Literal["engine", "car"]
#: The kinds of events at which something runs.
RUNNING = ("race", "practice", "test")
#: Measures in which nothing can be met while it runs.
NOT_WHILE_RUNNING = ("openings", "days")


def to_chance(value: Any, info: ValidationInfo) -> float:
    """A chance from 0 to 1, both ends included; `5 %` is read as 0.05."""
    percent = isinstance(value, str) and value.endswith("%")
    number = to_decimal(value.rstrip("% ") if percent else value, comma=decimal_comma(info))
    chance = float(number / 100 if percent else number)
    if not 0 <= chance <= 1:
        raise refuse("REA018", "not a chance from 0 to 1:", "give 0.05 or 5 % for five in a hundred")
    return chance


Chance = Annotated[float, BeforeValidator(to_chance), Kind("chance from 0 to 1, 0.05 or 5 %", form="number")]


def to_portion(value: Any, info: ValidationInfo) -> float:
    """A share from 0 to 1, both ends included; `50 %` is read as 0.5."""
    percent = isinstance(value, str) and value.endswith("%")
    number = to_decimal(value.rstrip("% ") if percent else value, comma=decimal_comma(info))
    portion = float(number / 100 if percent else number)
    if not 0 <= portion <= 1:
        raise refuse("REA018", "not a share from 0 to 1:", "give 0.5 or 50 % for half")
    return portion


Portion = Annotated[float, BeforeValidator(to_portion), Kind("share from 0 to 1, 0.5 or 50 %", form="number")]


def to_rate(value: Any, info: ValidationInfo) -> float:
    """A chance in each unit of use, from 0 to below 1: what is sure in every unit is no matter of chance."""
    chance = to_chance(value, info)
    if chance == 1:
        raise refuse("REA018", "sure to happen in every unit:", "give a chance below 100 %")
    return chance


Rate = Annotated[float, BeforeValidator(to_rate), Kind("chance from 0 to below 1, 0.05 or 5 %", form="number")]


class Event(Record):
    """calendar.csv"""

    KEY: ClassVar[str] = "event"
    event: Name = Field(description="name of the date, once in a calendar")
    date: Day = Field(description="its day; a night of a longer show has a row of its own")
    kind: Literal["race", "practice", "test", "service"] = Field(
        default="race", description="race, practice, test (dyno, run-in), or service: work in the shop, nothing runs"
    )
    show: Text = Field(default="", description="name that the nights of one show share")
    setup: Text = Field(default="", description="set-up of the car: it decides which alternate of a slot runs")
    format: Text = Field(default="", description="its sessions, by a format of sessions.csv; empty: the row is one run")
    engine: Text = Field(default="", description="engine that runs; empty: by policy")
    lap_length: Length | None = Field(default=None, description="length of a lap")
    lap_time: Duration | None = Field(default=None, description="time of a lap; hours = laps * lap_time")
    laps: NotNegative | None = Field(default=None, description="laps, for a row without a format")
    hours: NotNegative | None = Field(default=None, description="hours the engine runs, for a row without a format")
    distance: Distance | None = Field(default=None, description="distance, where not laps * lap_length")
    fuel: Fuel | None = Field(default=None, description="fuel burned, for a row without a format")
    starts: NotNegative | None = Field(default=None, description="starts of the engine; 1 a run where empty")
    rpm: Rpm | None = Field(default=None, description="mean engine speed, for a row without a format")
    entry: Money = Field(default=Decimal(0), description="entry fees and passes")
    travel: Money = Field(default=Decimal(0), description="tow, fuel for the road, lodging")
    purse: Money = Field(default=Decimal(0), description="winnings one counts on")
    level: Text = Field(default="", description="for a service row: the level to be done then")
    gap_hours: NotNegative | None = Field(default=None, description="for a service row: hours for it, if not by dates")
    rain: Chance = Field(default=0, description="chance that rain stops the event")
    rain_from: Text = Field(
        default="", description="session of its format from which it is stopped then; empty: all of it"
    )
    weight: NotNegative | None = Field(
        default=None, description="how much its result counts in the season; empty: 1 for a race, else 0"
    )

    @model_validator(mode="after")
    def _rain_from_what_rains(self) -> Event:
        if self.rain_from and "rain" not in self.model_fields_set:
            raise refuse("REA016", "rain_from without a chance of rain", "give one, or leave rain_from empty", "rain")
        return self

    @property
    def counts(self) -> float:
        """How much its result counts in the season."""
        return (1.0 if self.kind == "race" else 0.0) if self.weight is None else self.weight


class Session(Record):
    """sessions.csv"""

    format: Name = Field(description="format it belongs to; its sessions run in the order of the rows")
    session: Name = Field(description="hot laps, qualifying, heat, feature, practice ...")
    laps: NotNegative | None = Field(
        default=None, description="laps, slow ones too; on a dyno, the laps that its hours are worth"
    )
    hours: NotNegative | None = Field(default=None, description="hours the engine runs, where not laps * lap_time")
    rpm: Rpm | None = Field(default=None, description="mean engine speed")
    fuel_per_lap: Fuel | None = Field(default=None, description="fuel burned on a lap")
    fuel_per_hour: Fuel | None = Field(default=None, description="fuel burned in an hour of running")
    starts: NotNegative | None = Field(default=None, description="starts of the engine; 1 where empty")
    duty: NotNegative = Field(default=1, description="how hard the session is on lives; a green lap is 1")
    result: NotNegative = Field(
        default=1, description="its share in the event's result; where all are 0 they share it evenly"
    )


class Level(Record):
    """levels.csv"""

    KEY: ClassVar[str] = "level"
    level: Name = Field(description="name of the service level: trackside, springs, freshen, rebuild")
    rank: Count = Field(description="1, 2, 3 ... among its carrier's levels; a higher one includes the lower")
    carrier: Carrier = Field(default="engine", description="what it opens: an engine, or the car's shared positions")
    interval: Positive | None = Field(default=None, description="use after which it is due again")
    measure: Measure | None = Field(default=None, description="what the interval counts")
    dates: Days = Field(default=(), description="days on which it is due whatever the use")
    rest: NotNegative = Field(
        default=0,
        description="with less use than this since it was last done, in its measure or else in events, a date is "
        "passed over",
    )
    hours: NotNegative = Field(default=0, description="from the last run until ready: bench, travel, queue")
    labour: Money = Field(default=Decimal(0), description="labour of one opening, in the scenario's currency")
    supplies: Money = Field(default=Decimal(0), description="gaskets, oil, cleaning of one opening")
    renews: Words = Field(default=(), description="slots renewed every time")
    shop: Text = Field(default="", description="who does it; several rows may offer one level, each by another shop")
    checks: Words = Field(default=(), description="slots looked at every time, as a higher level looks at them too")
    sees: Chance = Field(
        default=0, description="chance that a look sees a piece which is in the warning share of its life"
    )
    run_in: Text = Field(
        default="", description="what it assembled is run in, in the sessions of this format of sessions.csv"
    )

    @model_validator(mode="after")
    def _sees_what_it_checks(self) -> Level:
        if self.checks and not self.sees:
            raise refuse("SEA021", "looks that see nothing:", "give a chance above 0, or leave checks empty", "sees")
        if self.sees and not self.checks:
            raise refuse("REA016", "sees without slots to look at", "name them, or leave sees empty", "checks")
        return self


class Supplier(Record):
    """suppliers.csv"""

    KEY: ClassVar[str] = "supplier"
    supplier: Name = Field(description="a supplier of the catalogs, or a shop of levels.csv")
    deposit: Portion = Field(
        default=0,
        description="share of the price of parts and kits, of a shop's labour and supplies, paid with the order",
    )
    queue_days: Whole = Field(
        default=0,
        description="days ahead that a shop's bench must be booked; for parts, days beyond the lead_days of each",
    )
    note: Text = Field(default="", description="anything worth keeping")
    source: Text = Field(default="", description="whose word the terms are")


class Position(Record):
    """positions.csv"""

    KEY: ClassVar[str] = "slot"
    slot: Name = Field(description="slot of the engine pattern")
    level: Name = Field(description="lowest service level that reaches it")
    carrier: Carrier = Field(default="engine", description="whether it is part of an engine, or follows the car")
    renewal: Literal["at interval", "run to failure"] = Field(
        default="at interval", description="whether it is renewed at replace_at, or left until it breaks"
    )
    factor: Positive = Field(default=1, description="renew at replace_at * factor")
    stops: YesNo = Field(default=True, description="whether its failure stops the run")
    renew_as: Literal["set", "piece"] = Field(default="set", description="what is renewed when one piece fails")
    renew_with: Words = Field(default=(), description="slots that are renewed whenever this one is: pistons with rings")
    stretch: YesNo = Field(
        default=True,
        description="whether its renewal use may be made longer to save money; no: springs, rod bolts, dampers, what "
        "has an expiry date",
    )
    waits: YesNo = Field(
        default=False,
        description="whether it waits for an opening that is made anyway, as on a date, where it is merely due; what "
        "is broken or at a hard limit never waits",
    )


class Service(Record):
    """services.csv"""

    KEY: ClassVar[str] = "service"
    service: Name = Field(description="what is paid for: freshen, springs, oil, fuel, tyres")
    price: Money = Field(description="its price each time, in the scenario's currency")
    every: Positive = Field(description="how much use lies between")
    measure: Measure = Field(description="what that use is counted in")
    used: NotNegative = Field(default=0, description="use since it was last done, when the season opens")
    hours: NotNegative = Field(default=0, description="from the last run until ready")
    carrier: Carrier = Field(default="engine", description="whether each engine needs it, or the car")
    whole: YesNo = Field(default=True, description="whether it comes in whole services, or flows with use like fuel")
    source: Text = Field(default="", description="whose word the figures are; without one they count as assumed")


class Hazard(Record):
    """hazards.csv"""

    KEY: ClassVar[str] = "hazard"
    hazard: Name = Field(description="what may happen whatever the parts' lives: over-rev, debris, a claim")
    carrier: Carrier = Field(default="engine", description="what it happens to: the engine that runs, or the car")
    chance: Rate = Field(description="chance that it happens in one unit of `per`, whatever happened before; 0: never")
    per: Measure = Field(
        description="what the chance is counted in: laps, hours, starts, events, revolutions, distance [km], fuel [L]; "
        "not openings or days"
    )
    kinds: Words = Field(default=(), description=f"kinds of events at which it may: {', '.join(RUNNING)}; empty: all")
    source: Text = Field(default="", description="whose word the chance is; without one it counts as assumed")

    @field_validator("per", mode="before")
    @classmethod
    def _no_kind(cls, value: Any) -> Any:
        kind = value.removesuffix("s") if isinstance(value, str) else ""
        if kind in RUNNING:
            raise refuse("REA020", "a kind of event, not a measure:", f"give events, with kinds = {kind}")
        return value

    @field_validator("per")
    @classmethod
    def _while_running(cls, value: MeasureName) -> MeasureName:
        if value.name in NOT_WHILE_RUNNING:
            raise refuse("REA020", "nothing happens by itself in:", "count in laps, hours, starts or events")
        return value

    @field_validator("kinds")
    @classmethod
    def _known_kinds(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for kind in value:
            if kind not in RUNNING:
                raise refuse("REA020", "no kind of event that runs:", nearest(kind, RUNNING))
        return value


class Case(Record):
    """damage.csv"""

    slot: Name = Field(description="slot with a position, or hazard of hazards.csv, whose failures it is one of")
    case: Name = Field(description="what happens then, once a slot: mended, valve dropped, engine lost")
    chance: Chance = Field(description="share of the slot's failures that are of it; what is left over breaks no more")
    hits: Words = Field(default=(), description="slots, or whole services, that are broken too and renewed")
    operations: Words = Field(default=(), description="operations of the catalog that it takes, each once")
    cost: Money = Field(default=Decimal(0), description="what else it costs, in the scenario's currency")
    hours: NotNegative = Field(default=0, description="hours that it adds to the work")
    engine: Literal["stays", "scrapped", "gone"] = Field(
        default="stays", description="what becomes of the engine: scrapped or gone, everything in it is lost"
    )
    paid: Money = Field(
        default=Decimal(0), description="what is paid for an engine that is gone: by a claimer, insurance"
    )
    stops: YesNo | None = Field(
        default=None, description="whether it stops the run; as the position says where empty, a hazard does not"
    )
    source: Text = Field(default="", description="whose word it is; without one it counts as assumed")

    @model_validator(mode="after")
    def _paid_for_what_is_gone(self) -> Case:
        if self.paid and self.engine != "gone":
            raise refuse("SEA024", "paid for an engine that is not gone:", "give 0, or engine = gone", "paid")
        return self

    @model_validator(mode="after")
    def _hits_others(self) -> Case:
        if self.slot in self.hits:
            advice = f"leave {self.slot} out of hits"
            raise refuse("REA020", "its own slot, which is broken already, in", advice, "hits")
        return self

    @property
    def loses_engine(self) -> bool:
        """Whether everything in the engine is lost."""
        return self.engine != "stays"


class Cost(Record):
    """costs.csv"""

    KEY: ClassVar[str] = "cost"
    cost: Name = Field(description="what it is: licence, insurance, sponsor")
    amount: SignedMoney = Field(description="what is paid each time; income is negative")
    per: Literal["season", "month", "event", "race"] = Field(description="how often")
    date: Day | None = Field(default=None, description="for a cost of the season: when; the opening where empty")
    note: Text = Field(default="", description="anything worth keeping")


class Gaps(Record):
    """[gaps] of scenario.toml"""

    between_sessions: NotNegative = Field(default=1, description="hours between two sessions of a day")
    between_nights: NotNegative = Field(
        default=14, description="hours from the last run of a day to the first of the next"
    )


class Engine(Record):
    """[[engine]] of scenario.toml"""

    KEY: ClassVar[str] = "name"
    name: Name = Field(description="name of the engine, not 'car'")
    since: dict[str, NotNegative] = Field(
        default={}, description="use since each level was last done, in the level's own measure: {freshen = 3}"
    )
    done: dict[str, Whole] = Field(
        default={},
        description="times each level was done in its life before the books open, each opening once, at the highest "
        "level done: {freshen = 4, rebuild = 1}",
    )
    owned: YesNo = Field(
        default=True, description="whether it is in this season; if not, what is said of it waits until it is"
    )
    price: Money = Field(default=Decimal(0), description="what it costs on opening day, if bought for this season")
    sold: Money = Field(default=Decimal(0), description="what it brings on opening day if it is not owned")

    @field_validator("name")
    @classmethod
    def _no_car(cls, value: str) -> str:
        if value == CAR:
            raise refuse("REA020", "an engine called", "give another name; 'car' stands for the shared positions")
        return value


class Car(Record):
    """[car] of scenario.toml"""

    since: dict[str, NotNegative] = Field(
        default={}, description="use since each of the car's levels was last done, in the level's own measure"
    )
    done: dict[str, Whole] = Field(
        default={}, description="times each of the car's levels was done before the books open, as of an engine"
    )


class Policy(Record):
    """[policy] of scenario.toml"""

    early: Annotated[float | Literal["worth", "off"], Kind("worth, off, or a number up to 1", form="number")] = Field(
        default="worth",
        description="early renewal at an opening: 'worth' where it saves one, 'off', or from a worn share such as 0.8",
    )
    who_runs: Literal["first ready", "least used", "best saved"] = Field(
        default="first ready",
        description="which engine an event takes, where it names none; best saved: the first is kept for what counts",
    )
    save_for: Positive = Field(
        default=2, description="for who_runs = 'best saved': the weight of an event from which on the first is taken"
    )
    swap_hours: NotNegative = Field(default=4, description="hours to put another engine in inside an event")
    fetch_days: NotNegative | None = Field(
        default=None,
        description="days in which what broke or was found worn can be had where its lead is longer: by express, from "
        "another shop; empty: the lead. What lies in the box is there at once",
    )
    result_worth: Money = Field(
        default=Decimal(0),
        description="what a result of weight 1 is worth beyond its purse: points, sponsors; it is counted where dates "
        "and spares are chosen",
    )
    when_barred: Literal["run on", "change engine", "stop"] = Field(
        default="run on",
        description="what is done when something is due at a level that the rule book bars: it runs on, worn; another "
        "engine runs while one is ready; or it stops. What is broken or at a hard limit never runs",
    )

    @field_validator("early", mode="before")
    @classmethod
    def _early(cls, value: Any) -> Any:
        if value in ("worth", "off"):
            return value
        number = to_decimal(value)
        if not 0 < number <= 1:
            raise refuse("REA018", "not a worn share:", "give worth, off, or a share up to 1")
        return float(number)
