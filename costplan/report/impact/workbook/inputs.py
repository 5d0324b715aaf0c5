"""What a study rests on, as one sheet; the rates of discount in it are read by the formulas of others."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from costplan.impact.figures import Impact
from costplan.impact.records import Study
from costplan.report.tables import listed
from costplan.report.workbook.sheets import DATE, PLAIN, SHARE, Book, Cell, Column, Sheet, Value

#: The keys of impact.toml that are words and stand on the sheet of the method.
WORDS = ("need", "meets", "changes", "not_studied", "source", "invented", "discount", "discount_other")
MONEY = ("loss", "inspector_rate", "inspection_setup", "budget", "leaves_above")
SHARES = ("haircut", "haircut_low", "haircut_high", "rpm_follows", "correlation")


@dataclass(frozen=True, slots=True)
class Rates:
    """Where the two rates of discount are, as other sheets name them."""

    first: str
    other: str


def write_inputs(book: Book, found: Impact) -> Rates:
    """The rates, the figures of the study, what groups told, whose word each is; guesses are marked."""
    columns = [
        Column("of", "Of", 22),
        Column("what", "What", 46),
        Column("low", "Low", 11, PLAIN),
        Column("value", "Value, or likely", 14, PLAIN),
        Column("high", "High", 11, PLAIN),
        Column("unit", "Unit", 10),
        Column("guess", "Guess", 7),
        Column("source", "Whose word", 40),
        Column("date", "Date", 11, DATE),
    ]
    sheet = book.table("Inputs", "what the study rests on", columns, landscape=True)
    sheet.across("Rates that can be changed here", "heading")
    rates = Rates(*(_write_rate(sheet, found.study, key) for key in ("discount", "discount_other")))
    _write_study(sheet, found)
    _write_told(sheet, found)
    _write_sources(sheet, found)
    return rates


def _write_rate(sheet: Sheet, study: Study, key: str) -> str:
    """A rate of discount; its cell as other sheets name it."""
    given = Cell(getattr(study, key), SHARE, "input")
    return sheet.far("value", sheet.put({**_about(study, key), "value": given, "unit": "a year"}))


def _about(study: Study, key: str) -> dict[str, Value | Cell]:
    """What a key of the study is, and whose word its value."""
    guess = key in study.assumed or key not in study.model_fields_set
    what = Study.model_fields[key].description or ""
    source = "not given in impact.toml" if guess else study.source
    return {"of": key, "what": what, "guess": Cell("guess" if guess else "", look="odd"), "source": source}


def _write_study(sheet: Sheet, found: Impact) -> None:
    study = found.study
    sheet.across("Figures of impact.toml", "heading")
    for key in Study.model_fields:
        value = getattr(study, key, None)
        if key in WORDS or key == "place" or value is None:
            continue
        unit = found.currency if key in MONEY else ""
        sheet.put({**_about(study, key), "value": Cell(value, SHARE if key in SHARES else ""), "unit": unit})
    sheet.across("As asked", "heading")
    asked: tuple[tuple[str, int | date], ...] = (
        ("seasons drawn for each entrant and side", found.seasons),
        ("seasons drawn for phase-in by wear, and for spending", found.short_seasons),
        ("seed of the draws", found.seed),
        ("day on which the field orders", found.on),
        ("first round", found.first_round),
    )
    for what, value in asked:
        sheet.put({"of": "study", "what": what, "value": Cell(value, DATE if isinstance(value, date) else "")})
    lost = "a lost result of weight 1 counts"
    sheet.put({"of": "study", "what": lost, "value": found.result_worth, "unit": found.currency})


def _write_told(sheet: Sheet, found: Impact) -> None:
    """What was asked of groups."""
    if found.told:
        sheet.across("What groups told (survey.csv)", "heading")
    for row in found.told:
        sheet.put(
            {
                "of": row.group,
                "what": f"{row.asks}, by {row.answers} answers",
                "low": row.low,
                "value": row.likely,
                "high": row.high,
                "unit": found.currency if row.asks in MONEY else "",
                "guess": Cell("" if row.source else "guess", look="odd"),
                "source": row.source,
                "date": row.date,
            }
        )


def _write_sources(sheet: Sheet, found: Impact) -> None:
    """Whose word the rest is."""
    sheet.across("Whose word it is", "heading")
    for one in found.sources:
        sheet.put(
            {
                "of": "",
                "what": one.what,
                "guess": Cell("guess" if one.assumed else "", look="odd"),
                "source": one.source,
                "date": one.date,
            }
        )
    beside = [words for words in found.assumed if words not in {one.what for one in found.sources}]
    if beside:
        sheet.foot(f"Not given by anybody: {listed(beside)}.")
