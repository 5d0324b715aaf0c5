"""Lives from logs as pages: what was fitted beside what the catalog has, the rows to write, and curves."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence

from costplan.life.fitting import Mean
from costplan.life.fitting.judged import Figure, FittedLife, Written
from costplan.life.lives import DEFAULT_SHAPE
from costplan.report.chart import curve_chart
from costplan.report.data import to_csv
from costplan.report.tables import Page, Passage, Table, listed, number, percent, plural
from costplan.scenario.lives import Point, ShownLife

FOOT = (
    "A fitted life is an assumption too: it speaks of what was logged, as it was used and mended there.",
    "Few failures bound it widely; a maker's word and an inspection come first.",
)
#: The figures of a life by their words.
FIGURES = (("shape", "shape"), ("scale", "scale"), ("b10", "B10"), ("mean", "mean"))
#: Where a chart of shares may begin.
BOTTOMS = (0.0, 0.5, 0.8, 0.9, 0.96, 0.98, 0.99)
#: Rows of a table of a curve.
TOLD = 13


def fit_page(title: str, lives: Sequence[FittedLife], logs: Sequence[str], written: str, invented: bool) -> Page:
    """Every life that was fitted, what must be said beside it, and the rows for lives.csv."""
    heading = _titled(f"Lives from the log: {title}", invented)
    if not logs:
        line = "There is no log: write log.csv, or name logs of other engines in scenario.toml (logs)."
        return Page(heading, (line,), (), FOOT)
    if not lives:
        return Page(heading, (f"{listed(logs)}: nothing that has a life was in use.",), (), FOOT)
    lines = [f"From {listed(logs)}. {_how(lives[0])}", *((f"Written: {written}",) if written else ())]
    tables = (_figures_table(lives), _notes_table(lives), _whole_table(lives), *_rows_tables(lives))
    return Page(heading, tuple(lines), tuple(table for table in tables if table.rows), FOOT)


def _titled(heading: str, invented: bool) -> str:
    return f"{heading} (invented data)" if invented else heading


def _how(life: FittedLife) -> str:
    return f"Method: {life.method}; {life.censoring}. Bounds at {percent(life.confidence)}, two-sided, {life.bounds}."


def _figures_table(lives: Sequence[FittedLife]) -> Table:
    rows = [row for life in lives if _says(life) for row in _figure_rows(life)]
    header = ("Life", "Figure", "Log", "From", "To", "Catalog", "Within")
    note = (
        "B10: use by which one in ten breaks; mean: the mean life; scale: use by which 63 % break. Within: whether "
        "the bounds hold the catalog's figure. late: first seen with use on them."
    )
    return Table("What the log says", header, tuple(rows), right=(2, 3, 4, 5), note=note)


def _says(life: FittedLife) -> bool:
    """Whether there is more to say of a life than that none broke."""
    return bool(life.failures or life.prior)


def _figure_rows(life: FittedLife) -> Iterator[tuple[str, ...]]:
    """Four figures, and beside them what they are of."""
    late = f", {life.late} late" if life.late else ""
    pieces = "pieces" if life.of == "piece" else "sets"
    beside = (f"{life.slot} {life.part}", f"  in {life.measure}", f"  {pieces}: {life.failures} broke,")
    for words, (name, word) in zip((*beside, f"  {life.censored} whole{late}"), FIGURES, strict=True):
        figure: Figure = getattr(life, name)
        yield words, word, *_cells(figure, _given_by(life) if name == "shape" else "")


def _given_by(life: FittedLife) -> str:
    """What stands instead of a shape that the log does not give."""
    return {"log": "", "catalog": "given", "assumed": "assumed"}[life.shape_from]


def _cells(figure: Figure, given: str) -> tuple[str, ...]:
    catalog = "" if figure.catalog is None else number(figure.catalog)
    if given:
        return (given, "", "", catalog, "")
    value = "" if figure.value is None else number(figure.value)
    low, high = (_bound(figure.low), _bound(figure.high))
    return value, low, high, catalog, "" if figure.holds is None else "yes" if figure.holds else "NO"


def _bound(value: float) -> str:
    """A bound; one that there is not is none."""
    return "none" if math.isinf(value) or value == 0 else number(value)


def _notes_table(lives: Sequence[FittedLife]) -> Table:
    rows = tuple(
        (f"{life.slot} {life.part}, {life.measure}", "; ".join(life.notes))
        for life in lives
        if life.notes and _says(life)
    )
    return Table("What must be said beside it", ("Life", ""), rows)


def _whole_table(lives: Sequence[FittedLife]) -> Table:
    """Of what nothing broke: what its mean life is longer than."""
    whole = [life for life in lives if not _says(life)]
    rows = tuple(
        (
            f"{life.slot} {life.part}",
            life.measure,
            str(life.censored),
            number(life.longest, 3) if life.longest else "",
            number(life.mean.low, 3) if life.mean.low else "",
            "" if life.mean.catalog is None else number(life.mean.catalog, 3),
        )
        for life in whole
    )
    header = ("Life", "Measure", "Whole", "Longest", "Mean above", "Catalog")
    sure = percent(lives[0].confidence) if lives else ""
    assumed = any(life.shape_from == "assumed" for life in whole)
    note = (
        "Whole: sets or pieces that did not break; longest: the most use that one was seen with. Mean above: what the "
        f"mean life is longer than, {sure} sure, one-sided, if the shape in the catalog is true"
        + (f", or the {DEFAULT_SHAPE:g} that is assumed where it has none." if assumed else ".")
    )
    return Table("What has not broken", header, rows, right=(2, 3, 4, 5), note=note)


def _rows_tables(lives: Sequence[FittedLife]) -> tuple[Table, ...]:
    rows = tuple(
        (
            row.part,
            row.measure,
            _given(row.replace_at),
            _given(row.risk),
            _given(row.low),
            _given(row.likely),
            _given(row.shape),
            row.life_of,
        )
        for row in _rows(lives)
    )
    header = ("part", "measure", "replace_at", "risk", "low", "likely", "shape", "life_of")
    note = "--csv gives them whole, with limit, rating, warning and source; --out FOLDER writes lives-fitted.csv."
    return (Table("Rows for lives.csv", header, rows, right=(2, 3, 4, 5, 6), note=note),) if rows else ()


def _given(value: float | None) -> str:
    return "" if value is None else number(value)


def _rows(lives: Sequence[FittedLife]) -> tuple[Written, ...]:
    return tuple(life.row for life in lives if life.row is not None)


def rows_csv(lives: Sequence[FittedLife]) -> str:
    """The rows as lives.csv has them."""
    names = [field.name for field in dataclasses.fields(Written)]
    return to_csv(names, ([_cell(getattr(row, name)) for name in names] for row in _rows(lives)))


def _cell(value: float | str | None) -> str:
    return "" if value is None else value if isinstance(value, str) else f"{value:.10g}"


def show_page(
    title: str, slot: str, lives: Sequence[ShownLife], logs: Sequence[str], invented: bool, width: int = 80
) -> Page:
    """The curves of a slot's parts, with the numbers behind them."""
    heading = _titled(f"Life of {slot}: {title}", invented)
    seen = [life for life in lives if life.fit.failures + life.fit.censored]
    first = (
        f"From {listed(logs)}. {_how(lives[0].fit)}" if seen else "No log shows it in use: the catalog's life alone."
    )
    passages = [passage for life in lives for passage in (*_survival_chart(life, width), *_mended_chart(life, width))]
    tables = [table for life in lives for table in _life_tables(life)]
    lines = (first, *(f"{_name(life.fit)}: {_limit(life.fit)}" for life in lives if life.fit.limit is not None))
    return Page(heading, lines, tuple(table for table in tables if table.rows), FOOT, tuple(passages))


