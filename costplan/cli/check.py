"""`costplan check`"""

from __future__ import annotations

import typer

from costplan.cli.common import Csv, Folder, Json, Sets, open_scenario


def check(folder: Folder, sets: Sets = [], as_json: Json = False, as_csv: Csv = False) -> None:  # noqa: B006
    """Whether all files are in order, and how the build answers each clause of the rule packs: meets, breaks, or
    cannot be shown from a list. Status 1 if a clause is broken."""
    scenario, _ = open_scenario(folder, sets, as_json=as_json)
    verdicts = scenario.verdicts() if scenario.build else ()
    if as_json:
        from costplan.report.data import to_json

        typer.echo(to_json("check", scenario=scenario.header.title, invented=scenario.invented, packs=verdicts))
    elif as_csv:
        from costplan.report.data import records_to_csv
        from costplan.rules import Finding

        findings = [finding for pack in verdicts for finding in pack.findings]
        typer.echo(records_to_csv(Finding, findings), nl=False)
    else:
        from costplan.report.build import check_page
        from costplan.report.terminal import print_page

        print_page(check_page(verdicts, scenario.header.title, scenario.invented))
    if any(pack.count("breaks") for pack in verdicts):
        raise typer.Exit(1)
