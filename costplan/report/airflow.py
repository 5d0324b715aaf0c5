"""How an engine breathes, as a page. Wherever power stands, the word estimate and the error stand beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from costplan.build.airflow import Breathing, Calibration, Restriction, Speed, Turn
from costplan.quantity import Quantity, convert
from costplan.report.data import to_csv
from costplan.report.tables import Page, Table, number, percent, plural, quantity, share

CAUTIONS = (
    "An estimate: steady flow, an assumed curve of filling, friction by a correlation. Waves in pipes, timing, "
    "exhaust, mixture and heat are not in it. It ranks parts by what they flow; differences below its error rank "
    "nothing.",
)
NOTHING = "nothing certain"


def airflow_page(found: Breathing, title: str, invented: bool, lines: Sequence[str], turns: Sequence[Turn]) -> Page:
    """Everything that `costplan airflow` answers."""
    heading = f"Airflow, an estimate: {title}"
    said = (*lines, *airflow_lines(found), *turn_lines(turns))
    tables = (_restrictions(found), speeds_table(found), *dyno_tables(found)) if found.peak else ()
    foot = (*marked_lines(found), *CAUTIONS)
    return Page(f"{heading} (invented data)" if invented else heading, said, tables, foot)


def airflow_lines(found: Breathing) -> Iterator[str]:
    """The answer in words."""
    if found.peak is None or found.limit is None or found.peak_rpm is None or found.index is None:
        yield f"No estimate; missing: {'; '.join(found.missing)}."
        return
    yield (
        f"Estimate: {power_of(found)} at {_rpm(found.peak_rpm)}, in the air of {found.standard}; highest speed "
        f"{_rpm(found.limit)}."
    )
    yield _rests_on(found)
    most = next(one for one in found.restrictions if one.slot == found.decides)
    yield (
        f"What decides: {most.slot} ({most.part}), {share(most.share)} of the resistance between air and cylinder. "
        f"{_bought(found, most)}"
    )
    passed = " and ".join(f"{knee.index:g} at {_rpm(knee.rpm)}" for knee in found.knees)
    yield (
        f"Inlet Mach index {number(found.index, 3)} at {_rpm(found.limit)}; it passes {passed}, above which filling "
        "falls fast (0.5 by JSME, 0.6 by Taylor)."
    )
    if found.peak_rpm < found.limit:
        yield f"Above {_rpm(found.peak_rpm)} more speed gives no more power by this estimate: friction takes it."


def power_of(found: Breathing) -> str:
    """The most power with its error, whole; the word estimate belongs before it."""
    if found.peak is None or found.error is None:
        return "unknown"
    return f"{found.peak.value:,.0f} +/- {max(1, round(found.error.value))} {found.peak.unit}"


def _rests_on(found: Breathing) -> str:
    """Where the error comes from."""
    sheet = found.calibration
    if sheet is None:
        return (
            f"Its error of {percent(found.error_share)} either way is as the pattern states it: no dyno sheet sets it."
        )
    by = f"By {plural(len(sheet.points), 'pull')} on a dyno"
    factor = f"{by}: a factor of {number(sheet.factor, 4)} on what the gas gives"
    if not sheet.enough:
        return f"{factor}; too few to set the error, which stays {percent(found.error_share)} as the pattern states it."
    return (
        f"{factor}, and the error of {percent(found.error_share)} either way, about 95 %: twice the scatter about the "
        f"curve. {pulled_words(found)}"
    )


def pulled_words(found: Breathing) -> str:
    """Whether the scatter of a dyno sheet speaks of these parts too, as a sentence; '' where no sheet set the error."""
    if found.calibration is None or not found.calibration.enough:
        return ""
    if found.pulled:
        return "These parts are those that were pulled; for others it may be larger."
    return (
        f"The engine that was pulled had other parts in {', '.join(found.unpulled)}: for these the error may be "
        "larger, and nobody has measured it."
    )


def _bought(found: Breathing, most: Restriction) -> str:
    others = [one for one in found.restrictions if one.slot != most.slot]
    if not most.certain:
        return f"A tenth more of it buys {NOTHING}, nor does a tenth more of anything else."
    rest = f", a tenth more of anything else {NOTHING}" if others and not any(one.certain for one in others) else ""
    error = f"{found.error.value:.1f} {found.error.unit}" if found.error else "unknown"
    return f"A tenth more of it buys an estimated {_gain(most)} (error of the estimate {error}){rest}."


def _gain(one: Restriction) -> str:
    return f"{one.gain.value:.1f} {one.gain.unit}"


def turn_lines(turns: Sequence[Turn]) -> Iterator[str]:
    for turn in turns:
        peak = turn.breathing.peak_rpm
        at = f" at {_rpm(peak)}" if peak else f": missing {'; '.join(turn.breathing.missing[:2])}"
        sheet = turn.breathing.calibration
        astray = ", not pulled" if sheet and sheet.enough and not turn.breathing.pulled else ""
        yield f"With {turn.part} in its turn in {turn.slot}: estimate {power_of(turn.breathing)}{at}{astray}."


def _restrictions(found: Breathing) -> Table:
    unit = found.unit
    rows = tuple(
        (one.slot, one.part, number(one.area.value, 3), share(one.share), f"{one.gain.value:+.1f}", certainty(one))
        for one in found.restrictions
    )
    error = f"{found.error.value:.1f} {unit}" if found.error else ""
    note = (
        f"Area: effective, what one cylinder has of it while it draws ({_angle(found)} of 720 degrees); the ports' is "
        f"the mean over the lift. Together {quantity(rounded(found.opening))}. Share: of the resistance, by "
        f"1 / area^2. A gain below the error of {error} is nothing certain. Rows behind: --json, under 'why'."
    )
    header = ("Restriction", "Part", "Area cm2", "Share", f"+10 % buys, est. {unit}", "")
    return Table("Restrictions, from the ports outward", header, rows, right=(2, 3, 4), note=note)


def restrictions_csv(found: Breathing) -> str:
    """The restrictions as a table, units in its headings."""
    header = ("slot", "part", "area [cm2]", "share", f"gain [{found.unit}]", "certain", "place")
    rows = (
        (
            one.slot,
            one.part,
            round(one.area.value, 3),
            round(one.share, 4),
            round(one.gain.value, 2),
            one.certain,
            str(one.place),
        )
        for one in found.restrictions
    )
    return to_csv(header, rows)


def certainty(one: Restriction) -> str:
    return "" if one.certain else NOTHING


def rounded(value: Quantity | None) -> Quantity:
    return Quantity(round(value.value, 2), value.unit) if value else Quantity(0.0)


def _angle(found: Breathing) -> str:
    return number(found.duration.value, 4) if found.duration else ""


def speeds_table(found: Breathing) -> Table:
    rows = tuple(
        (
            number(one.rpm, 5),
            f"{one.index:.2f}",
            f"{one.volumetric_efficiency:.2f}",
            f"{one.friction.value:.2f}",
            f"{_mark(one)}{one.power.value:,.0f} +/- {max(1, round(one.error.value))}",
            f"{one.torque.value:,.0f}",
        )
        for one in found.speeds
    )
    torque = found.speeds[0].torque.unit if found.speeds else ""
    header = ("rpm", "Mach index", "Filling", "Friction bar", f"Power {found.unit}, estimate", f"Torque {torque}")
    return Table("Over speed, an estimate", header, rows, right=(0, 1, 2, 3, 4, 5), note=_marks(found))


def _mark(one: Speed) -> str:
    return "* " if one.beyond else ""


def _marks(found: Breathing) -> str:
    beyond = any(one.beyond for one in found.speeds)
    return "*: no pull at such a speed; the curve and its error are carried on." if beyond else ""


def dyno_tables(found: Breathing) -> Iterator[Table]:
    """What the dyno gave beside the curve."""
    if found.calibration is None:
        return
    sheet = found.calibration
    rows = tuple(
        (
            point.engine or "as planned",
            number(point.rpm, 5),
            _shown(point.measured, found.unit),
            point.corrected_by,
            _shown(point.corrected, found.unit),
            _shown(point.estimate, found.unit),
            f"{convert(point.off, 'kW', found.unit):+.1f}",
        )
        for point in sheet.points
    )
    header = ("Engine", "rpm", f"Sheet {found.unit}", "Air", found.standard, "Estimate", "Off")
    yield Table("From the dyno", header, rows, right=(1, 2, 4, 5, 6), note=_scatter(sheet, found.unit))


def _scatter(sheet: Calibration, unit: str) -> str:
    spread = "" if sheet.spread is None else f" Scatter {_shown(sheet.spread, unit)} {unit} (standard deviation)."
    return f"Brought to {sheet.standard}.{spread} Error of the estimate: {percent(sheet.error)} either way."


def _shown(kilowatts: float, unit: str) -> str:
    return f"{convert(kilowatts, 'kW', unit):,.1f}"


def marked_lines(found: Breathing) -> Iterator[str]:
    """What of the estimate is assumed, and what is carried beyond its range."""
    for title, words in (("Assumed", found.assumed), ("Extrapolated", found.extrapolated)):
        if words:
            yield f"{title}: {'; '.join(words)}."


def _rpm(value: float) -> str:
    return f"{value:,.0f} rpm"
