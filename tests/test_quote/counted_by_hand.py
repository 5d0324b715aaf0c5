"""A quote counted anew from the files of a scenario alone, by a program that shares nothing with costplan.

It reads CSV and TOML as they lie there and counts in decimals. Given to it are what the season's plan renews
in a gap, as `costplan season --json` tells it, and the chances of what tear-down may show (`test_chances.py`);
and, where the shop's list asks about one, a measure of the engine.
"""

from __future__ import annotations

import csv
import math
import tomllib
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any

Row = dict[str, Any]
NONE = Decimal(0)
SOLD = ("parts", "labour", "sublet", "supplies", "freight", "fees")
#: Tables of a catalog that hold no parts.
OTHER = {"flow", "kit_contains", "kits", "lives", "operations", "prices", "roles", "service_steps"}


def number(cell: Any) -> Decimal:
    """98, 0.28 or 28 %; nothing where empty."""
    text = str(cell or 0)
    return Decimal(text.rstrip("% ")) / (100 if text.endswith("%") else 1)


def cents(amount: Decimal) -> Decimal:
    return amount.quantize(Decimal("0.01"), ROUND_HALF_UP)


def words(cell: Any) -> list[str]:
    return cell.split() if isinstance(cell, str) else list(cell or ())


def yes(cell: Any) -> bool:
    return cell in (True, "yes")


def _named(rows: Iterable[Row], name: str) -> Row:
    return next(row for row in rows if name in row.values())


class Files:
    """The files of a scenario and its catalog, with what-ifs written in: `file/row or key/column=value`."""

    def __init__(self, folder: Path, sets: Iterable[str] = ()) -> None:
        self.folder, self.sets = folder, [(path.split("/"), value) for path, value in (s.split("=", 1) for s in sets)]
        self.scenario = self.toml("scenario")
        self.read = dict[str, list[Row]]()
        self.catalog = (folder / self.scenario["catalogs"][0]).resolve()
        self.header = self.toml("catalog")

    def _path(self, file: str) -> tuple[Path, list[str]]:
        """Where a file lies, and what a what-if calls it."""
        name, mine = file.rpartition(".")[0], self.folder / file
        return (mine, [name]) if mine.exists() else (self.catalog / file, [self.catalog.name, name])

    def toml(self, name: str) -> Row:
        path, called = self._path(f"{name}.toml")
        tree = tomllib.loads(path.read_text())
        for keys, value in (each for each in self.sets if each[0][: len(called)] == called):
            at: Any = tree
            for key in keys[len(called) : -1]:
                items = {} if isinstance(at, dict) else {str(n): row for n, row in enumerate(at, start=1)}
                at = items.get(key) or (at.setdefault(key, {}) if not items else _named(at, key))
            at[keys[-1]] = value
        return tree

    def table(self, name: str) -> list[Row]:
        if name not in self.read:
            path, called = self._path(f"{name}.csv")
            self.read[name] = self._with_sets(list(csv.DictReader(path.read_text().splitlines())), called)
        return self.read[name]

    def _with_sets(self, rows: list[Row], called: list[str]) -> list[Row]:
        for keys, value in (each for each in self.sets if each[0][: len(called)] == called):
            named = [each for each in rows if next(iter(each.values())) == keys[-2]]
            (named[0] if named else rows[int(keys[-2]) - 2])[keys[-1]] = value
        return rows

    def parts(self) -> dict[str, Row]:
        """All tables of parts, the suppliers' own sheets too, in our columns."""
        sheets = tomllib.loads((self.catalog / "columns-map.toml").read_text())["sheet"]
        names = {path.stem for path in self.catalog.glob("*.csv")} - OTHER - {each["file"][:-4] for each in sheets}
        return {row["part"]: row for rows in (*map(self.table, names), *map(self._sheet, sheets)) for row in rows}

    def _sheet(self, how: Row) -> list[Row]:
        lines, rows = (self.catalog / how["file"]).read_text(how["encoding"]).splitlines(), []
        for read in csv.DictReader(lines[how["header_line"] - 1 :], delimiter=how["delimiter"]):
            row: Row = {ours: read[theirs] or "" for ours, theirs in how["columns"].items()} | how["fixed"]
            if row["part"]:
                row["role"] = how["words"]["role"][row["role"]]
                row["price_date"] = "-".join(reversed(row["price_date"].split(".")))
                for name in ("price", "core_charge", "pin_height [mm]"):
                    row[name] = row[name].strip(" €").replace(".", "").replace(",", ".")
                rows.append(row)
        return self._with_sets(rows, [self.catalog.name, how["file"][:-4]])


