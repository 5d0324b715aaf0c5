"""What a study must say beside its figures: need, baseline, options, data, assumptions, limits.

The headings follow what published practice asks of an impact assessment: OIRA, Agency Checklist: Regulatory Impact
Analysis; OMB Circular A-94, sections 5c, 6, 8 to 10 and 12; EU Better Regulation Toolbox, chapters 2, 3 and 8.
"""

from __future__ import annotations

from collections.abc import Iterator

from costplan.impact.figures import Impact, Source
from costplan.report.tables import Passage, grouped, listed, number, plural

NOT_STATED = "not stated; write it into impact.toml"


def passages(found: Impact) -> Iterator[Passage]:
    """Everything that is asked beside figures."""
    study = found.study
    yield Passage(
        "Need, and how it is to be met",
        ((0, study.need or f"Need: {NOT_STATED}."), (0, study.meets or f"How: {NOT_STATED}.")),
    )
    yield Passage(
        "Against what",
        (
            (0, "The baseline is the field as it is under today's book, played for the same years: nothing done."),
            (0, f"Studied: {'; '.join(one.name for one in found.changes)}."),
            (0, f"Not studied: {'; '.join(study.not_studied) or NOT_STATED}."),
        ),
    )
    yield Passage("Method", tuple((0, line) for line in method_lines(found)))
    yield Passage("Data", tuple((0, line) for line in _data(found)))
    yield Passage("Limits", tuple((0, line) for line in found.limits))


def method_lines(found: Impact) -> Iterator[str]:
    """How the figures come about."""
    study = found.study
    yield (
        "Each group answers the changed book with the cheapest parts that meet it, from what it owns; then its "
        "seasons are played with failures, rain and damage drawn, before and after, and the difference is the cost. "
        "What is paid once stands apart from what comes back each year."
    )
    yield (
        f"Discounted at {number(100 * study.discount)}% and, beside it, {number(100 * study.discount_other)}% a "
        f"year, real. Parts sold lose {number(100 * study.haircut)}% of their resale. Where an ignition cuts out "
        f"lower, mean speeds follow by {number(study.rpm_follows)} of the difference."
    )
    yield (
        f"{found.seasons:,} seasons for each entrant and side; {found.short_seasons:,} for phase-in by wear and for "
        "spending. Ages are drawn for each entrant and part; the seed says which."
    )


def _data(found: Impact) -> Iterator[str]:
    said = ((_word(source), source.what) for source in found.sources if not source.assumed)
    for word, what in grouped(said).items():
        things = listed(what)
        yield f"{things[0].upper()}{things[1:]}: {word}."
    if found.assumed:
        yield f"Nobody stands for {plural(len(found.assumed), 'input')}: {'; '.join(found.assumed)}."


def _word(source: Source) -> str:
    """Whose word it is, with its date."""
    dated = source.date is not None and str(source.date) not in source.source
    return f"{source.source}, {source.date}" if dated else source.source
