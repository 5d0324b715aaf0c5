"""`costplan rules check`"""

from __future__ import annotations

import typer

from costplan.cli.common import Csv, Folder, Json, Sets, answer, open_scenario
from costplan.cli.rules.show import OnePack, packs_named


def check(
    folder: Folder,
    pack: OnePack = "",
    sets: Sets = [],  # noqa: B006
    as_json: Json = False,
    as_csv: Csv = False,
) -> None:
    """Whether a rule pack contradicts itself, holds clauses that can never bind or be shown, or names what nobody has.
    Status 1 if something is wrong; hints do not count."""
    from costplan.report.book import lint_page
    from costplan.report.data import records_to_csv
    from costplan.rules.lint import CHECKS, Doubt, Linted

    scenario, _ = open_scenario(folder, sets, as_json=as_json)
    packs = [
        Linted(one.stem, one.header.name, one.file, len(one.rules), scenario.doubts(one))
        for one in packs_named(scenario, pack, as_json=as_json)
    ]
    title, invented = scenario.header.title, scenario.invented
    answer(
        "rules check",
        {
            "scenario": title,
            "invented": invented,
            "packs": packs,
            "checks": {code: check.meaning for code, check in CHECKS.items()},
        },
        lambda: records_to_csv(Doubt, (doubt for one in packs for doubt in one.doubts)),
        lambda: lint_page(packs, title, invented),
        as_json=as_json,
        as_csv=as_csv,
    )
    if any(one.wrong for one in packs):
        raise typer.Exit(1)