@dataclass(frozen=True)
class Task:
    """A slot: pieces of a part bought new, or an operation on those that stay; `back`: the old ones go back whole."""

    part: str
    pieces: int
    operation: str = ""
    back: bool = False


@dataclass
class Line:
    """A line; `more`: supplier, hours, pieces of a pack that are left over, days until it is here."""

    key: str
    kind: str
    quantity: Decimal
    price: Decimal
    cost: Decimal
    more: Row = field(default_factory=dict)
    discount: Decimal = NONE
    net: Decimal = NONE
    tax: tuple[str, Decimal] = ("", NONE)


def total(lines: Iterable[Line], what: str, *kinds: str) -> Decimal:
    return sum((getattr(line, what) for line in lines if line.kind in kinds), NONE)


def less(one: Row, other: Row) -> list[Decimal]:
    return [one[name] - other[name] for name in ("net", "gross", "cost")]


@dataclass
class Counter:
    """A shop's counter on a day, with what is given: the plan's jobs; chances of tear-down by `slot=way`; what was
    found bad; price and discount by line as agreed before; by how much suppliers are up; measures of the engine; a
    request, else that of its file."""

    files: Files
    name: str
    on: date
    jobs: Sequence[Mapping[str, Any]] = ()
    chances: Mapping[str, float] = field(default_factory=dict)
    bad: tuple[str, ...] = ()
    held: Mapping[str, tuple[Decimal, Decimal]] = field(default_factory=dict)
    rise: Decimal = NONE
    measures: Mapping[str, Decimal] = field(default_factory=dict)
    asked: Row = field(default_factory=dict)

    def __post_init__(self) -> None:
        files = self.files
        self.shop, self.parts = files.toml("shop"), files.parts()
        self.asked = self.asked or files.toml(f"quote-{self.name}")
        self.work, self.build, self.prices = map(files.table, ("work", "build", "prices"))
        self.kits = {row["kit"]: row for row in files.table("kits")}
        self.contents = defaultdict[str, dict[str, int]](dict)
        for row in files.table("kit_contains"):
            self.contents[row["kit"]][row["part"]] = int(row["pieces"])
        self.operations = {row["operation"]: row for row in files.table("operations")}
        self.slots = {row["slot"]: row for row in tomllib.loads((files.folder / "pattern.toml").read_text())["slot"]}
        self.positions = {row["slot"]: row for row in files.table("positions")}
        self.terms = {row["name"]: row for row in self.shop["supplier"]}
        self.dues = defaultdict[str, Row](dict) | {row["supplier"]: row for row in files.table("suppliers")}
        of, case = self.asked.get("of"), self.asked.get("case")
        self.case = next((row for row in files.table("damage") if (row["slot"], row["case"]) == (of, case)), {})
        self.supplied = [row["slot"] for row in self.asked.get("supplied", ())]
        rows = files.table("calendar")
        at = [row["event"] for row in rows].index(self.asked["before"]) if self.asked.get("before") else 0
        ran = [date.fromisoformat(row["date"]) for row in rows[:at] if row["kind"] != "service"]
        self.here = max([self.on, *(day + timedelta(days=1) for day in ran)])
        #: The rows of the calendar that lie in the gap: a service, and the event that runs next.
        self.gap = {rows[at]["event"], next(row["event"] for row in rows[at:] if row["kind"] != "service")}

    # What a thing costs the shop --------------------------------------------------------------------------------------

    def offers(self, name: str) -> Iterable[Row]:
        """Of each supplier, pack and least quantity the latest by the day; where none is by then, the earliest."""
        base = {"tax_included": self.files.header["tax_included"], **(self.parts.get(name) or self.kits[name])}
        own = [base | {"date": base["price_date"]}] if base["price"] else []
        rows = own + [base | {k: v for k, v in row.items() if v} for row in self.prices if row["part"] == name]
        known = [row for row in rows if row["date"] <= str(self.on)]
        rows = sorted(known or rows, key=lambda row: str(row["date"]), reverse=not known)
        return {(row["supplier"], row.get("pack") or "1", row.get("least") or "1"): row for row in rows}.values()

    def rate(self, currency: str | None) -> Decimal:
        rates = sorted((str(r["since"]), r["rate"]) for r in self.files.scenario["rate"] if r["currency"] == currency)
        by_then = [rate for since, rate in rates if since <= str(self.on)]
        return number(by_then[-1] if by_then else rates[0][1]) if rates else Decimal(1)

    def without_tax(self, price: Decimal, row: Row) -> Decimal:
        """A price of a list in the scenario's currency, not rounded."""
        included = yes(row.get("tax_included", self.files.header["tax_included"]))
        return price * self.rate(row.get("currency")) / (1 + number(self.files.header["tax_rate"]) * included)

    def buy(self, name: str, pieces: int) -> tuple[Decimal, int, Row]:
        """The cheapest way to so many pieces: what it costs less the shop's discount, packs, the offer."""
        ways = []
        for row in self.offers(name):
            packs = max(int(row.get("least") or 1), math.ceil(pieces / int(row.get("pack") or 1)))
            price = self.without_tax(number(row["price"]), row) * (1 + self.rise)
            cost = cents(price * packs * (1 - number(self.terms.get(row["supplier"], {}).get("discount"))))
            ways.append(((cost, packs * int(row.get("pack") or 1), row["supplier"]), packs, row))
        (cost, _, _), packs, row = min(ways, key=lambda way: way[0])
        return cost, packs, row

    def core(self, part: str, pieces: int) -> Decimal:
        _, _, row = self.buy(part, pieces)
        return number(row.get("core_charge")) * self.rate(row.get("currency")) * pieces / int(row.get("pack") or 1)

    def on_top(self, kind: str) -> Decimal:
        return 1 + number(self.shop["markup"].get(kind))

    # What is done to which slot ---------------------------------------------------------------------------------------

    def tasks(self, bad: Iterable[str], options: Iterable[Row]) -> tuple[str, dict[str, Task]]:
        """The job, a service level or `build`, and what it does to which slot."""
        ways = {word.partition("=")[0]: word.partition("=")[2] for word in (*words(self.asked.get("bad")), *bad)}
        others = {row["slot"]: row["part"] for row in options if row.get("slot")}
        job, tasks = self._service(ways, others) if self.asked.get("engine") else ("build", self._new_engine())
        stays = {*self.supplied, *words(self.asked.get("keep"))} - ways.keys() - others.keys()
        tasks = {slot: task for slot, task in tasks.items() if slot not in stays}
        for slot, part in others.items():  # into a new engine, or where no level reaches
            if job == "build" or slot not in tasks:
                tasks[slot] = Task(part, self.pieces(slot), back=job != "build")
        return job, tasks

    def pieces(self, slot: str) -> int:
        return int(self.slots[slot].get("quantity", 1))

    def _new_engine(self) -> dict[str, Task]:
        rows = [row for row in self.build if row["slot"] not in words(self.asked.get("without"))]
        names = [f"{row['slot']}/{row['alternate']}".strip("/") for row in rows]
        return {name: Task(row["part"], self.pieces(row["slot"])) for name, row in zip(names, rows, strict=True)}

    def _service(self, ways: Mapping[str, str], others: Mapping[str, str]) -> tuple[str, dict[str, Task]]:
        """Other parts by option; what is bad or broken; what its level and those below renew, and the plan; what is
        asked beyond. One piece mends a set that is changed by the piece, unless level or plan renew it anyway."""
        asked, levels = self.asked, [row for row in self.files.table("levels") if row["carrier"] == "engine"]
        rank = {row["level"]: int(row["rank"]) for row in levels}
        reach = {slot: rank.get(row["level"], 0) for slot, row in self.positions.items()}
        broken = [*words(asked.get("broken")), *words(self.case.get("slot")), *words(self.case.get("hits"))]
        broken, beyond = [slot for slot in broken if slot in reach], words(asked.get("renew"))
        others = {slot: part for slot, part in others.items() if reach.get(slot)}
        deep = max([rank[asked["level"]], *(reach[slot] for slot in (*others, *ways, *broken, *beyond))])
        always = [slot for row in levels if int(row["rank"]) <= deep for slot in words(row["renews"])]
        mine = [job for job in self.jobs if job["engine"] == asked["engine"] and job["before"] in self.gap]
        mine = [job for job in mine if job["level"] in rank]
        mine = [job for job in mine if not job.get("between")]
        renewed = [row for job in mine for row in job["renewals"] if reach.get(row["slot"], 99) <= deep]
        planned = [row["slot"] for row in renewed]
        by_piece = {slot for slot in broken if self.positions[slot]["renew_as"] == "piece"}
        by_piece = by_piece.difference(always, (row["slot"] for row in renewed if row["pieces"] > 1))
        failed = {row["slot"]: row["pieces"] == 1 for row in renewed if row["cause"] in ("failure", "damage")}
        mended = failed | {slot: slot in by_piece for slot in broken}
        tasks: dict[str, Task] = {}
        for slot, part in others.items():
            self._renew(slot, tasks, mended, fits=part)
        for slot in (*ways, *broken, *always, *planned, *beyond):
            self._renew(slot, tasks, mended, ways.get(slot, ""))
        return next(level for level in rank if rank[level] == deep), tasks

    def _renew(
        self, slot: str, tasks: dict[str, Task], broken: Mapping[str, bool], way: str = "", fits: str = ""
    ) -> None:
        """A slot by its next step or a new part, with all that goes along; `fits`: by a set of this part.

        `broken`: slots, each with whether one piece mends it.
        """
        if slot in tasks and not fits:
            return
        part = next(row["part"] for row in self.build if row["slot"] == slot)
        rows, role = self.files.table("service_steps"), self.parts[part]["role"]
        path = [row for row in rows if row["part"] == part] or [r for r in rows if (r["part"], r["role"]) == ("", role)]
        left = [] if fits else path[self._steps_done(slot) :]
        steps = [row for row in left if row["operation"] == way] if way else left[:1]
        steps = [row for row in steps if way or slot not in broken or row["mends"] == "yes"]
        pieces = int(self.asked.get("pieces", {}).get(slot, 1 if broken.get(slot) else self.pieces(slot)))
        pieces = self.pieces(slot) if fits else pieces
        tasks[slot] = Task(fits or part, pieces, steps[0]["operation"] if steps else "", slot not in broken)
        for other in words(self.positions[slot]["renew_with"]):
            self._renew(other, tasks, broken)
        for role in words(steps[0]["renew_with"]) if steps else ():
            suits = [name for name in words(steps[0]["parts"]) if self.parts[name]["role"] == role]
            for other in (each for each in self.positions if self.slots[each]["role"] == role):
                self._renew(other, tasks, broken, fits="".join(suits))

    def _steps_done(self, slot: str) -> int:
        """As the garage has it, then the log, then what the plan does to it before."""
        engine, rows = self.asked["engine"], self.files.table("garage")
        step = int(next(row["step"] for row in rows if (row["engine"], row["slot"]) == (engine, slot)) or 0)
        for row in self.files.table("log"):
            if row["date"] <= str(self.on) and row["engine"] == engine and slot in words(row["slot"]):
                step = int(row["step"] or 0) if row["what"] in ("mended", "changed") else step
        before = [job["before"] in self.gap for job in self.jobs].index(True) if self.jobs else 0
        for job in (job for job in self.jobs[:before] if job["engine"] == engine):
            for row in (row for row in job["renewals"] if row["slot"] == slot):
                step = step + 1 if row["operation"] else 0
        return step

    # Lines ------------------------------------------------------------------------------------------------------------

    def bought(self, tasks: Mapping[str, Task]) -> list[Line]:
        """Parts and kits: of a new engine the kits that the build names, of a service those that save, most first."""
        new = {slot: task for slot, task in tasks.items() if not task.operation}
        needs, kits, lines = defaultdict[str, int](int), defaultdict[str, int](int), list[Line]()
        for task in new.values():
            needs[task.part] += task.pieces
        returned = {task.part for task in new.values()} - {task.part for task in new.values() if not task.back}
        while kit := self._next_kit(new, needs):
            kits[kit] += 1
            needs |= {part: needs[part] - n for part, n in self.contents[kit].items()}
        for name, pieces in (*((part, n) for part, n in needs.items() if n > 0), *kits.items()):
            cost, packs, row = self.buy(name, pieces)
            pack, kind = int(row.get("pack") or 1), "kit" if name in self.kits else "part"
            holds = self.contents[name] if kind == "kit" else {name: pack}
            spare = sum(max(-needs[part], 0) for part in holds) if kind == "kit" else packs * pack - pieces
            more = {"supplier": row["supplier"], "days": int(row["lead_days"] or 0)}
            price = cents(cost / packs * self.on_top("parts"))
            lines.append(Line(f"{kind}/{name}", "parts", Decimal(packs), price, cost, more | {"spare": spare}))
            for part, n in holds.items():
                core = cents(self.core(part, n * packs)) if part not in returned else NONE
                lines += [Line(f"core/{part}", "core", Decimal(1), core, core, more)] if core else []
        return lines

    def _next_kit(self, new: Mapping[str, Task], needs: Mapping[str, int]) -> str:
        if not self.asked.get("engine"):
            rows = [row for row in self.build if row["kit"] and row["slot"] in new]
            return next((str(row["kit"]) for row in rows if needs.get(row["part"], 0) > 0), "")
        best = max(self.kits, key=lambda kit: self._saved(kit, needs))
        return best if self._saved(best, needs) > 0 else ""

    def _saved(self, kit: str, needs: Mapping[str, int]) -> Decimal:
        """What its parts cost apart less what it costs; nothing where not all of them are needed."""
        if any(needs.get(part, 0) < n for part, n in self.contents[kit].items()):
            return NONE
        rest = {part: needs[part] - n for part, n in self.contents[kit].items() if needs[part] > n}
        apart = sum((self.buy(part, needs[part])[0] for part in self.contents[kit]), NONE)
        return apart - sum((self.buy(part, n)[0] for part, n in rest.items()), NONE) - self.buy(kit, 1)[0]

    def done(self, job: str, tasks: Mapping[str, Task], options: Iterable[Row]) -> list[Line]:
        """Work by the shop's list, and operations that are not on it at the catalog's price."""
        wanted = [*words(self.asked.get("work")), *(name for row in options for name in words(row.get("work")))]
        acts = {(task.operation, slot): task.pieces for slot, task in tasks.items() if task.operation}
        new = [*(slot for slot in tasks if not tasks[slot].operation), *(self.supplied if job == "build" else ())]
        for row in (row for row in self.build if row["slot"] in new):
            pieces = tasks[row["slot"]].pieces if row["slot"] in tasks else self.pieces(row["slot"])
            acts |= {(name, row["slot"]): pieces for name in words(row["operations"])}
        for name in words(self.case.get("operations")):
            slot = next(slot for slot in self.slots if self.slots[slot]["role"] == self.operations[name]["role"])
            acts |= {} if slot in new or (name, slot) in acts else {(name, slot): 1}
        lines, left = [], dict(acts)
        for row in (r for r in self.work if not r["jobs"] or job in words(r["jobs"]) or r["work"] in wanted):
            mine = [act for act in left if act[0] in words(row["operations"])]
            lines += [self._work(row, left.pop(act), "/".join(("", *act))) for act in mine]
            on = [slot for slot in words(row["slots"]) if slot in tasks]
            due = (on or not row["slots"]) and not yes(row["asked"]) and (not row["measure"] or self._measured(row))
            if not row["operations"] and (due or row["work"] in wanted):
                lines.append(self._work(row, sum(tasks[slot].pieces for slot in on)))
        for (name, slot), pieces in left.items():
            cost = cents(self.without_tax(number(self.operations[name]["price"]) * pieces, self.operations[name]))
            price = cents(cost / pieces * self.on_top("sublet"))
            lines.append(Line(f"operation/{name}/{slot}", "sublet", Decimal(pieces), price, cost))
        if cost := number(self.case.get("cost")):
            key, price = f"damage/Other cost of the damage: {self.case['case']}", cents(cost * self.on_top("sublet"))
            lines.append(Line(key, "sublet", Decimal(1), price, cents(cost)))
        return lines

    def _work(self, row: Row, pieces: int, where: str = "") -> Line:
        rate = next(rate for rate in self.shop["labour"] if rate["name"] == row["rate"] or not row["rate"])
        key, count = f"work/{row['work']}{where}", Decimal(pieces if row["per"] == "piece" else 1)
        hours = number(row["hours"])
        cost = number(row["cost"]) if row["cost"] else hours * number(rate["cost_per_hour"])
        more = {"hours": count * hours, "supplier": row["supplier"]}
        if row["kind"] == "labour" and not row["price"]:
            return Line(key, "labour", count * hours, number(rate["per_hour"]), cents(cost * count), more)
        price = number(row["price"]) if row["price"] else cents(cost * self.on_top(row["kind"]))
        return Line(key, row["kind"], count, price, cents(cost * count), more)

    def _measured(self, row: Row) -> bool:
        """Whether a measure lies below and above its bounds, all in their unit; one that is not known does not."""
        known, bounds = self.measures.get(row["measure"]), [row[name].split() for name in ("below", "above")]
        low, high = ([number(bound[0])] if bound else [] for bound in bounds)
        return known is not None and all(known < most for most in low) and all(known > least for least in high)

    # The quote --------------------------------------------------------------------------------------------------------

    def counted(self, bad: Iterable[str] = (), options: Sequence[Row] | None = None) -> tuple[list[Line], Row]:
        """All lines of the job with these slots bad too, and their totals."""
        options = [row for row in self.asked.get("option", ()) if yes(row.get("take"))] if options is None else options
        job, tasks = self.tasks((*self.bad, *bad), options)
        lines = [*self.bought(tasks), *self.done(job, tasks, options)]
        for row in self.asked.get("line", ()):
            count, cost = number(row.get("quantity", 1)), number(row.get("cost"))
            line = Line(f"extra/{row['name']}", row["kind"], count, number(row["price"]), cents(cost * count))
            line.discount = number(row.get("discount"))
            line.more = {"hours": count} if (line.kind, row.get("unit")) == ("labour", "h") else {}
            lines.append(line)
        self._agree(lines)
        net = cents(number(self.shop.get("supplies")) * total(lines, "net", "labour"))
        cost = cents(net / self.on_top("supplies"))
        orders = defaultdict[str, Decimal](Decimal)
        for line in (line for line in lines if line.key.startswith(("part/", "kit/"))):
            orders[line.more["supplier"]] += line.cost
        terms = [self.terms[name] for name in orders if orders[name] < number(self.terms[name].get("free_from", "inf"))]
        freight = sum((number(row.get("freight")) for row in terms), NONE)
        more = [Line("supplies", "supplies", Decimal(1), net, cost)] if net else []
        more += [Line("freight", "freight", Decimal(1), cents(freight * self.on_top("freight")), cents(freight))]
        lines += self._agree(more if freight else more[:-1])
        return lines, self._totals(job, lines)

    def _agree(self, lines: list[Line]) -> list[Line]:
        """Lines at the price and discount that the request gives them, or that were agreed before."""
        for line in lines:
            row = _named([*self.asked.get("price", ()), {"line": line.key, "discount": line.discount}], line.key)
            line.price, line.discount = number(row.get("price", line.price)), number(row.get("discount"))
            line.price, line.discount = self.held.get(line.key, (line.price, line.discount))
            line.net = cents(line.quantity * line.price) - cents(cents(line.quantity * line.price) * line.discount)
        return lines

    def _totals(self, job: str, lines: list[Line]) -> Row:
        groups, base = defaultdict[Any, Decimal](Decimal), defaultdict[Any, Decimal](Decimal)
        for line in lines:
            rows = [row for row in self.shop["tax"] if job in words(row.get("jobs", [job]))]
            row = next(row for row in rows if line.kind in row["kinds"])
            line.tax = row.get("code", "S"), number(row["percent"]) * 100
            groups[line.tax] += line.net
            base[line.tax] += line.net if line.kind in SOLD else 0
        off = {tax: cents(amount * number(self.asked.get("discount"))) for tax, amount in base.items()}
        taxed = {tax: (amount - off[tax], cents((amount - off[tax]) * tax[1] / 100)) for tax, amount in groups.items()}
        net, tax = (sum((pair[n] for pair in taxed.values()), NONE) for n in (0, 1))
        found = {"job": job, "discount": sum(off.values(), NONE), "groups": taxed, "net": net, "tax": tax}
        return found | {"gross": net + tax, "cost": total(lines, "cost", *SOLD, "credit")}

    def quote(self) -> tuple[list[Line], Row]:
        """The lines with what is held against tear-down where the price is fixed, and all that is read off them."""
        (lines, plain), more = self.counted(), {word: self.counted([word]) for word in self.chances}
        fixed = self.asked.get("basis") == "fixed"
        for kind in SOLD if fixed else ():
            net, cost = (cents(self._expected(what, kind, lines, more)) for what in ("net", "cost"))
            one = Decimal(1).copy_sign(net)  # no price is negative
            lines = lines + ([Line(f"held/{kind}", kind, one, abs(net), cost, net=net)] if net or cost else [])
        figures = self._totals(plain["job"], lines)
        figures["likely"] = {word: less(each, plain) for word, (_, each) in more.items()}
        ways = {word: (word, f"{word.partition('=')[0]}=new") for word in more}
        dear = {word: max(two, key=lambda way: self.counted([way])[1]["net"]) for word, two in ways.items()}
        figures["worst"] = {word: less(self.counted([way])[1], plain) for word, way in dear.items()}
        together = self.counted([*dear.values()])[1]
        for n, name in enumerate(("net", "gross", "cost")):
            likely = sum((Decimal(self.chances[word]) * each[n] for word, each in figures["likely"].items()), NONE)
            held = fixed and name != "cost"
            figures[f"expected_{name}"] = figures[name] if held else plain[name] + cents(likely)
            figures[f"worst_{name}"] = figures[name] if held else together[name]
        rows = self.asked.get("option", ())
        for row in rows:
            others = [each for each in rows if yes(each.get("take")) and each is not row]
            with_it, without = self.counted(options=[*others, row])[1], self.counted(options=others)[1]
            figures[f"option {row['name']}"] = less(with_it, without)
        return lines, figures | self._days(lines, figures)

    def _expected(self, what: str, kind: str, lines: list[Line], more: Mapping[str, tuple[list[Line], Row]]) -> Decimal:
        rises = {word: total(other, what, kind) - total(lines, what, kind) for word, (other, _) in more.items()}
        return sum((Decimal(self.chances[word]) * rise for word, rise in rises.items()), NONE)

    def _days(self, lines: list[Line], figures: Row) -> Row:
        """Floor, deposit, what is owed if the work stops, and the days if it is ordered at once."""
        shop, dues = self.shop, self.dues[self.shop["shop"]]
        of = figures["gross"]
        if shop.get("deposit_of") == "parts":
            of = cents(total(lines, "net", "parts") * (1 + number(shop["tax"][0]["percent"])))
        deposit = cents(max(of, NONE) * number(shop.get("deposit", dues.get("deposit"))))
        stopped = {f"work/{row['work']}" for row in self.work if yes(row["if_stopped"])}
        fresh = [line.more for line in lines if line.key.startswith(("part/", "kit/")) and line.key not in self.held]
        waits = [more["days"] + int(self.dues[more["supplier"]].get("queue_days") or 0) for more in fresh]
        parts_here, core = self._later(max(waits, default=0)), total(lines, "net", "core")
        bench_free = self._later(0 if self.held else shop.get("queue_days", dues.get("queue_days", 0)))
        hours = sum((line.more.get("hours", NONE) for line in lines), NONE)
        days = (max(parts_here, bench_free, self.here) + timedelta(days=n) for n in range(999))
        at_work = [day for day in days if day.weekday() < int(shop.get("workdays", 5))]
        return {
            "floor": (figures["cost"] / (1 - number(shop["target"]))).quantize(Decimal("0.01"), ROUND_CEILING),
            "deposit": deposit,
            "balance": figures["gross"] - deposit,
            "core": core,
            "core_by": self._later(shop.get("core_days", 60)) if core else None,
            "if_stopped": sum((line.net for line in lines if line.key in stopped), NONE),
            "valid_until": self._later(shop.get("valid_days", 30)),
            "parts_here": parts_here,
            "bench_free": bench_free,
            "hours": hours,
            "begins": at_work[0],
            "ready": at_work[max(math.ceil(hours / number(shop.get("hours_a_day", 8))) - 1, 0)],
        }

    def _later(self, days: Any) -> date:
        return self.on + timedelta(days=int(days))
