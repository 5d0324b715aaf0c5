"""The forms of clauses as pages and as data."""

from __future__ import annotations

from collections.abc import Iterable

from costplan.report.data import to_csv
from costplan.report.tables import Page, Table, listed
from costplan.rules.forms import LETTERS, Form

#: The columns of the table as CSV; the example itself is for the page of one form and for JSON.
FIELDS = ("number", "name", "proof", "kinds", "says", "note")


def forms_page(forms: Iterable[Form]) -> Page:
    """All forms, each with the kinds that state it and what proves it."""
    rows = tuple((str(form.number), form.name, _kinds(form), " ".join(form.proof)) for form in forms)
    letters = listed(f"{letter} {meaning}" for letter, meaning in LETTERS.items())
    lines = (
        "What class rule books ask, and the kinds of clause that state it.",
        f"Proof by: {letters}.",
        "costplan rules forms NUMBER shows one with an example to copy.",
    )
    return Page("Forms of clauses", lines, (Table("", ("No.", "Form", "Kinds", "Proof"), rows, right=(0,)),))


def form_page(form: Form) -> Page:
    """One form, with its example as it stands in a rule pack."""
    proof = listed(LETTERS[letter] for letter in form.proof)
    lines = (
        f"Example, invented: {form.says}",
        f"Kinds: {_kinds(form)}",
        f"Proof: {proof or 'none'}",
        *((form.note,) if form.note else ()),
        "",
        *form.toml.splitlines(),
    )
    return Page(f"Form {form.number}: {form.name}", lines, ())


def forms_csv(forms: Iterable[Form]) -> str:
    """All forms as CSV, kinds with blanks between."""
    return to_csv(
        FIELDS, ((form.number, form.name, form.proof, " ".join(form.kinds), form.says, form.note) for form in forms)
    )


def _kinds(form: Form) -> str:
    return listed(form.kinds) or "a key of the book"
