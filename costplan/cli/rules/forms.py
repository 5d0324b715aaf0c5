"""`costplan rules forms`"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import Csv, Json, answer, stop

if TYPE_CHECKING:
    from costplan.rules.forms import Form


def forms(
    number: Annotated[
        str, typer.Argument(metavar="NUMBER", help="One form only, with its example.", show_default=False)
    ] = "",
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """What class rule books ask, in 58 forms: the kinds of clause that state each, what proves it, and an example to
    copy into a rule pack. Needs no scenario."""
    from costplan.report.forms import form_page, forms_csv, forms_page
    from costplan.rules.forms import FORMS, LETTERS

    found = (_form(number, as_json=as_json),) if number else tuple(FORMS.values())
    answer(
        "rules forms",
        {"letters": LETTERS, "forms": found},
        lambda: forms_csv(found),
        lambda: form_page(found[0]) if number else forms_page(found),
        as_json=as_json,
        as_csv=as_csv,
    )


def _form(number: str, *, as_json: bool) -> Form:
    """The form of a number, or the end of the command with a problem."""
    from costplan.rules.forms import FORMS

    form = FORMS.get(int(number)) if number.isascii() and number.isdigit() else None
    if form is None:
        from costplan.problems import Place, Problem

        advice = f"give one of 1 to {max(FORMS)}"
        stop([Problem("REA020", Place("NUMBER"), "", number, "no such form:", advice)], as_json=as_json)
    return form
