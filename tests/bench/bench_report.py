"""Pages with drawn charts beside the same charts run by their scripts: `python tests/bench/bench_report.py [runs]`.

Not part of the tests. The racer's page of the demo of short ovals is made in this process (what it answers is timed
apart); then the same specifications are put into a page with Vega's scripts, the usual way. Where the machine has
Chromium, both are opened in it, and the time until the page has drawn is taken. Seconds are medians of the runs.
"""

from __future__ import annotations

import json
import platform
import shutil
import sys
import tempfile
from collections.abc import Callable
from datetime import date
from pathlib import Path
from statistics import median
from time import perf_counter

import vl_convert

from costplan.report.web.blocks import Chart, WebPage
from costplan.report.web.drawing import CONFIG, draw
from costplan.report.web.racer import RacerAnswers, racer_page
from costplan.report.web.writing import html_of
from costplan.scenario import read_scenario
from costplan.season import due_before, make_plan
from costplan.season.drawn.drawing import draw as draw_seasons
from costplan.season.drawn.outlook import outlook_of, what_breaks

ROOT = Path(__file__).parents[2]
SCENARIO, DAY, SEASONS = "scenarios/oval-v8", date(2027, 7, 1), 5000


def seconds(work: Callable[[], object], runs: int) -> float:
    found = []
    for _ in range(runs):
        began = perf_counter()
        work()
        found.append(perf_counter() - began)
    return median(found)


def answers() -> RacerAnswers:
    scenario, problems = read_scenario(ROOT / SCENARIO)
    if scenario is None:
        raise SystemExit(str(problems))
    season, faults = scenario.season_on(DAY)
    if season is None:
        raise SystemExit(str(faults))
    draws = draw_seasons(season, SEASONS)
    return RacerAnswers(
        title=scenario.header.title,
        invented=True,
        plan=make_plan(season, DAY),
        due=due_before(season, DAY),
        outlook=outlook_of(draws),
        bills=what_breaks(draws),
        standing=season.standing,
        tracking=None,
    )


def charts_of(page: WebPage) -> list[Chart]:
    return [block for section in page.sections for block in section.blocks if isinstance(block, Chart)]


def scripted(page: WebPage) -> str:
    """The wide charts of a page with the scripts that draw them in the browser."""
    scripts = vl_convert.javascript_bundle("window.show = (at, spec) => vegaEmbed(at, spec, {renderer: 'svg'});")
    specs = [json.dumps({**chart.wide, "config": CONFIG}).replace("</", r"<\/") for chart in charts_of(page)]
    charts = "".join(f'<div id="c{n}"></div><script>show("#c{n}", {spec})</script>' for n, spec in enumerate(specs))
    return f"<!doctype html><meta charset=utf-8><body><script>{scripts}</script>{charts}</body>"


def opening(page: str, ready: str, runs: int) -> float | None:
    """Until a page in Chromium has what `ready` selects; None without a browser."""
    browser_file = shutil.which("chromium")
    if browser_file is None:
        return None
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        path = Path(folder) / "page.html"
        path.write_text(page, "utf-8")
        browser = playwright.chromium.launch(executable_path=browser_file, args=["--no-sandbox", "--disable-gpu"])

        def once() -> None:
            tab = browser.new_page()
            tab.goto(path.as_uri())
            tab.wait_for_selector(ready, state="attached")
            tab.close()

        once()
        return seconds(once, runs)


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    began = perf_counter()
    page = racer_page(answers())
    made = perf_counter() - began
    charts = charts_of(page)
    drawings = [spec for chart in charts for spec in (chart.wide, chart.narrow)]
    draw(drawings[0], "first")
    drawn, whole = seconds(lambda: [draw(spec, "d") for spec in drawings], runs), seconds(lambda: html_of(page), runs)
    ours, theirs = html_of(page), scripted(page)
    lines = [
        f"Python {platform.python_version()}, {platform.machine()}; {SCENARIO} on {DAY}, {runs} runs",
        f"answers, {SEASONS:,} seasons, the machine compiled or loaded: {made:.2f} s",
        f"page: {whole:.2f} s, of it {len(drawings)} drawings {drawn:.2f} s; {len(ours.encode()) // 1000} kB",
        f"its {len(charts)} charts with their scripts and nothing else: {len(theirs.encode()) // 1000} kB",
    ]
    shown, scripts = opening(ours, ".wide svg", runs), opening(theirs, f"#c{len(charts) - 1} svg", runs)
    if shown and scripts:
        lines.append(f"opened in Chromium: {shown:.2f} s, with scripts {scripts:.2f} s, {scripts / shown:.1f} x")
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
