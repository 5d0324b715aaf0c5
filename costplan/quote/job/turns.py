"""Whether the rows of a job can have happened in their order: nothing is signed twice, or goes on after the end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType

from costplan.problems import Problem
from costplan.quote.job.rows import SIGNS, JobRow

#: Words that happen once to a job.
ONCE = ("accepted", "refused", "finished", "delivered")
#: What must have happened before: one of these.
AFTER = MappingProxyType(
    {
        "agreed": ("accepted",),
        "returned": ("accepted",),
        "finished": ("accepted",),
        "delivered": ("finished", "refused"),
    }
)
#: What may still happen after the last word of a job: money, bills that come late, and a refused engine is fetched.
LATER = MappingProxyType(
    {"delivered": ("paid", "returned", "bought"), "refused": ("paid", "returned", "bought", "delivered")}
)


def check_turns(rows: Iterable[JobRow], quoted: Mapping[int, date]) -> Iterator[Problem]:
    """Rows that cannot have happened after those before them; `quoted`: the day of each revision's quote."""
    so_far = _SoFar(quoted)
    for row in rows:
        problem = next(so_far.contradictions(row), None)
        if problem is not None:
            yield problem
        so_far.take(row)


@dataclass
class _SoFar:
    """A job as far as its rows were walked: the first row of each word, and the last revision that was signed."""

    quoted: Mapping[int, date]
    first: dict[str, JobRow] = field(default_factory=dict)
    signed: JobRow | None = None
    stopped: JobRow | None = None

    def take(self, row: JobRow) -> None:
        self.first.setdefault(row.what, row)
        if row.what in SIGNS:
            self.signed, self.stopped = row, None
        elif row.what == "stopped":
            self.stopped = row

    def contradictions(self, row: JobRow) -> Iterator[Problem]:
        """What is wrong with the next row."""
        yield from self._ended(row)
        if row.what in ONCE and row.what in self.first:
            advice = f"keep one of them; the first is in {self.first[row.what].place}"
            advice += "; a later revision is agreed" if row.what == "accepted" else ""
            yield Problem("JOB009", row.place, "what", row.what, "told twice:", advice)
        if row.what == "stopped" and self.stopped is not None:
            advice = f"it stands since {self.stopped.place}; what more was seen is found"
            yield Problem("JOB009", row.place, "what", row.what, "stopped already:", advice)
        before = AFTER.get(row.what, ())
        if before and not any(word in self.first for word in before):
            needed = " or ".join(before)
            yield Problem("JOB008", row.place, "what", row.what, f"before it was {needed}:", _ahead(needed))
        if row.what == "refused" and "finished" in self.first:
            advice = f"it was finished by {self.first['finished'].place}; correct one of them"
            yield Problem("JOB008", row.place, "what", row.what, "after it was finished:", advice)
        yield from self._signing(row)

    def _ended(self, row: JobRow) -> Iterator[Problem]:
        """Rows behind the last word of a job."""
        for word, allowed in LATER.items():
            if word in self.first and row.what not in (*allowed, word):
                last = self.first[word]
                advice = f"after that there is only {', '.join(allowed)}; correct its date, or {last.place}"
                yield Problem("JOB010", row.place, "what", row.what, f"after it was {word} on {last.date}:", advice)

    def _signing(self, row: JobRow) -> Iterator[Problem]:
        """Revisions that are signed in another order than they were made, or before they were there."""
        if row.what not in SIGNS or row.revision is None:
            return
        number, before = row.revision, self.signed.revision if self.signed else None
        if row.what == "agreed" and before is not None and number <= before:
            what = f"not a later revision than {before}, which was signed:"
            yield Problem("JOB011", row.place, "revision", str(number), what, "give the number of the later one")
        day = self.quoted.get(number)
        if day is not None and row.date < day:
            what = f"before revision {number} was quoted on {day}:"
            yield Problem("JOB013", row.place, "date", str(row.date), what, "correct the day, or the revision")


def _ahead(needed: str) -> str:
    return f"add the row {needed} on an earlier day, or above it; or correct its date"
