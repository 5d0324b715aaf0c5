"""rules.md: the kinds of clause, the keys that all have, the forms of rule books, and the doubts of lint."""

from __future__ import annotations

from costplan.reading import Record, columns
from costplan.rules import KINDS, Heading, Kept, PackHeader, PartList, Recognition
from costplan.rules.change import Addition, ChangeHeader
from costplan.rules.clause import PROOFS, STAGES
from costplan.rules.evidence import VERDICTS
from costplan.rules.forms import FORMS, LETTERS, Form
from costplan.rules.kinds.common import no_bonds
from costplan.rules.lint import CHECKS
from costplan.writing.markdown import code, fenced, page, section, sentence, table

#: The example that is shown whole; the others are a command away.
SHOWN = 2


def rules_text() -> str:
    """How a book is written down as a rule pack."""
    return page(
        "Rule packs",
        "How the clauses of a class rule book are written down: what every clause has, the kinds of clause with their "
        "keys, how the forms of real books are stated, and what `costplan rules check` doubts.",
        "A pack is a TOML file, `rules-*.toml`: a header, then clauses, each a table `[[rule]]`. A clause is a heading "
        "and a test: the heading is the same for all, the test is its kind's. Conditions (`when`, `unless`) are tests "
        "too. `costplan check` answers each clause with one of the verdicts below; meeting a list is not passing "
        "inspection, and officials decide.",
        section("The header", _keys(PackHeader)),
        section(
            "Heading of a clause",
            _keys(Heading),
            f"Proofs: {', '.join(map(code, PROOFS))}. Stages: {', '.join(map(code, STAGES))}.",
            "`kept` lets older parts stay:",
            _keys(Kept),
        ),
        section(
            "Kinds of clause",
            "What parts and measures cannot show is shown by the proofs that a clause names, or by its kind's own. A "
            "kind that *binds the season* is more than a check: the plan keeps to it (`costplan rules costs` says at "
            "what cost).",
            table(("Kind", "What it asks", "Proof of its own", "Binds the season"), map(_kind, KINDS)),
            *(section(code(name), *_of_kind(name), level=3) for name in KINDS),
        ),
        section("Lists", f"{_meaning(PartList)} Several tables of one name are its editions.", _keys(PartList)),
        section("Recognising another pack", _keys(Recognition)),
        section(
            "Changes",
            "A proposed change is a file `change-*.toml` of its own: a header, then `[[add]]` tables with the keys "
            "of a clause.",
            _keys(ChangeHeader),
            "`[[add]]` has beside the keys of a `[[rule]]`:",
            _keys(Addition),
        ),
        section("Verdicts", table(("Verdict", "Meaning"), ((f"*{name}*", what) for name, what in VERDICTS.items()))),
        section(
            f"The {len(FORMS)} forms",
            "What class rule books ask, and the kinds of clause that state it. `costplan rules forms NUMBER` shows one "
            f"with an example to copy. Proof by: {', '.join(f'{letter} {what}' for letter, what in LETTERS.items())}.",
            table(("No.", "Form", "Kinds", "Proof", "An example says", "Note"), map(_form, FORMS.values())),
            f"Form {SHOWN} as it is written:",
            fenced(FORMS[SHOWN].toml, "toml"),
        ),
        section(
            "Doubts",
            "`costplan rules check SCENARIO` reads a pack for what it cannot mean. *Wrong*: a clause cannot do what it "
            "says (status 1). *Hint*: its author may have meant something else.",
            table(
                ("Doubt", "Counts as", "What it finds"),
                ((code(c.code), c.severity, c.meaning) for c in CHECKS.values()),
            ),
        ),
    )


def _keys(record: type[Record]) -> str:
    return table(
        ("Key", "What may stand there", "Needed", "Default", "Meaning"),
        ((code(c.name), c.kind, "yes" if c.required else "", code(c.default), c.meaning) for c in columns(record)),
    )


def _meaning(record: type[Record]) -> str:
    """What a record's docstring says behind the name of its table."""
    return sentence((record.__doc__ or "").partition(": ")[2])


def _kind(name: str) -> tuple[str, ...]:
    kind = KINDS[name]
    binds = "" if kind.bonds is no_bonds else "yes"
    return code(name), _meaning(kind.record), ", ".join(kind.owes), binds


def _of_kind(name: str) -> tuple[str, str]:
    return _meaning(KINDS[name].record), _keys(KINDS[name].record)


def _form(form: Form) -> tuple[str, ...]:
    kinds = ", ".join(map(code, form.kinds)) or "a key of the book"
    return str(form.number), form.name, kinds, " ".join(form.proof), form.says, form.note
