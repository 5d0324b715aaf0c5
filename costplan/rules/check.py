"""Checking an engine against a rule pack: conditions, dates, older parts that stay, and the proofs that are owed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache
from itertools import pairwise
from pathlib import Path

from costplan.build import Pattern
from costplan.garage import Inspected, Paper
from costplan.rules.answers import Ahead, Answer, Finding, Recognised, worst
from costplan.rules.clause import Condition, Heading, Rule, Test
from costplan.rules.evidence import Evidence, Sheet, Verdict
from costplan.rules.kinds import KINDS, Choice, Limit, Option, Papers, Parts, proofs_of
from costplan.rules.pack import Pack


@dataclass(frozen=True, slots=True)
class Verdicts:
    """All findings of one pack for one engine on a day. Meeting a list is not passing inspection.

    `pack`: its file's name without .toml, as inspections.csv names it; `name`: what the book is called.
    `unwritten`: filled slots of which no clause in force speaks; `ahead`: answers that the calendar will change;
    `recognised`: packs that count in place of this one, each with how the engine stands to it.
    """

    pack: str
    name: str
    edition: str
    file: str
    default: str
    tolerance: str
    on: date
    engine: str
    findings: tuple[Finding, ...]
    unwritten: tuple[str, ...] = ()
    ahead: tuple[Ahead, ...] = ()
    recognised: tuple[Recognised, ...] = ()

    def count(self, verdict: str) -> int:
        return sum(finding.verdict == verdict for finding in self.findings)

    @property
    def by_record(self) -> tuple[str, ...]:
        """The clauses that nothing but the record of events can still show."""
        return tuple(one.rule for one in self.findings if set(one.owed) == {"event log"})

    @property
    def to_bring(self) -> tuple[str, ...]:
        """The clauses that cannot be shown until something else than the record of events is brought."""
        owed = (one.rule for one in self.findings if one.verdict == "cannot be shown")
        return tuple(rule for rule in owed if rule not in self.by_record)

    @property
    def broken(self) -> bool:
        """Whether a clause that counts is broken and no pack that is recognised stands in."""
        breaks = any(one.verdict == "breaks" and one.severity == "must" for one in self.findings)
        return breaks and all(one.stands == "breaks" for one in self.recognised)

    @property
    def stands(self) -> Verdict:
        """How the engine stands to the book as a whole: as to the clause that it answers worst."""
        must = [finding.verdict for finding in self.findings if finding.severity == "must"]
        if self.broken:
            return "breaks"
        if any(one.stands == "meets" for one in self.recognised):
            return "meets"
        return "cannot be shown" if "cannot be shown" in must or "breaks" in must else "meets"


def check(pack: Pack, sheet: Sheet, on: date) -> Verdicts:
    """Every clause of the pack in its order, as it is in force on a day."""
    evidence = evidence_of(pack, sheet, on)
    findings = tuple(find(rule, evidence) for rule in pack.rules)
    header = pack.header
    edition = ", ".join(word for word in (header.edition, str(header.date or "")) if word)
    return Verdicts(
        pack.stem,
        header.name,
        edition,
        pack.file,
        header.default,
        header.tolerance,
        on,
        sheet.engine,
        findings,
        _unwritten(pack, findings, sheet),
        recognised=tuple(
            Recognised(other.stem, other.header.name, _stands_for(pack, other, findings, sheet, on))
            for other in pack.recognised
        ),
    )


def evidence_of(pack: Pack, sheet: Sheet, on: date) -> Evidence:
    """What a pack asks of an engine's sheet on a day."""
    header = pack.header
    rules = {rule.id: rule for rule in pack.rules if rule.holds_on(on, sheet.rounds)}
    homes = {change.file: Path(change.header.baseline).stem for change in pack.changes}
    return Evidence(sheet, on, pack.stem, rules, pack.lists, header.gauges, header.rounding, header.ties, homes)


