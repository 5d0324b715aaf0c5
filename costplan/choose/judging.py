"""Asks fits and clauses of candidates: with them alone in the engine, so that thousands can be tried.

What decides is `check_fits` and `check` themselves, so that a choice keeps to what `costplan check` will say of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Literal

from costplan.build import Bill, Build, Figures, Fit, find_fit, is_asked, reads_of
from costplan.choose.candidates import Candidate
from costplan.choose.puzzle import Ground
from costplan.choose.wishes import Wishes
from costplan.garage import Piece
from costplan.quantity import Quantity
from costplan.rules import KINDS, Evidence, Pack, Rule, Sheet, condition_of, evidence_of, find
from costplan.rules import reads_of as reads_of_rule
from costplan.rules.kinds import Limit
from costplan.scenario import Scenario

#: What paper says of candidates before a fit or a clause.
Judgement = Literal["may", "may not", "not known"]
Chosen = Mapping[str, Candidate]


@dataclass(frozen=True, slots=True)
class FitQuestion:
    """A fit of the pattern."""

    fit: Fit
    reads: tuple[tuple[str, str], ...]

    @property
    def ground(self) -> Ground:
        fit = self.fit
        bound = f"{fit.this} must be {'equal to' if fit.must == 'equal' else fit.must} {fit.that}"
        return Ground("fit", fit.fit, fit.why or bound, str(fit.place))


@dataclass(frozen=True, slots=True)
class ClauseQuestion:
    """A clause of a pack, and what is asked of an engine by that pack.

    `reads` is what it and its conditions rest on, `own_reads` what it does without them.
    """

    pack: Pack
    rule: Rule
    reads: tuple[tuple[str, str], ...]
    evidence: Evidence = field(repr=False)
    several: bool = False
    own_reads: tuple[tuple[str, str], ...] = ()
    condition_slots: frozenset[str] = frozenset()

    @property
    def ground(self) -> Ground:
        name = f"{self.pack.header.name}: {self.rule.id}" if self.several else self.rule.id
        says = self.rule.heading.says or KINDS[self.rule.kind].words(self.rule.test)
        return Ground("clause", name, says, str(self.rule.place), self.rule.clause)

    @property
    def is_conditional(self) -> bool:
        """Whether it is asked only under conditions, which need not speak of any slot."""
        return bool(self.rule.when or self.rule.unless)

    @property
    def limit(self) -> Limit | None:
        return self.rule.test if isinstance(self.rule.test, Limit) else None


Question = FitQuestion | ClauseQuestion


def questions_of(scenario: Scenario, wishes: Wishes, packs: Iterable[Pack]) -> tuple[Question, ...]:
    """The fits, and the clauses in force on the day that must be kept and that the choice of parts can decide."""
    pattern = scenario.built().pattern
    sheet = scenario.sheet(on=wishes.on)
    books = tuple(packs)
    found: list[Question] = [FitQuestion(fit, reads_of(fit, pattern)) for fit in pattern.fits]
    for pack in books:
        evidence = replace(evidence_of(pack, sheet, wishes.on), brief=True)
        asked = (rule for rule in evidence.rules.values() if _is_asked_of_parts(rule))
        found += [_clause(pack, one, evidence, len(books) > 1) for rule in asked for one in _apart(rule)]
    return tuple(found)


def _clause(pack: Pack, rule: Rule, evidence: Evidence, several: bool) -> ClauseQuestion:
    pattern = evidence.figures.build.pattern
    own = reads_of_rule(replace(rule, when=(), unless=()), pack, pattern)
    whole = reads_of_rule(rule, pack, pattern)
    asked = {pair for one in (*rule.when, *rule.unless) for pair in KINDS[one.kind].read(one.test, pattern)}
    conditions = frozenset(slot for slot, _ in (*asked, *(pair for pair in whole if pair not in own)))
    return ClauseQuestion(pack, rule, whole, evidence, several, own, conditions)


def _apart(rule: Rule) -> Iterator[Rule]:
    """A clause for each of its slots, where each answers for itself."""
    apart = KINDS[rule.kind].apart
    yield from (replace(rule, test=test) for test in apart(rule.test)) if apart else (rule,)


def _is_asked_of_parts(rule: Rule) -> bool:
    """Whether a clause counts and parts can answer it."""
    return rule.heading.severity == "must" and KINDS[rule.kind].by_parts(rule.test)


_JUDGED: Mapping[str, Judgement] = {"meets": "may", "breaks": "may not", "cannot be shown": "not known"}


@dataclass(slots=True)
class Judge:
    """Answers questions for candidates; `asked` counts how often."""

    scenario: Scenario
    wishes: Wishes
    asked: int = 0
    _bill: Bill | None = None
    _bought: dict[tuple[str, str], Piece] = field(default_factory=dict)

    def judge(self, question: Question, chosen: Chosen) -> Judgement:
        """What paper says of candidates, the slots that are not among them being empty."""
        self.asked += 1
        build = self.build_of(chosen)
        if isinstance(question, FitQuestion):
            return self._fit(question.fit, self.figures_of(build))
        sheet = self.sheet_of(question.evidence.sheet, build, chosen)
        finding = find(question.rule, replace(question.evidence, sheet=sheet))
        if finding.verdict == "breaks":
            return "may not"
        return "not known" if finding.on_paper in ("breaks", "cannot be shown") else "may"

    def _fit(self, fit: Fit, figures: Figures) -> Judgement:
        if not is_asked(fit, figures):
            return "may"
        return _JUDGED[find_fit(fit, figures).verdict]

    def asks(self, question: ClauseQuestion, chosen: Chosen) -> bool:
        """Whether the conditions of a clause are shown to hold for candidates."""
        build = self.build_of(chosen)
        sheet = self.sheet_of(question.evidence.sheet, build, chosen)
        return condition_of(question.rule, replace(question.evidence, sheet=sheet)) == "meets"

    def build_of(self, chosen: Chosen) -> Build:
        """The build with candidates in their slots and nothing elsewhere; parts that take turns stay as planned."""
        planned = self.scenario.built()
        fills = {slot: one.fill for slot, one in chosen.items() if one.fill is not None}
        turns = {
            slot: tuple(replace(one, fill=fills[slot]) if not one.serves else one for one in others)
            for slot, others in planned.alternates.items()
            if slot in fills
        }
        return replace(planned, fills=fills, alternates=turns, bench=(), outdated=())

    def figures_of(self, build: Build) -> Figures:
        """The measures of a build, all but its price."""
        return Figures(build, self._no_bill)

    @property
    def _no_bill(self) -> Bill:
        if self._bill is None:
            currency, nothing = self.scenario.header.currency, Decimal(0)
            self._bill = Bill((), currency, self.wishes.on, None, nothing, nothing, 0, None)
        return self._bill

    def sheet_of(self, sheet: Sheet, build: Build, chosen: Chosen) -> Sheet:
        """What is known of an engine of candidates: the build's papers, and those of pieces that are on hand."""
        pieces = {slot: self._piece(slot, one) for slot, one in chosen.items() if one.fill is not None}
        whose = {(one.piece.engine, slot) for slot, one in chosen.items() if one.piece is not None}
        papers = sheet.papers
        if whose:
            papers = (*papers, *(row for row in self.scenario.papers if (row.engine, row.slot) in whose))
        turns = tuple(
            (slot, self.figures_of(replace(build, fills={**build.fills, slot: one.fill})))
            for slot, others in build.alternates.items()
            for one in others
            if one.serves
        )
        return replace(
            sheet,
            figures=self.figures_of(build),
            papers=papers,
            inspections=(),
            pieces=tuple(pieces.values()),
            turns=turns,
        )

    def _piece(self, slot: str, one: Candidate) -> Piece:
        """The piece in a slot: the one on hand, else one that is bought on the day, which is no older part."""
        if one.piece is not None:
            return one.piece.model_copy(update={"slot": slot})
        if (slot, one.part) not in self._bought:
            piece = Piece.model_construct(piece=one.part, part=one.part, slot=slot, bought=self.wishes.on)
            self._bought[slot, one.part] = piece
        return self._bought[slot, one.part]

    def told(self, one: Candidate, names: Sequence[str]) -> object:
        """All that a question reads of a candidate: attributes, or ('') the part with where it comes from."""
        if one.fill is None:
            return None
        if "" in names:
            return one.part, one.kit, one.piece.piece if one.piece else None
        made = [one.fill.part.attributes.get(each) for each in names]
        return (*self._values(one, names), *made)

    def knows(self, one: Candidate, names: Sequence[str]) -> bool:
        """Whether all of some attributes of a candidate are known; of an empty slot nothing is wanted."""
        return one.fill is None or all(value is not None for value in self._values(one, names))

    def _values(self, one: Candidate, names: Sequence[str]) -> list[Quantity | str | None]:
        figures, words = self.figures_of(self.build_of({one.slot: one})), self.scenario.built().pattern.words
        return [
            figures.word(one.slot, each).value if each in words else figures.attribute(one.slot, each).value
            for each in names
        ]
