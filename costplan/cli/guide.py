"""`costplan guide`"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from costplan.cli.common import Csv, Json, answer, stop

if TYPE_CHECKING:
    from costplan.guide import GuidePage


def guide(
    page: Annotated[
        str,
        typer.Argument(
            metavar="[PAGE]", help="One page, such as tutorial, or a schema: schemas/calendar.csv.", show_default=False
        ),
    ] = "",
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """The guide: a tutorial, how figures are made, and the reference of files, rules, measures, causes, formulas,
    problems and schemas. Without a page it lists them. Needs no scenario."""
    from costplan.guide import pages, read_schema, schema_names

    found = pages()
    if page in schema_names():
        typer.echo(read_schema(page), nl=False)
        return
    if page:
        _show(page, found, as_json=as_json)
        return
    from costplan.report.guide import guide_csv, guide_page

    rows = [{"name": one.name, "title": one.title, "about": one.about} for one in found]
    answer(
        "guide",
        {"pages": rows, "schemas": schema_names()},
        lambda: guide_csv(found),
        lambda: guide_page(found),
        as_json=as_json,
        as_csv=as_csv,
    )


def _show(name: str, found: tuple[GuidePage, ...], *, as_json: bool) -> None:
    """One page: set out on a terminal, as Markdown elsewhere; or the end of the command."""
    chosen = next((one for one in found if one.name == name), None)
    if chosen is None:
        from costplan.guide import schema_names
        from costplan.problems import Place, Problem, nearest

        advice = nearest(name, (*(one.name for one in found), *schema_names()))
        stop([Problem("REA020", Place("PAGE"), "", name, "no such page:", advice)], as_json=as_json)
    if as_json:
        from costplan.report.data import to_json

        typer.echo(to_json("guide page", page=chosen))
        return
    from costplan.report.terminal import print_markdown

    print_markdown(chosen.text)
