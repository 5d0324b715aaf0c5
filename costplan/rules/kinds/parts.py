"""Kinds that speak of parts by name or word: which part, which word, which set, which choice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from pydantic import Field, field_validator

from costplan.build import Fill, attributes_behind, slots_behind, what_is_wrong, what_of
from costplan.build.names import split_name
from costplan.garage import Inspected
from costplan.problems import Problem, nearest
from costplan.reading.fields import Name, Text, Words, to_words
from costplan.rules.answers import Answer
from costplan.rules.clause import Test
from costplan.rules.evidence import Evidence
from costplan.rules.kinds.common import (
    Kind,
    Known,
    Where,
    decided,
    either,
    empty_fault,
    list_faults,
    named_slots,
    no_part,
    no_slots,
    slot_by_slot,
    slot_faults,
)


class Parts(Test):
    """kind = "parts": which parts may be in a slot, by name, list or supplier"""

    slot: Words = Field(description="slot it speaks of, or several")
    allowed: Words = Field(default=(), description="the parts allowed")
    list: Text = Field(default="", description="the [[list]] whose edition in force names the parts allowed")
    suppliers: Words = Field(default=(), description="whose parts are allowed; names with blanks as a list")
    banned: Words = Field(default=(), description="parts that are not allowed")
    mark: Text = Field(default="", description="mark that an inspector must be able to read on it")


def _parts_faults(test: Parts, known: Known, where: Where) -> Iterator[Problem]:
    yield from slot_faults(test.slot, known, where)
    yield from list_faults([test.list] if test.list else [], known, where)
    if not (test.slot and (test.allowed or test.list or test.suppliers or test.banned)):
        yield empty_fault(where, "allowed", "give a slot, and allowed, list, suppliers or banned")


def _check_parts(test: Parts, evidence: Evidence, seen: Inspected | None) -> Answer:
    """Whether the parts in the slots are among those allowed."""
    del seen
    fills = [evidence.figures.build.fills[slot] for slot in test.slot if slot in evidence.figures.build.fills]
    limit, allowed = _parts_limit(test, evidence), _allowed(test, evidence)
    empty = no_part(test.slot, evidence)
    if empty is not None and not fills:
        return Answer(empty.on_paper, limit=limit, owed=empty.owed, why=empty.why)
    why = tuple(f"{fill.part.part} in {fill.slot.slot} ({fill.place})" for fill in fills)
    faulty = tuple((fill.slot.slot, fill.part.part) for fill in fills if not _is_allowed(fill, test, allowed))
    found = ", ".join(dict.fromkeys(fill.part.part for fill in fills))
    if faulty:
        return Answer("breaks", faulty, _named(faulty), found, limit, why=why)
    if allowed is None:
        edition = f"an edition of the list {test.list} that is in force on {evidence.on}"
        return Answer("cannot be shown", limit=limit, owed=(edition,), why=why)
    owed = (f"inspection of the mark {test.mark}",) if test.mark else ()
    if empty is not None and empty.owed:
        return Answer("cannot be shown", limit=limit, owed=(*empty.owed, *owed), why=why)
    return Answer("meets", value=found, limit=limit, owed=owed, why=why)


def _allowed(test: Parts, evidence: Evidence) -> frozenset[str] | None:
    """The parts allowed by name, or by the edition in force; None where no edition is."""
    if not test.list:
        return frozenset(test.allowed)
    edition = evidence.edition(test.list)
    return None if edition is None else frozenset((*test.allowed, *edition.parts))


def _is_allowed(fill: Fill, test: Parts, allowed: frozenset[str] | None) -> bool:
    """Whether a part may be in, as far as is known: a list without an edition in force says nothing of it."""
    part = fill.part
    if part.part in test.banned or allowed is None:
        return part.part not in test.banned
    named = test.allowed or test.list
    return not (named or test.suppliers) or part.part in allowed or part.supplier in test.suppliers


def _parts_limit(test: Parts, evidence: Evidence) -> str:
    edition = evidence.edition(test.list) if test.list else None
    listed = (*test.allowed, *(edition.parts if edition else ()))
    return _in_words(test, listed)


def _in_words(test: Parts, listed: tuple[str, ...]) -> str:
    words = [either(listed)] if listed else [f"a part of the list {test.list}"] if test.list else []
    words += [f"of {either(test.suppliers)}"] if test.suppliers else []
    words += [f"not {either(test.banned)}"] if test.banned else []
    return ", ".join(words)


def _named(faulty: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    return tuple(f"{slot}: {part}" for slot, part in faulty)


def _parts_words(test: Parts) -> str:
    mark = f", marked {test.mark}" if test.mark else ""
    listed = f"list {test.list}" if test.list else ""
    allowed = ", ".join(word for word in (either(test.allowed) if test.allowed else "", listed) if word)
    return f"{either(test.slot)}: {_in_words(test, (allowed,) if allowed else ())}{mark}"


class Word(Test):
    """kind = "word": an attribute that is a word, such as a material or a type of follower"""

    of: Name = Field(description="slot.attribute: rods.material")
    one_of: Words = Field(default=(), description="the words allowed; words with blanks as a list")
    none_of: Words = Field(default=(), description="the words not allowed")


def _word_faults(test: Word, known: Known, where: Where) -> Iterator[Problem]:
    if not (test.one_of or test.none_of):
        yield empty_fault(where, "one_of", "give one_of or none_of")
    if known.pattern is None or what_of(test.of, known.pattern) == "text":
        return
    slot = test.of.removeprefix("made.").partition(".")[0]
    code = "RUL002" if "." in test.of and slot not in known.pattern.slots else "RUL003"
    if what_of(test.of, known.pattern):
        yield where.problem(code, "of", test.of, "not a word but a number:", "give a limit on it")
    else:
        yield where.problem(code, "of", test.of, *what_is_wrong(test.of, known.pattern))


def _check_word(test: Word, evidence: Evidence, seen: Inspected | None) -> Answer:
    """Whether the word is among those allowed and not among those banned; one that an inspector noted goes first."""
    limit, (slot,) = _word_limit(test), slots_behind(test.of, evidence.figures.build.pattern)
    empty = no_part((slot,), evidence)
    if empty is not None:
        return Answer(empty.on_paper, limit=limit, owed=empty.owed, why=empty.why)
    word, settled = evidence.figures.word(*split_name(test.of)), tuple[str, ...]()
    value, why = word.value, word.why
    if seen is not None and seen.value is not None:
        value, why, settled = str(seen.value), (*why, str(seen)), ("measurement", "inspection")
    if value is None:
        return Answer("cannot be shown", limit=limit, owed=word.missing, why=why)
    part = evidence.figures.build.fills[slot].part.part
    if value in test.none_of or (test.one_of and value not in test.one_of):
        return Answer("breaks", ((slot, part),), (f"{slot}: {part}",), value, limit, why=why)
    return Answer("meets", value=value, limit=limit, settled=settled, why=why)


def _word_limit(test: Word) -> str:
    words = [either(test.one_of)] if test.one_of else []
    words += [f"not {either(test.none_of)}"] if test.none_of else []
    return ", ".join(words)


class Option(Test):
    """kind = "option": the parts of several slots all belong to one of several sets"""

    slot: Words = Field(description="slots whose parts must belong together")
    choices: dict[str, Words] = Field(
        description="each choice with the parts that belong to it: {A = [...], B = [...]}"
    )
    declared: Text = Field(default="", description="paper by which the entrant declares the choice; none where empty")

    @field_validator("choices", mode="before")
    @classmethod
    def _words_each(cls, value: object) -> object:
        return {name: to_words(parts) for name, parts in value.items()} if isinstance(value, Mapping) else value


def _option_faults(test: Option, known: Known, where: Where) -> Iterator[Problem]:
    yield from slot_faults(test.slot, known, where)
    if not test.slot or not test.choices:
        yield empty_fault(where, "choices", "give slots, and the parts of each choice")


def _check_option(test: Option, evidence: Evidence, seen: Inspected | None) -> Answer:
    """Whether all parts belong to one choice, and to the one that was declared."""
    del seen
    fills = [evidence.figures.build.fills[slot] for slot in test.slot if slot in evidence.figures.build.fills]
    if not fills:
        return no_part(test.slot, evidence) or Answer("cannot be shown")
    fitting, declared = choices_of(test, evidence), _declared(test, evidence)
    limit = f"all of {either(test.choices)}"
    why = tuple(f"{fill.part.part} in {fill.slot.slot} ({fill.place})" for fill in fills)
    if not fitting or (declared and declared not in fitting):
        choice = declared if declared in test.choices else _nearest_choice(test, fills)
        faulty = tuple((one.slot.slot, one.part.part) for one in fills if one.part.part not in test.choices[choice])
        fault = f"not of {choice}" if declared in ("", choice) else f"declared {declared}, which is no choice"
        return Answer("breaks", faulty, (*_named(faulty), fault), "", limit, why=why)
    owed = (f"{test.declared} of the choice",) if test.declared and not declared else ()
    return Answer("meets", value=declared or either(fitting), limit=limit, owed=owed, why=why)


def choices_of(test: Option, evidence: Evidence) -> tuple[str, ...]:
    """The choices that all parts in the slots belong to; the declared one alone where it is one of them."""
    fills = evidence.figures.build.fills
    parts = [fills[slot].part.part for slot in test.slot if slot in fills]
    fitting = tuple(name for name, listed in test.choices.items() if all(part in listed for part in parts))
    declared = _declared(test, evidence)
    return (declared,) if declared in fitting else fitting


def _declared(test: Option, evidence: Evidence) -> str:
    paper = evidence.last_paper(test.declared) if test.declared else None
    return paper.says if paper is not None else ""


def _nearest_choice(test: Option, fills: Iterable[Fill]) -> str:
    """The choice that most of the parts belong to."""
    parts = [fill.part.part for fill in fills]
    return max(test.choices, key=lambda name: sum(part in test.choices[name] for part in parts))


class Choice(Test):
    """kind = "choice": which choice of a clause of kind option the engine is built to"""

    rule: Name = Field(description="the clause of kind option")
    one_of: Words = Field(description="the choices meant; names with blanks as a list")


def _choice_faults(test: Choice, known: Known, where: Where) -> Iterator[Problem]:
    if not test.one_of:
        yield empty_fault(where, "one_of", "give the choices meant")
    rule = known.rules.get(test.rule)
    if rule is None or not isinstance(rule.test, Option):
        options = [one.id for one in known.rules.values() if isinstance(one.test, Option)]
        yield where.problem("RUL007", "rule", test.rule, "no clause of kind option:", nearest(test.rule, options))
        return
    for choice in test.one_of:
        if choice not in rule.test.choices:
            what, advice = f"no choice of {test.rule}:", nearest(choice, rule.test.choices)
            yield where.problem("RUL007", "one_of", choice, what, advice)


def _check_choice(test: Choice, evidence: Evidence, seen: Inspected | None) -> Answer:
    """Whether the engine is of one of the choices; several that it could be of are not told apart."""
    del seen
    rule, limit = evidence.rules.get(test.rule), f"{test.rule}: {either(test.one_of)}"
    option = rule.test if rule is not None else None
    if not isinstance(option, Option):
        return Answer("not asked", limit=limit, why=(f"{test.rule} offers no choice on {evidence.on}",))
    fitting = choices_of(option, evidence)
    value = either(fitting) if fitting else "none"
    why = (f"by its parts the engine is of {value} under {test.rule}",)
    if fitting and all(choice in test.one_of for choice in fitting):
        return Answer("meets", value=value, limit=limit, why=why)
    if any(choice in test.one_of for choice in fitting):
        owed = f"{option.declared or 'declaration'} of the choice under {test.rule}"
        return Answer("cannot be shown", value=value, limit=limit, owed=(owed,), why=why)
    return Answer("breaks", value=value, limit=limit, at_fault=(f"of {value} under {test.rule}",), why=why)


PARTS = Kind(
    "parts", Parts, _parts_faults, _check_parts, named_slots, _parts_words, by_parts=decided, apart=slot_by_slot
)
WORD = Kind(
    "word",
    Word,
    _word_faults,
    _check_word,
    lambda test, pattern: slots_behind(test.of, pattern),
    lambda test: f"{test.of}: {_word_limit(test)}",
    by_parts=decided,
    reads=lambda test, pattern: attributes_behind(test.of, pattern),
)
OPTION = Kind(
    "option",
    Option,
    _option_faults,
    _check_option,
    named_slots,
    lambda test: f"{', '.join(test.slot)}: all of one choice, {either(test.choices)}",
    by_parts=decided,
)
CHOICE = Kind(
    "choice",
    Choice,
    _choice_faults,
    _check_choice,
    no_slots,
    lambda test: f"{test.rule} is {either(test.one_of)}",
    by_parts=decided,
)