def find(rule: Rule, evidence: Evidence) -> Finding:
    """The finding of one clause; where parts take turns in a slot, with the one in that answers worst."""
    return worst(_find(rule, one) for one in (evidence, *_turns(rule, evidence)))


def _turns(rule: Rule, evidence: Evidence) -> Iterator[Evidence]:
    """The evidence with each part in that takes turns in a slot of which a clause or a condition speaks."""
    sheet, pattern = evidence.sheet, evidence.figures.build.pattern
    if not sheet.turns:
        return
    tests = [(rule.kind, rule.test), *((one.kind, one.test) for one in (*rule.when, *rule.unless))]
    named = [evidence.rules.get(test.rule) for _, test in tests if isinstance(test, Choice)]
    tests += [(one.kind, one.test) for one in named if one is not None]
    slots = {slot for kind, test in tests for slot in KINDS[kind].slots(test, pattern)}
    for slot, figures in sheet.turns:
        if slot in slots:
            yield replace(evidence, sheet=replace(sheet, figures=figures, turns=()))


def _find(rule: Rule, evidence: Evidence) -> Finding:
    """The finding of one clause with the parts that are in."""
    idle = _out_of_force(rule, evidence)
    if idle:
        return _finding(rule, Answer("not asked", why=(idle,)), "not asked", (), (), evidence)
    asked = _asked(rule, evidence)
    if asked.on_paper == "breaks":
        return _finding(rule, replace(asked, on_paper="not asked", at_fault=()), "not asked", (), (), evidence)
    seen = _still_good(rule, evidence)
    answer = _keep_older(rule, KINDS[rule.kind].answer(rule.test, evidence, seen), evidence)
    verdict, owed, shown = _proved(rule, answer, evidence, seen)
    judged = seen is not None and seen.found == "breaks"
    if asked.on_paper == "cannot be shown" and verdict not in ("meets", "not asked") and not judged:
        verdict, owed = "cannot be shown", (*asked.owed, *owed)
    return _finding(rule, answer, verdict, owed, shown, evidence)


def _finding(
    rule: Rule, answer: Answer, verdict: Verdict, owed: tuple[str, ...], shown: tuple[str, ...], evidence: Evidence
) -> Finding:
    heading = rule.heading
    return Finding(
        rule.id,
        rule.kind,
        heading.says,
        rule.clause,
        heading.severity,
        verdict,
        answer.on_paper,
        answer.at_fault,
        answer.value,
        answer.limit,
        answer.margin,
        answer.low,
        answer.high,
        answer.uncertainty,
        answer.close,
        answer.worst_breaks,
        tuple(dict.fromkeys(owed)) if verdict == "cannot be shown" else (),
        shown,
        heading.tool,
        heading.minutes,
        heading.pays,
        heading.penalty,
        KINDS[rule.kind].slots(rule.test, evidence.figures.build.pattern),
        answer.why,
        str(rule.place),
    )


def _out_of_force(rule: Rule, evidence: Evidence) -> str:
    """Why a clause is not in force on the day; '' if it is."""
    rounds = evidence.sheet.rounds
    if rule.holds_on(evidence.on, rounds):
        return ""
    since, until = rule.since(rounds), rule.last(rounds)
    if since is not None and evidence.on < since:
        return f"in force from {'a round that the calendar lacks' if since == date.max else since}"
    return f"in force until {until}"


def _still_good(rule: Rule, evidence: Evidence) -> Inspected | None:
    """The last result noted on a clause, unless a part that it speaks of went in later."""
    seen = evidence.seen(rule.id)
    if seen is None:
        return None
    pieces = (evidence.piece(slot) for slot in KINDS[rule.kind].slots(rule.test, evidence.figures.build.pattern))
    newer = any(piece is not None and piece.installed and piece.installed > seen.date for piece in pieces)
    return None if newer else seen


def is_asked(rule: Rule, evidence: Evidence) -> bool:
    """Whether the conditions of a clause hold, as far as is known."""
    return condition_of(rule, evidence) != "breaks"


