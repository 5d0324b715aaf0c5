"""Small scenarios drawn at random, as files: a few slots of an engine with a few parts each, a book, kits, a garage."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from pathlib import Path
from random import Random

from costplan.choose import NOTHING, SHELF, Wishes
from costplan.scenario import Scenario, read_scenario

DAY = date(2027, 2, 1)
Write = Callable[[str, str], Path]

#: slot -> its role, its pieces, and the columns of its parts with the figures that they are drawn from.
SLOTS: dict[str, tuple[str, int, dict[str, tuple[str, ...]]]] = {
    "block": ("block", 1, {"bore [in]": ("4.000", "4.030", "3.990"), "deck_height [in]": ("9.000", "9.010")}),
    "crank": ("crank", 1, {"stroke [in]": ("3.00", "3.10", "3.25")}),
    "rods": ("rod", 4, {"rod_length [in]": ("6.000", "5.950"), "material": ("steel", "iron")}),
    "pistons": (
        "piston",
        4,
        {
            "bore [in]": ("4.000", "4.030", "3.990"),
            "pin_height [in]": ("1.450", "1.500"),
            "dish_volume [cm3]": ("0", "5", "-4"),
        },
    ),
    "heads": ("head", 2, {"chamber_volume [cm3]": ("58", "60", "64"), "material": ("iron", "steel")}),
    "camshaft": ("camshaft", 1, {"intake_lobe_lift [in]": ("0.320", "0.340", "0.355")}),
    "rockers": ("rocker", 8, {"rocker_ratio": ("1.5", "1.6", "1.65")}),
    "springs": (
        "spring",
        8,
        {"installed_height [in]": ("1.750", "1.800"), "coil_bind_height [in]": ("1.100", "1.150")},
    ),
    "studs": ("stud", 3, {"material": ("iron", "steel")}),
    "more-studs": ("stud", 5, {"material": ("iron", "steel")}),
    "damper": ("damper", 1, {"pulley_diameter [in]": ("6.0", "7.0")}),
    "pump-pulley": ("pulley", 1, {"pulley_diameter [in]": ("6.0", "7.0", "8.0")}),
}
#: Slots that may be left empty, where they are drawn so.
MAY_BE_EMPTY = ("damper", "more-studs", "studs", "rods")
#: input of the measures -> where it comes from, if that slot is there, else what it is.
INPUTS = {
    "bore": ("block.bore", "4.000 in"),
    "stroke": ("crank.stroke", "3.10 in"),
    "rod_length": ("rods.rod_length", "6.000 in"),
    "pin_height": ("pistons.pin_height", "1.450 in"),
    "deck_height": ("block.deck_height", "9.005 in"),
    "dish_volume": ("pistons.dish_volume", "2 cm3"),
    "chamber_volume": ("heads.chamber_volume", "60 cm3"),
    "gasket_bore": ("", "4.1 in"),
    "gasket_thickness": ("", "0.040 in"),
    "intake_lobe_lift": ("camshaft.intake_lobe_lift", "0.340 in"),
    "rocker_ratio": ("rockers.rocker_ratio", "1.6"),
    "installed_height": ("springs.installed_height", "1.800 in"),
    "coil_bind_height": ("springs.coil_bind_height", "1.150 in"),
    "drive_pulley": ("damper.pulley_diameter", "6.5 in"),
    "water_pump_pulley": ("pump-pulley.pulley_diameter", "7.0 in"),
    "red_line": ("", "7000 rpm"),
}
#: measure -> the bounds that it is held to.
MEASURES = {
    "displacement": ('max = "316.6 in3"', 'min = "150.8 in3"', 'max = "155.9 in3"', 'max = "160 in3"'),
    "compression_ratio": ("max = 10.5", "max = 9.5", "min = 9.7\nmax = 11"),
    "deck_clearance": ('nominal = "0.02 in"\nwithin = "0.03 in"', 'min = "0.000 in"', 'max = "0.025 in"'),
    "piston_speed": ('max = "3616 ft/min"', 'max = "18.2 m/s"'),
    "intake_lift": ('max = "0.544 in"', 'max = "0.51 in"', 'min = "0.528 in"\ntolerance = "0.001 in"'),
    "intake_spring_margin": ('min = "0.060 in"', 'min = "0.10 in"'),
    "water_pump_speed": ('max = "7000 rpm"', 'max = "6500 rpm"'),
    "rod_ratio": ("min = 1.9", "min = 1.9\nmax = 1.95"),
    "mass": ('min = "10 lb"', 'max = "6000 g"', 'max = "8 kg"'),
}


@dataclass
class Files:
    """A scenario as text: tables with their rows, and TOML files with their blocks, so that both can be shuffled."""

    tables: dict[str, list[str]] = field(default_factory=dict)
    blocks: dict[str, list[str]] = field(default_factory=dict)

    def shuffled(self, rng: Random) -> Files:
        """The same with rows and blocks in another order; the first line of a table and the head of a file stay."""
        return Files(
            {name: [rows[0], *rng.sample(rows[1:], len(rows) - 1)] for name, rows in self.tables.items()},
            {name: [rows[0], *rng.sample(rows[1:], len(rows) - 1)] for name, rows in self.blocks.items()},
        )

    def write(self, folder: Path) -> Scenario:
        for name, rows in {**self.tables, **self.blocks}.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text("\n".join(rows) + "\n")
        scenario, problems = read_scenario(folder / "s")
        assert scenario is not None and not problems, problems
        return scenario


@dataclass
class Draw:
    """One scenario that is being drawn."""

    rng: Random
    slots: tuple[str, ...]
    quantity: dict[str, int]
    parts: dict[str, tuple[str, ...]] = field(default_factory=dict)
    empty: frozenset[str] = frozenset()
    kits: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()
    planned: dict[str, str] = field(default_factory=dict)
    turns: dict[str, str] = field(default_factory=dict)

    def maybe(self, share: float) -> bool:
        return self.rng.random() < share

    def slot(self) -> str:
        return self.rng.choice(self.slots)

    def some_of(self, slot: str) -> str:
        parts = self.parts[SLOTS[slot][0]]
        return " ".join(sorted(self.rng.sample(parts, self.rng.randint(1, len(parts)))))


def draw(seed: int, most: int = 4) -> tuple[Files, Wishes]:
    """The files of one scenario, and wishes for a choice in it."""
    rng = Random(seed)  # noqa: S311 - not for secrets
    slots = tuple(rng.sample(sorted(SLOTS), rng.randint(2, most)))
    if rng.random() < 0.35:
        slots = tuple(dict.fromkeys((*slots[: most - 2], "studs", "more-studs")))
    draw = Draw(rng, slots, {slot: SLOTS[slot][1] for slot in slots})
    draw.empty = frozenset(slot for slot in slots if slot in MAY_BE_EMPTY and rng.random() < 0.4)
    files = Files()
    _catalog(draw, files)
    files.tables["s/build.csv"] = list(_build(draw))
    _garage(draw, files)
    files.blocks["s/pattern.toml"] = list(_pattern(draw))
    rounding = 'rounding = "rounded"\n' if draw.maybe(0.3) else ""
    rules = list(_rules(draw))
    cut = rng.randint(0, len(rules) - 1) if rules and "choices" not in rules[0] and draw.maybe(0.25) else len(rules)
    files.blocks["s/rules.toml"] = [f'name = "book"\n{rounding}', *rules[:cut]]
    if rules[cut:]:
        files.blocks["s/more.toml"] = ['name = "second book"', *rules[cut:]]
    files.tables["s/levels.csv"] = ["level,rank", "freshen,1", "rebuild,2"]
    levels = [f"{slot},{rng.choice(('freshen', 'rebuild'))}" for slot in slots]
    files.tables["s/positions.csv"] = ["slot,level", *levels]
    files.tables["s/calendar.csv"] = ["event,date,laps,setup", "one,2027-05-01,30,", "two,2027-06-01,40,rain"]
    books = ", ".join(
        repr_of(name.removeprefix("s/")) for name in ("s/rules.toml", "s/more.toml") if name in files.blocks
    )
    files.blocks["s/scenario.toml"] = [
        'title = "drawn"\ncurrency = "USD"\nopening = 2027-02-01\ncatalogs = ["../c"]\npattern = "pattern.toml"\n'
        f'build = "build.csv"\nrules = [{books}]\n[[engine]]\nname = "blue"\n'
        '[[rate]]\ncurrency = "EUR"\nrate = 1.1\nsince = 2026-01-01\n'
    ]
    return files, _wishes(draw)


def _catalog(draw: Draw, files: Files) -> None:
    rng = draw.rng
    roles = dict.fromkeys(SLOTS[slot][0] for slot in draw.slots)
    columns = list(dict.fromkeys(name for _, _, found in SLOTS.values() for name in found))
    rows, prices, number = [], [], 0
    for role in roles:
        its = next(found for name, _, found in SLOTS.values() if name == role)
        draw.parts[role] = tuple(f"{role}-{letter}" for letter in "ABC"[: rng.randint(1, 3)])
        for part in draw.parts[role]:
            number += 1
            cells = [rng.choice(its[name]) if name in its and not draw.maybe(0.06) else "" for name in columns]
            mass = "" if draw.maybe(0.05) else str(rng.choice((300, 450, 600)))
            rows.append(
                f"{part},{role},{rng.choice(('Hill', 'Dale'))},{rng.randint(20, 90)},2027-01-10,"
                f"{rng.choice((1, 1, 2, 4))},{rng.choice((2, 20))},{rng.choice((0, 7))},{mass},{','.join(cells)}"
            )
            if draw.maybe(0.5):
                prices.append(_price(draw, part))
    files.blocks["c/catalog.toml"] = ['name = "invented"\ncurrency = "USD"\n']
    files.tables["c/roles.csv"] = ["role,shape", *(f"{role},2.5" for role in roles)]
    head = "part,role,supplier,price,price_date,pack,lead_days,resale,mass [g]"
    files.tables["c/parts.csv"] = [f"{head},{','.join(columns)}", *rows]
    lives = [f",{role},events,{rng.choice((10, 20, 40))}" for role in roles if not draw.maybe(0.2)]
    parts = [part for found in draw.parts.values() for part in found]
    lives += [f"{part},,events,{rng.choice((5, 15, 30, 60))}" for part in parts if draw.maybe(0.6)]
    files.tables["c/lives.csv"] = ["part,role,measure,replace_at", *lives]
    files.tables["c/operations.csv"] = [
        "operation,role,name,price,price_date,bore [in],deck_height [in]",
        *(
            ("hone,block,honed,12,2027-01-06,0.010,", "cut,block,decks cut,9,2027-01-06,,-0.010")
            if "block" in roles
            else ()
        ),
        *(f"check-{role},{role},looked at,{rng.randint(1, 3)},2027-01-06,," for role in roles),
    ]
    kits = _kits(draw, files)
    prices += [_price(draw, kit) for kit in kits if draw.maybe(0.3)]
    files.tables["c/prices.csv"] = ["part,supplier,date,price,least,pack,lead_days", *prices]


def _price(draw: Draw, name: str) -> str:
    rng = draw.rng
    pack = 1 if name.startswith("kit") else rng.choice((1, 2, 3, 8))
    day = rng.choice(("2026-06-01", "2027-01-20"))
    supplier, price, least = rng.choice(("Dale", "Moor")), rng.randint(10, 80), rng.choice((1, 1, 3))
    return f"{name},{supplier},{day},{price},{least},{pack},{rng.choice((1, 15))}"


def _kits(draw: Draw, files: Files) -> list[str]:
    rng, kits, contents = draw.rng, [], []
    parts = [part for found in draw.parts.values() for part in found]
    for number in range(rng.choice((0, 1, 1, 2))):
        name = f"kit-{number}"
        kits.append(
            f"{name},set,{rng.choice(('Hill', 'Dale'))},{rng.randint(30, 150)},2027-01-10,{rng.choice((2, 20))}"
        )
        held = rng.sample(parts, min(len(parts), rng.randint(1, 2)))
        contents += [f"{name},{part},{rng.choice((1, 2, 4, 8))}" for part in held]
    files.tables["c/kits.csv"] = ["kit,name,supplier,price,price_date,lead_days", *kits]
    files.tables["c/kit_contains.csv"] = ["kit,part,pieces", *contents]
    draw.kits = tuple(row.split(",")[0] for row in kits)
    return list(draw.kits)


def _garage(draw: Draw, files: Files) -> None:
    rng, rows = draw.rng, []
    for slot in draw.slots:
        part = rng.choice(draw.parts[SLOTS[slot][0]])
        if slot in draw.planned and draw.maybe(0.3):
            turn = "dry" if slot in draw.turns else ""
            bought = rng.choice(("2026-01-01", "2025-01-01"))
            rows.append(f"{slot}-on,{draw.planned[slot]},blue,{slot},{turn},,2026-03-01,{bought},12")
        if slot in draw.turns and draw.maybe(0.5):
            rows.append(f"{slot}-wet,{draw.turns[slot]},blue,{slot},wet,,2026-03-01,2026-01-01,3")
        if draw.maybe(0.3):
            used = draw.maybe(0.5)
            count = rng.choice((draw.quantity[slot], draw.quantity[slot] + 2, max(1, draw.quantity[slot] - 1)))
            rows.append(f"{slot}-spare,{part},,,,{count},,{rng.choice(('2026-01-01', ''))},{9 if used else 0}")
    files.tables["s/garage.csv"] = ["piece,part,engine,slot,alternate,count,installed,bought,events", *rows]
    draw.pieces = tuple(row.split(",")[0] for row in rows)


def _pattern(draw: Draw) -> Iterator[str]:
    lines = ['name = "drawn"', "[inputs]", "cylinders = 4"]
    for name, (source, number) in INPUTS.items():
        there = source.partition(".")[0] in draw.slots
        lines.append(f"{name} = {number if number == '1.6' and not there else repr_of(source if there else number)}")
    yield "\n".join(lines)
    for slot in draw.slots:
        role, pieces, _ = SLOTS[slot]
        optional = "\noptional = true" if slot in draw.empty else ""
        weighed = "\nweighed = false" if draw.maybe(0.1) else ""
        yield f'[[slot]]\nslot = "{slot}"\nrole = "{role}"\nquantity = {pieces}{optional}{weighed}'
    if {"block", "pistons"} <= set(draw.slots):
        within = draw.rng.choice(("0.005 in", "0.010 in", "0.03 in"))
        sides = 'this = "pistons.bore"\nmust = "equal"\nthat = "block.bore"'
        yield f'[[fit]]\nfit = "in bore"\n{sides}\nwithin = "{within}"'
    if {"rods", "heads"} <= set(draw.slots) and draw.maybe(0.6):
        yield '[[fit]]\nfit = "alike"\nthis = "rods.material"\nmust = "equal"\nthat = "heads.material"'
    if len(draw.slots) > 1 and draw.maybe(0.4):
        this, that = draw.rng.sample(draw.slots, 2)
        yield f'[[fit]]\nfit = "weight"\nthis = "{this}.mass"\nmust = "at most"\nthat = "{that}.mass"\nplus = "160 g"'
    if draw.maybe(0.4):
        yield f'[[fit]]\nfit = "light"\nthis = "{draw.slot()}.mass"\nmust = "at most"\nthat = "550 g"'
    if draw.maybe(0.3):
        yield '[[fit]]\nfit = "clear"\nthis = "deck_clearance"\nmust = "at least"\nthat = "-0.02 in"'
    if draw.maybe(0.2):
        yield '[[fit]]\nfit = "coils"\nthis = "intake_spring_margin"\nmust = "at least"\nthat = "0.05 in"'


def repr_of(word: str) -> str:
    return f'"{word}"'


def _build(draw: Draw) -> Iterator[str]:
    yield "slot,part,operations,kit,alternate,serves"
    for slot in draw.slots:
        role = SLOTS[slot][0]
        if slot in draw.empty and draw.maybe(0.5):
            continue
        draw.planned[slot] = draw.rng.choice(draw.parts[role])
        work = [f"check-{role}"] if draw.maybe(0.3) else []
        work += [name for name in ("hone", "cut") if role == "block" and draw.maybe(0.4)]
        others = [part for part in draw.parts[role] if part != draw.planned[slot]]
        takes_turns = bool(others) and draw.maybe(0.08)
        yield f"{slot},{draw.planned[slot]},{' '.join(work)},,{'dry' if takes_turns else ''},"
        if takes_turns:
            draw.turns[slot] = draw.rng.choice(others)
            yield f"{slot},{draw.turns[slot]},{draw.rng.choice(('', f'check-{role}'))},,wet,rain"


def _rules(draw: Draw) -> Iterator[str]:
    kinds = (_part_rule, _limit_rule, _sum_rule, _measure_rule, _word_rule, _price_rule, _work_rule, _count_rule)
    option = _option(draw)
    if option:
        yield option
    for number in range(draw.rng.randint(1, 5)):
        test = draw.rng.choice(kinds)(draw)
        lines = [f'[[rule]]\nid = "R{number}"\nsays = "clause {number}"', test]
        lines += ['severity = "should"'] if draw.maybe(0.07) else []
        lines += [
            draw.rng.choice(("effective = 2027-03-01", "sunset = 2026-12-31", "effective = 2026-01-01"))
        ] * draw.maybe(0.1)
        lines += [_condition(draw, option=bool(option))] if draw.maybe(0.35) else []
        if draw.maybe(0.15):
            lines.append("kept = {bought_before = 2025-06-01}" if draw.maybe(0.7) else "kept = {}")
        lines += ['proof = "inspection"'] if draw.maybe(0.1) else []
        yield "\n".join(lines)


def _option(draw: Draw) -> str:
    if len(draw.slots) < 2 or not draw.maybe(0.3):
        return ""
    slots = draw.rng.sample(draw.slots, 2)
    sets = [f'{name} = "{" ".join(draw.some_of(slot) for slot in slots)}"' for name in ("old", "new")]
    head = '[[rule]]\nid = "sets"\nsays = "one set"\nkind = "option"'
    return f'{head}\nslot = "{" ".join(slots)}"\nchoices = {{{", ".join(sets)}}}'


def _condition(draw: Draw, *, option: bool) -> str:
    slot = draw.slot()
    measure, bound = draw.rng.choice(
        (("displacement", "156 in3"), ("intake_lift", "0.53 in"), ("piston_speed", "18.5 m/s"))
    )
    tests = [
        f'{{kind = "parts", slot = "{slot}", allowed = "{draw.some_of(slot)}"}}',
        f'{{kind = "limit", of = "{slot}.mass", max = "450 g"}}',
        f'{{kind = "limit", of = "{measure}", max = "{bound}"}}',
    ]
    if option:
        tests.append('{kind = "choice", rule = "sets", one_of = "old"}')
    return f"{draw.rng.choice(('when', 'unless'))} = [{draw.rng.choice(tests)}]"


def _part_rule(draw: Draw) -> str:
    slot = draw.slot()
    say = draw.rng.choice(
        (f'allowed = "{draw.some_of(slot)}"', f'banned = "{draw.some_of(slot).split()[0]}"', 'suppliers = "Hill"')
    )
    return f'kind = "parts"\nslot = "{slot}"\n{say}'


def _limit_rule(draw: Draw) -> str:
    bound = draw.rng.choice(
        ('min = "450 g"', 'max = "450 g"', 'max = "1.0 lb"', 'min = "0.6 kg"', 'max = "445 g"\ntolerance = "5 g"')
    )
    return f'kind = "limit"\nof = "{draw.slot()}.mass"\n{bound}'


def _sum_rule(draw: Draw) -> str:
    if "block" in draw.slots and draw.maybe(0.3):
        return 'kind = "limit"\nof = "block.bore"\nless = "made.block.bore"\nmax = "0.005 in"'
    names = [f"{slot}.mass" for slot in draw.rng.sample(draw.slots, min(len(draw.slots), draw.rng.randint(2, 3)))]
    if draw.maybe(0.4):
        bound = draw.rng.choice(("max", "min"))
        return f'kind = "limit"\nof = "{" ".join(names[:-1])}"\nless = "{names[-1]}"\n{bound} = "300 g"'
    bound = draw.rng.choice(("max", "min"))
    return f'kind = "limit"\nof = "{" ".join(names)}"\n{bound} = "{draw.rng.choice((900, 1050, 1200, 1500))} g"'


def _measure_rule(draw: Draw) -> str:
    name = draw.rng.choice(sorted(MEASURES))
    return f'kind = "limit"\nof = "{name}"\n{draw.rng.choice(MEASURES[name])}'


def _word_rule(draw: Draw) -> str:
    slots = [slot for slot in draw.slots if "material" in SLOTS[slot][2]]
    if not slots:
        return _limit_rule(draw)
    key = draw.rng.choice(("one_of", "none_of"))
    return f'kind = "word"\nof = "{draw.rng.choice(slots)}.material"\n{key} = "{draw.rng.choice(("iron", "steel"))}"'


def _price_rule(draw: Draw) -> str:
    if draw.maybe(0.3):
        return f'kind = "limit"\nof = "price.{draw.slot()}"\nmax = "{draw.rng.choice((60, 120, 300))} USD"'
    most = len(draw.slots) * draw.rng.choice((30, 60, 100, 150))
    lines = [f'kind = "limit"\nof = "price"\nmax = "{most} {draw.rng.choice(("USD", "USD", "EUR"))}"']
    lines += ["prices_on = 2026-12-01"] if draw.maybe(0.5) else []
    lines += [f'without = "{draw.slot()}"'] if draw.maybe(0.4) else []
    lines += ['tolerance = "5 USD"'] if draw.maybe(0.2) and "USD" in lines[0] else []
    return "\n".join(lines)


def _work_rule(draw: Draw) -> str:
    slot = draw.slot()
    key = draw.rng.choice(("must", "must_not"))
    return f'kind = "work"\nslot = "{slot}"\n{key} = "check-{SLOTS[slot][0]}"'


def _count_rule(draw: Draw) -> str:
    role = SLOTS[draw.slot()][0]
    return f'kind = "limit"\nof = "count.{role}"\n{draw.rng.choice(("max = 4", "min = 1", "max = 8", "min = 4"))}'


def _wishes(draw: Draw) -> Wishes:
    rng = draw.rng
    wishes: dict[str, object] = {}
    if draw.maybe(0.2):
        slot = draw.slot()
        part = NOTHING if slot in draw.empty and draw.maybe(0.3) else rng.choice(draw.parts[SLOTS[slot][0]])
        wishes["pinned"] = {slot: part}
    if draw.maybe(0.15):
        wishes["banned"] = (rng.choice(draw.parts[SLOTS[draw.slot()][0]]),)
    if draw.maybe(0.2):
        wishes["suppliers"] = tuple(rng.sample(("Hill", "Dale", "Moor"), rng.randint(1, 2)))
    if draw.maybe(0.15):
        wishes["by"] = date(2027, 2, 10)
    if draw.maybe(0.6):
        wishes["hand"] = tuple(rng.sample(("blue", SHELF), rng.randint(1, 2)))
    if draw.maybe(0.35):
        wishes["unknown"] = "allow"
    if draw.empty and draw.maybe(0.6):
        wishes["optional"] = tuple(sorted(draw.empty))
    if draw.maybe(0.15):
        wishes["budget"] = Decimal(rng.randint(60, 150) * len(draw.slots))
    return Wishes(DAY, **wishes)  # type: ignore[arg-type]
