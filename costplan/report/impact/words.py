"""What all pages of a study say alike: amounts, signs, payback, cautions."""

from __future__ import annotations

from decimal import Decimal

from costplan.impact.figures import GroupImpact
from costplan.report.figures import signed
from costplan.report.tables import number, whole
from costplan.season.drawn.figures import CountDifference, Mean

CAUTIONS = (
    "An estimate from stated groups and assumed lives, not a vote and no forecast. Cheaper is not a safety decision, "
    "and meeting a list is not passing inspection: officials, makers and licensed practice decide.",
    "No entrant is named; what a group has and pays is not to be traced to anybody.",
)


def unanswered(group: GroupImpact) -> str:
    """That a group has no answer to a book: none can be, or none was found in time."""
    return "none found in time" if group.undecided else "cannot comply"


def mean(amount: Mean) -> str:
    """A difference with its standard error, without minor units.

    >>> mean(Mean(Decimal("-1234.50"), Decimal("41"))), mean(Mean(Decimal(0), Decimal(0)))
    ('-1,234 +/- 41', '0')
    """
    return f"{signed(amount.mean)} +/- {whole(amount.error)}" if round(amount.error) else signed(amount.mean)


def verb_of(amount: Decimal) -> str:
    """What a difference does, as far as whole units show it."""
    return "saves" if round(amount) < 0 else "costs"


def costs_or_saves(amount: Decimal) -> str:
    """A difference in words.

    >>> costs_or_saves(Decimal(120)), costs_or_saves(Decimal(-120)), costs_or_saves(Decimal(0))
    ('costs 120', 'saves 120', 'costs nothing')
    """
    if not round(amount):
        return "costs nothing"
    return f"{verb_of(amount)} {whole(abs(amount))}"


def payback(years: float | None, most: int) -> str:
    """When what was paid once has come back, in years; nothing where nothing was paid.

    >>> payback(0.0, 5), payback(1.26, 5), payback(None, 5)
    ('', '1.3', 'not in 5')
    """
    if years is None:
        return f"not in {most}"
    return f"{years:.1f}" if years else ""


def races(found: CountDifference, what: str) -> str:
    """More or fewer races missed, or stopped by a failure.

    >>> races(CountDifference(-1.24, 0.2), "missed"), races(CountDifference(0.1, 0.2), "stopped")
    ('1.2 fewer missed', 'as many stopped within the error')
    """
    if not found.shown:
        return f"as many {what} within the error"
    return f"{number(abs(found.mean), 2)} {'more' if found.mean > 0 else 'fewer'} {what}"


def change_of(found: CountDifference) -> str:
    """A difference of numbers, in a cell; nothing where none is shown beyond the error.

    >>> change_of(CountDifference(-31.2, 2.0)), change_of(CountDifference(0.4, 0.5))
    ('-31', 'as many')
    """
    return f"{found.mean:+.2g}" if found.shown else "as many"