def condition_of(rule: Rule, evidence: Evidence) -> Verdict:
    """How an engine answers the conditions of a clause: meets, breaks, or cannot be shown."""
    return _asked(rule, evidence).on_paper


def reads_of(rule: Rule, pack: Pack, pattern: Pattern) -> tuple[tuple[str, str], ...]:
    """The slots that a clause and its conditions rest on, each with the attribute of its part.

    '' stands for the part itself, or for its piece, as of all slots of a clause that lets older parts stay.
    """
    tests = [(rule.kind, rule.test), *((one.kind, one.test) for one in (*rule.when, *rule.unless))]
    named = {test.rule for _, test in tests if isinstance(test, Choice)}
    tests += [(one.kind, one.test) for one in pack.rules if one.id in named]
    found = dict.fromkeys(pair for kind, test in tests for pair in KINDS[kind].read(test, pattern))
    return tuple(dict.fromkeys((slot, "") for slot, _ in found)) if rule.heading.kept else tuple(found)


def _asked(rule: Rule, evidence: Evidence) -> Answer:
    """Whether the conditions of a clause hold: meets, breaks, or cannot be shown; `why` where they do not."""
    answers = [
        *(_held(one, evidence) for one in rule.when),
        *(_turned(_held(one, evidence)) for one in rule.unless),
    ]
    against = next((one for one in answers if one.on_paper == "breaks"), None)
    if against is not None:
        return against
    owed = tuple(word for one in answers for word in one.owed if one.on_paper == "cannot be shown")
    unknown = any(one.on_paper == "cannot be shown" for one in answers)
    return Answer("cannot be shown" if unknown else "meets", owed=owed)


def _held(condition: Condition, evidence: Evidence) -> Answer:
    """Whether a condition holds; of an empty slot nothing does, and what only a person sees is not known."""
    kind = KINDS[condition.kind]
    answer = kind.answer(condition.test, evidence, None)
    if answer.on_paper == "meets" and kind.owes:
        answer = replace(answer, on_paper="cannot be shown", owed=kind.owes)
    if answer.on_paper in ("breaks", "not asked"):
        found = f", which is {answer.value}" if answer.value else ""
        why = f"asked only where {kind.words(condition.test)}{found}"
        return replace(answer, on_paper="breaks", why=(why, *answer.why))
    return replace(answer, why=(f"asked unless {kind.words(condition.test)}", *answer.why))


def _turned(answer: Answer) -> Answer:
    """A condition under `unless`."""
    turned: dict[Verdict, Verdict] = {"meets": "breaks", "breaks": "meets"}
    return replace(answer, on_paper=turned.get(answer.on_paper, answer.on_paper))


def _keep_older(rule: Rule, answer: Answer, evidence: Evidence) -> Answer:
    """An answer that breaks, where all parts at fault may stay because they are older than the clause."""
    kept = rule.heading.kept
    if kept is None or answer.on_paper != "breaks" or not answer.faulty:
        return answer
    if kept.until is not None and evidence.on > kept.until:
        return replace(answer, why=(*answer.why, f"older parts stayed until {kept.until}"))
    owed: list[str] = []
    for slot, part in answer.faulty:
        against, lacking = _against_keeping(rule, slot, part, evidence)
        if against:
            return replace(answer, why=(*answer.why, f"{part or slot} may not stay: {against}"))
        owed += lacking
    why = f"{', '.join(part for _, part in answer.faulty)} may stay as older{_until(kept.until)}"
    return replace(answer, on_paper="meets", at_fault=(), owed=(*answer.owed, *owed), why=(*answer.why, why))


def _until(day: date | None) -> str:
    return f" until {day}" if day else ""


