"""How two clauses are compared key by key: a line for each kind, and tables of the keys that all clauses have."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from costplan.rules.differences.compare import Compare, asks, bars, least, most, opens, other, set_shifts
from costplan.rules.differences.difference import Shift, Way
from costplan.rules.differences.limits import bounds, measured, rounding, tolerance
from costplan.rules.kinds import Option, Parts
from costplan.rules.kinds.counted import ChargeTest


def _allowed(old: Parts, new: Parts) -> Iterator[Shift]:
    """The parts allowed by name, list or supplier; any where none of the three is given."""
    before, after = _fence(old), _fence(new)
    if before and after:
        yield from set_shifts(old.allowed, new.allowed, "now allowed:", "no longer allowed:", more="loosened")
        came, went = "parts now allowed of", "parts no longer allowed of"
        yield from set_shifts(old.suppliers, new.suppliers, came, went, more="loosened")
        yield from other("list", "list of parts allowed")(old, new)
    elif after:
        yield Shift("tightened", f"now allowed: only {', '.join(after)}; before, any part")
    elif before:
        yield Shift("loosened", f"now allowed: any part; before, only {', '.join(before)}")


def _fence(test: Parts) -> tuple[str, ...]:
    """Which parts a clause lets in, in words."""
    listed = (f"the list {test.list}",) if test.list else ()
    return (*test.allowed, *listed, *(f"parts of {supplier}" for supplier in test.suppliers))


def _choices(old: Option, new: Option) -> Iterator[Shift]:
    """The choices of an option, and the parts of each: the more there are, the more can be built."""
    yield from set_shifts(old.choices, new.choices, "new choice", "choice that falls away:", more="loosened")
    for name, parts in old.choices.items():
        if name in new.choices:
            came, went = f"choice {name}: now with", f"choice {name}: no longer with"
            yield from set_shifts(parts, new.choices[name], came, went, more="loosened")


def _dearer(old: ChargeTest, new: ChargeTest) -> Iterator[Shift]:
    step = new.amount - old.amount
    if step:
        way: Way = "tightened" if step > 0 else "loosened"
        what = "dearer" if step > 0 else "cheaper"
        by = f"{abs(step):f} {new.currency}".rstrip()
        yield Shift(way, f"{old.amount:f} -> {new.amount:f} {new.currency}".rstrip() + f": {what} by {by}")


@dataclass(frozen=True, slots=True)
class Comparison:
    """How two clauses of one kind are compared: the keys that must be the same for it, and how the others are."""

    same: tuple[str, ...]
    keys: tuple[Compare, ...]


_SLOTS = bars("slot", "now asked also of", "no longer asked of")

#: How two clauses are compared, by kind.
COMPARISONS: Mapping[str, Comparison] = MappingProxyType(
    {
        "parts": Comparison(
            (),
            (
                _SLOTS,
                _allowed,
                bars("banned", "now barred:", "no longer barred:"),
                asks("mark", "must be marked", "need not be marked"),
            ),
        ),
        "word": Comparison(
            ("of",),
            (
                opens("one_of", "now allowed:", "no longer allowed:", "any word"),
                bars("none_of", "now barred:", "no longer barred:"),
            ),
        ),
        "limit": Comparison(
            ("of", "reads", "less"),
            (
                bounds,
                tolerance,
                rounding,
                measured,
                other("method", "measured"),
                other("prices_on", "prices of"),
                other("without", "without the price of"),
            ),
        ),
        "option": Comparison(
            (), (_SLOTS, _choices, asks("declared", "must be declared by", "need not be declared by"))
        ),
        "choice": Comparison(("rule",), (opens("one_of", "now meant too:", "no longer meant:", "any choice"),)),
        "work": Comparison(
            (),
            (
                _SLOTS,
                bars("must", "must now be done:", "need no longer be done:"),
                opens("may", "may now be done:", "may no longer be done:", "all that is not forbidden"),
                bars("must_not", "may no longer be done:", "no longer forbidden:"),
                bars("keeps", "may no longer be changed:", "may now be changed:"),
            ),
        ),
        "paper": Comparison(
            ("paper", "slot"),
            (
                least("at_least", "how many"),
                opens("by", "may now be by", "may no longer be by", "anybody"),
                opens("numbers", "numbers now accepted:", "numbers no longer accepted:", "any"),
                opens("declares", "may now say", "may no longer say", "anything"),
                least("dated_from", "dated from"),
                most("dated_to", "dated up to"),
                most("valid", "holds for", " d"),
                asks("serial", "must have the serial of the piece", "need not have the serial of the piece"),
                asks("level", "now needed after each", "no longer needed after each"),
            ),
        ),
        "inspection": Comparison((), (_SLOTS,)),
        "quota": Comparison(
            ("of", "per", "level"),
            (
                most("most", "most"),
                bars("slot", "now counted too:", "no longer counted:"),
                asks("together", "all engines of an entrant count as one", "each engine counts by itself"),
            ),
        ),
        "charge": Comparison(("per", "level", "currency"), (_dearer,)),
        "conduct": Comparison((), (_SLOTS,)),
    }
)
#: Which older parts stay, and how long.
KEPT: tuple[Compare, ...] = (
    opens("parts", "older parts that may now stay:", "older parts that may no longer stay:", "all"),
    opens("serials", "serials that may now stay:", "serials that may no longer stay:", "all"),
    most("bought_before", "stay if bought before"),
    most("until", "stay until"),
)
#: From when clauses hold; of a phased clause that is told elsewhere.
BEGINNINGS: tuple[Compare, ...] = (
    other("effective", "first day", "when"),
    other("from_round", "first round", "when"),
)
#: All dates of clauses, their beginnings first.
DATES: tuple[Compare, ...] = (
    *BEGINNINGS,
    other("sunset", "last day", "when"),
    other("frozen_until", "frozen until", "when"),
)
#: What no engine is held to.
WORDS: tuple[Compare, ...] = (
    other("penalty", "penalty", "words"),
    other("minutes", "minutes to inspect", "words"),
    other("tool", "tool", "words"),
    other("stage", "looked at", "words"),
    other("pays", "who pays", "words"),
    other("risk", "stated risk", "words"),
    other("book", "chapter", "words"),
    other("page", "page", "words"),
)