def _limit(fit: FittedLife) -> str:
    """What the catalog's hard limit is, and that there may be no curve beside it."""
    alone = "" if fit.catalog else ", and no life: it has no curve of its own"
    return f"the catalog has a hard limit of {number(fit.limit or 0.0)} {fit.measure}{alone}."


def _name(fit: FittedLife) -> str:
    return f"{fit.part}, {fit.measure}"


def _survival_chart(life: ShownLife, width: int) -> tuple[Passage, ...]:
    """The share not yet broken over use, and below it what the marks mean."""
    fit, points = life.fit, life.points
    if len(points) < 2:
        return ()
    curves = (
        ("c", [point.catalog for point in points]),
        ("o", [point.fitted for point in points]),
        ("#", [point.observed for point in points]),
    )
    band = [None if one.low is None or one.high is None else (one.low, one.high) for one in points]
    last, middle = points[-1].use, points[len(points) // 2].use
    along = ("0", number(middle, 3), f"{number(last, 3)} {fit.measure}")
    rule = next((at for at, one in enumerate(points) if fit.replace_at is not None and one.use >= fit.replace_at), None)
    title = f"{_name(fit)}: share not yet broken by use"
    bottom = _bottom([height for _, heights in curves for height in heights] + [low for low, _ in filter(None, band)])
    words = (percent(bottom), percent((1 + bottom) / 2), "100%")
    chart = curve_chart(title, curves, band, (bottom, 1.0), words, along, rule, width)
    return (*chart, Passage("", tuple((0, line) for line in _legend(fit)))) if chart else ()


def _bottom(shares: Sequence[float | None]) -> float:
    """Where a chart of shares begins: none, or so high that what hardly breaks can be seen to."""
    least = min((one for one in shares if one is not None), default=0.0)
    return max(bottom for bottom in BOTTOMS if bottom <= least)


def _legend(fit: FittedLife) -> Iterator[str]:
    if fit.failures + fit.censored:
        yield f"#  what the log shows (Kaplan-Meier), :  its band at {percent(fit.confidence)} (Greenwood, log-log)"
    if fit.weibull is not None:
        given = {"log": "", "catalog": ", shape from the catalog", "assumed": ", shape assumed"}[fit.shape_from]
        yield f"o  fitted: shape {number(fit.weibull.shape, 3)}, scale {number(fit.weibull.scale)}{given}"
    if fit.catalog is not None:
        yield f"c  catalog: shape {number(fit.catalog.shape, 3)}, scale {number(fit.catalog.scale)}"
    if fit.replace_at is not None:
        yield f"|  renewed at {number(fit.replace_at)} {fit.measure}"


def _mended_chart(life: ShownLife, width: int) -> tuple[Passage, ...]:
    """How often one was mended by its use, on average."""
    if not life.mended:
        return ()
    uses, highest = [point.use for point in life.points], max(step.high for step in life.mended)
    steps = [_last(life.mended, use) for use in uses]
    curves = (("#", [0.0 if step is None else step.mean for step in steps]),)
    band = [None if step is None else (step.low, step.high) for step in steps]
    along = ("0", number(uses[len(uses) // 2], 3), f"{number(uses[-1], 3)} {life.fit.measure}")
    title = f"{_name(life.fit)}: times mended by use, on average"
    labels = ("0", number(highest / 2, 2), number(highest, 2))
    chart = curve_chart(title, curves, band, (0.0, highest), labels, along, None, width)
    words = f"#  mean cumulative function, :  its band at {percent(life.fit.confidence)} (Nelson)"
    return (*chart, Passage("", ((0, words),))) if chart else ()


def _last(steps: Sequence[Mean], use: float) -> Mean | None:
    """What holds at a use: the last step up to it."""
    return next((step for step in reversed(steps) if step.use <= use), None)


def _life_tables(life: ShownLife) -> tuple[Table, ...]:
    fit = life.fit
    told = [life.points[at * (len(life.points) - 1) // (TOLD - 1)] for at in range(TOLD)] if life.points else []
    notes = "".join(f"\n- {note}" for note in fit.notes) if fit.failures + fit.censored else ""
    return (
        Table(f"{_name(fit)}: figures", *_figures_alone(fit), right=(1, 2, 3, 4), note=f"{_counts(fit)}{notes}"),
        _points_table(fit, told),
        _mended_table(life),
    )


def _counts(fit: FittedLife) -> str:
    if not fit.failures + fit.censored:
        return ""
    watched = plural(fit.failures + fit.censored, "piece" if fit.of == "piece" else "set")
    return f"Of {watched} {plural(fit.failures, 'failure')}; {fit.late} first seen used."


def _figures_alone(fit: FittedLife) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    seen = bool(fit.failures + fit.censored)
    rows = []
    for name, word in FIGURES:
        value, low, high, catalog, within = _cells(getattr(fit, name), _given_by(fit) if name == "shape" else "")
        rows.append((word, value, low, high, catalog, within) if seen else (word, catalog))
    header = ("Figure", "Log", "From", "To", "Catalog", "Within") if seen else ("Figure", "Catalog")
    return header, tuple(rows) if seen or fit.catalog else ()


def _points_table(fit: FittedLife, points: Sequence[Point]) -> Table:
    """The curves at some uses; columns of what there is."""
    columns = {
        f"Use, {fit.measure}": [number(point.use) for point in points],
        "Watched": [str(point.at_risk) for point in points],
        "Log": [_share(point.observed) for point in points],
        "From": [_share(point.low) for point in points],
        "To": [_share(point.high) for point in points],
        "Fitted": [_share(point.fitted) for point in points],
        "Catalog": [_share(point.catalog) for point in points],
    }
    seen = bool(fit.failures + fit.censored)
    kept = {name: cells for name, cells in columns.items() if any(cells) and (seen or name != "Watched")}
    rows = tuple(zip(*kept.values(), strict=True))
    return Table(f"{_name(fit)}: share not yet broken", tuple(kept), rows, right=tuple(range(len(kept))))


def _share(value: float | None) -> str:
    return "" if value is None else f"{value:.1%}"


def _mended_table(life: ShownLife) -> Table:
    rows = tuple(
        (number(step.use), str(step.at_risk), number(step.mean, 3), *_mended_band(step)) for step in life.mended
    )
    header = (f"Use, {life.fit.measure}", "Watched", "Mended", "From", "To")
    return Table(f"{_name(life.fit)}: times mended, on average", header, rows, right=(0, 1, 2, 3, 4))


def _mended_band(step: Mean) -> tuple[str, str]:
    """The bounds of a mean; one that was watched alone gives none."""
    return (number(step.low, 3), number(step.high, 3)) if step.variance else ("", "")


def points_csv(lives: Sequence[ShownLife]) -> str:
    """The curves of all parts and measures."""
    names = [field.name for field in dataclasses.fields(Point)]
    rows = (
        [life.fit.part, life.fit.measure, *(_plain(getattr(point, name)) for name in names)]
        for life in lives
        for point in life.points
    )
    return to_csv(["part", "measure", *names], rows)


def _plain(value: float | None) -> float | str:
    return "" if value is None else value