def _against_keeping(rule: Rule, slot: str, part: str, evidence: Evidence) -> tuple[str, tuple[str, ...]]:
    """What speaks against keeping an older part, and what must still be brought to show that it is older."""
    kept, piece = rule.heading.kept, evidence.sheet.piece(slot, part)
    if kept is None or (kept.parts and part not in kept.parts):
        return "it is not among the parts that stay", ()
    if kept.serials:
        if piece is None or not piece.serial:
            return "", (f"serial of the piece in {slot}",)
        if piece.serial not in kept.serials:
            return f"its serial {piece.serial} is not listed ({piece.place})", ()
    if kept.bought_before is None:
        return "", ()
    receipt = evidence.last_paper("receipt", slot)
    told = receipt.date if receipt is not None else None
    bought = told or (piece.bought if piece is not None else None)
    if bought is not None and bought >= kept.bought_before:
        return f"bought on {bought}, not before {kept.bought_before}", ()
    return "", () if told else (f"receipt of {slot} dated before {kept.bought_before}",)


def _proved(
    rule: Rule, answer: Answer, evidence: Evidence, seen: Inspected | None
) -> tuple[Verdict, tuple[str, ...], tuple[str, ...]]:
    """The verdict after what was brought, what is still owed, and what shows it."""
    if seen is not None and seen.found == "breaks":
        return "breaks", (), (str(seen),)
    if answer.on_paper in ("breaks", "not asked"):
        return answer.on_paper, (), ()
    official = seen is not None and evidence.counts(seen)
    if official and seen is not None and seen.found == "meets":
        return "meets", (), (str(seen),)
    read = official and "measurement" in answer.settled
    owed = [*answer.owed, *_owed(rule, answer, evidence, read=read)]
    shown = [str(seen)] if read else []
    if answer.unmeasured == () and "measurement" in rule.heading.proof and not shown:
        shown.append("measured on the bench")
    verdict: Verdict = "cannot be shown" if owed or answer.on_paper == "cannot be shown" else "meets"
    return verdict, tuple(owed), tuple(shown)


def _owed(rule: Rule, answer: Answer, evidence: Evidence, *, read: bool) -> Iterator[str]:
    """The proofs of a clause that nothing brings; `read`: an inspector noted a value, which the answer rests on."""
    by = f" by {' or '.join(evidence.gauges)}" if evidence.gauges else ""
    for proof in proofs_of(rule):
        if read and proof in ("measurement", "inspection"):
            continue
        if proof == "measurement":
            if answer.unmeasured is None:
                yield f"measurement{by}"
            elif answer.unmeasured:
                yield f"measurement{by} of {', '.join(answer.unmeasured)}"
        elif proof == "document" and "document" not in answer.settled:
            yield from _document_owed(rule, evidence)
        elif proof in ("inspection", "event log"):
            yield proof


def _document_owed(rule: Rule, evidence: Evidence) -> Iterator[str]:
    """The paper that a clause wants of each part, unless one is there that has not run out."""
    wanted, build = rule.heading.document, evidence.figures.build
    slots = [slot for slot in KINDS[rule.kind].slots(rule.test, build.pattern) if slot in build.fills]
    for slot in slots or ("",):
        papers = (*evidence.papers_of(wanted, slot), *evidence.papers_of(wanted)) if wanted else ()
        if not any(row.expires is None or row.expires >= evidence.on for row in papers):
            yield f"{wanted or 'document'}{f' of {slot}' if slot else ''}"


def _unwritten(pack: Pack, findings: Iterable[Finding], sheet: Sheet) -> tuple[str, ...]:
    """Filled slots that no clause in force speaks of; the mass or price of all parts speaks of none."""
    build = sheet.figures.build
    asked = (rule for rule, one in zip(pack.rules, findings, strict=True) if one.verdict != "not asked")
    written = {slot for rule in asked for slot in KINDS[rule.kind].written(rule.test, build.pattern)}
    return tuple(slot for slot in build.fills if slot not in written)


def ahead(pack: Pack, sheet: Sheet, on: date) -> tuple[Ahead, ...]:
    """The days after `on` on which a clause answers otherwise than before, in their order."""
    return tuple(sorted(_ahead(pack, sheet, on), key=lambda one: one.date))


def _ahead(pack: Pack, sheet: Sheet, on: date) -> Iterator[Ahead]:
    at = cache(lambda day: evidence_of(pack, sheet, day))
    for rule in pack.rules:
        days = sorted(day for day in _days_of(rule, pack, sheet) if day > on)
        verdicts = [find(rule, at(day)).verdict for day in (on, *days)] if days else []
        for day, (before, after) in zip(days, pairwise(verdicts), strict=True):
            if before != after:
                yield Ahead(day, rule.id, before, after)


def _days_of(rule: Rule, pack: Pack, sheet: Sheet) -> set[date]:
    """The days on which a clause may answer otherwise: its own, its lists', its papers', those of its prices."""
    heading, after = rule.heading, timedelta(days=1)
    tests = [rule.test, *(one.test for one in (*rule.when, *rule.unless))]
    chosen = {test.rule for test in tests if isinstance(test, Choice)}
    spans = [rule, *(one for one in pack.rules if one.id in chosen)]
    tests += [one.test for one in spans[1:]]
    days = [one.since(sheet.rounds) for one in spans]
    ends = [heading.kept.until if heading.kept else None, *(one.last(sheet.rounds) for one in spans)]
    lists = {test.list for test in tests if isinstance(test, Parts)}
    named = [row for row in pack.lists if row.list in lists]
    days += [row.since for row in named]
    days += [row.date for row in sheet.inspections if row.rule == rule.id]
    days += [row.date for test in tests if isinstance(test, Papers) for row in _papers_for(test, sheet)]
    beside = _papers_beside(heading, tests)
    days += [row.date for row in sheet.papers if any(row.is_a(kind) for kind in beside)]
    days += sheet.price_days if any(isinstance(test, Limit) and test.prices_float for test in tests) else ()
    ends += [row.until for row in named]
    ends += [row.expires for row in sheet.papers if heading.document and row.is_a(heading.document)]
    ends += [end for test in tests if isinstance(test, Papers) for end in _paper_ends(test, sheet)]
    found = {day for day in days if day is not None and day < date.max}
    return found | {day + after for day in ends if day is not None and day < date.max}


def _papers_beside(heading: Heading, tests: Iterable[Test]) -> set[str]:
    """The papers that a clause looks at beside those of kind paper: its proof, receipts, and what declares a choice."""
    receipt = "receipt" if heading.kept is not None and heading.kept.bought_before else ""
    declared = (test.declared for test in tests if isinstance(test, Option))
    return {heading.document, receipt, *declared} - {""}


def _papers_for(test: Papers, sheet: Sheet) -> list[Paper]:
    return [row for row in sheet.papers if row.is_a(test.paper) and row.slot == test.slot]


def _paper_ends(test: Papers, sheet: Sheet) -> Iterator[date | None]:
    """The last days of the papers that a test asks for, and of its part without one."""
    valid = timedelta(days=test.valid) if test.valid else None
    for row in _papers_for(test, sheet):
        yield row.expires or (row.date + valid if valid and row.date else None)
    for piece in sheet.pieces:
        if valid and piece.slot == test.slot and piece.installed is not None:
            yield piece.installed + valid


def _stands_for(pack: Pack, other: Pack, findings: Iterable[Finding], sheet: Sheet, on: date) -> Verdict:
    """How an engine stands to a pack that is recognised in place of another: to its clauses, and to those that stay."""
    asked = pack.still_asked(other)
    still = [one.verdict for one in findings if one.rule in asked and one.severity == "must"]
    verdicts = (check(replace(other, recognised=()), sheet, on).stands, *still)
    order: tuple[Verdict, ...] = ("breaks", "cannot be shown")
    return next((verdict for verdict in order if verdict in verdicts), "meets")
