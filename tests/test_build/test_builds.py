"""build.csv: operations, kits and alternates, each fault at its place; and an engine as it stands in the garage."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from pytest import approx

from costplan.build import Bill, Build, Figures, Pattern, Slot, read_build, standing
from costplan.catalog import Catalog, Operation, Part, Role, ServiceStep
from costplan.garage import Bench, Piece
from costplan.problems import Place
from costplan.quantity import Quantity

Write = Callable[[str, str | bytes], Path]
Seen = list[tuple[str, str, str]]
NO_BILL = Bill((), "USD", date(2027, 2, 3), None, Decimal(0), Decimal(0), 0, None)


def inches(value: float) -> Quantity:
    return Quantity(value, "in")


def part(name: str, role: str, **attributes: Quantity | str) -> Part:
    return Part(part=name, role=role, supplier="x").model_copy(update={"attributes": attributes})


def operation(name: str, role: str, **changes: Quantity) -> Operation:
    return Operation(operation=name, role=role).model_copy(update={"changes": changes})


CATALOG = Catalog(
    parts={
        found.part: found
        for found in (
            part("B-1", "block", bore=inches(4.0), deck_height=inches(9.0)),
            part("B-2", "block", bore=inches(4.0)),
            part("C-1", "carburetor"),
            part("C-2", "carburetor"),
        )
    },
    written=frozenset({"B-1", "B-2", "C-1", "C-2"}),
    roles={role: Role(role=role) for role in ("block", "carburetor")},
    operations={
        found.operation: found
        for found in (
            operation("deck-10", "block", deck_height=inches(-0.010)),
            operation("hone", "block", bore=inches(0.005)),
            operation("bore-30", "block", bore=inches(0.025)),
            operation("mill", "block", deck_height=inches(-9)),
            operation("clean", "carburetor"),
        )
    },
    named_operations=frozenset({"deck-10", "hone", "bore-30", "mill", "clean", "at-fault"}),
    steps=(
        ServiceStep(part="B-1", step=1, operation="hone"),
        ServiceStep(part="B-1", step=2, operation="bore-30"),
        ServiceStep(role="block", step=1, operation="bore-30"),
    ),
)
PATTERN = Pattern(
    "by hand",
    {"block": Slot(slot="block", role="block"), "carburetor": Slot(slot="carburetor", role="carburetor")},
    {},
)
HEADER = "slot,part,operations,kit,alternate,serves\n"


def build_of(write: Write, rows: str) -> tuple[Build, Seen]:
    build, problems = read_build(write("build.csv", HEADER + rows), PATTERN, CATALOG)
    return build, [(p.code, str(p.place).rpartition("/")[2], p.field) for p in problems]


def test_operations_and_kit_of_a_slot(write: Write) -> None:
    build, problems = build_of(write, "block,B-1,deck-10 hone,K-1,,\ncarburetor,C-1,,,,\n")
    fill = build.fills["block"]
    assert problems == []
    assert ([one.operation for one in fill.operations], fill.kit) == (["deck-10", "hone"], "K-1")
    assert (build.fills["carburetor"].operations, build.fills["carburetor"].kit) == ((), "")
    assert Figures(build, NO_BILL).named("block.deck_height").value == inches(8.99)


def test_an_operation_done_twice_counts_twice(write: Write) -> None:
    build, _ = build_of(write, "block,B-1,deck-10 deck-10,,,\ncarburetor,C-1,,,,\n")
    found = Figures(build, NO_BILL).named("block.deck_height").value
    assert found is not None
    assert found.value == approx(8.98)


def test_alternates_take_turns_and_one_is_the_main(write: Write) -> None:
    build, problems = build_of(
        write, "block,B-1,,,,\ncarburetor,C-2,,,wet,rain dusk\ncarburetor,C-1,clean,,dry,\ncarburetor,C-1,,,old,night\n"
    )
    assert problems == []
    assert (build.fills["carburetor"].part.part, build.fills["carburetor"].place.line) == ("C-1", 4)
    assert [(one.name, one.serves, one.fill.part.part) for one in build.alternates["carburetor"]] == [
        ("wet", ("rain", "dusk"), "C-2"),
        ("dry", (), "C-1"),
        ("old", ("night",), "C-1"),
    ]
    assert [fill.place.line for fill in build.everything()] == [2, 3, 4, 5]


def test_one_row_alone_has_no_alternates_even_with_a_name(write: Write) -> None:
    build, problems = build_of(write, "block,B-1,,,,\ncarburetor,C-1,,,dry,\n")
    assert (problems, build.alternates) == ([], {})


@pytest.mark.parametrize(
    ("rows", "problem"),
    [
        ("block,B-1,deck-11,,,\n", ("BLD011", "build.csv:2", "operations")),
        ("block,B-1,hone clean,,,\n", ("BLD012", "build.csv:2", "operations")),
        ("block,B-1,mill,,,\n", ("BLD013", "build.csv:2", "operations")),
        ("block,B-1,,,,\nblock,B-2,,,,\n", ("BLD009", "build.csv:3", "slot")),
        ("block,B-1,,,a,\nblock,B-2,,,,x\n", ("BLD009", "build.csv:3", "alternate")),
        ("block,B-1,,,,\nblock,B-2,,,b,x\n", ("BLD009", "build.csv:2", "alternate")),
        ("block,B-1,,,a,\nblock,B-2,,,a,x\n", ("BLD009", "build.csv:3", "alternate")),
        ("block,B-1,,,a,y\nblock,B-2,,,b,x\n", ("BLD010", "build.csv:2", "serves")),
        ("block,B-1,,,a,\nblock,B-2,,,b,\n", ("BLD010", "build.csv:3", "serves")),
        ("block,B-1,,,a,x\n", ("BLD010", "build.csv:2", "serves")),
    ],
)
def test_a_fault_stands_at_its_row(write: Write, rows: str, problem: tuple[str, str, str]) -> None:
    assert build_of(write, rows + "carburetor,C-1,,,,\n")[1] == [problem]


def test_an_operation_whose_row_is_at_fault_is_not_unknown(write: Write) -> None:
    assert build_of(write, "block,B-1,at-fault,,,\ncarburetor,C-1,,,,\n")[1] == []


def test_what_the_part_does_not_give_cannot_run_out(write: Write) -> None:
    assert build_of(write, "block,B-2,mill,,,\ncarburetor,C-1,,,,\n")[1] == []


# As it stands ---------------------------------------------------------------------------------------------------------


def planned(write: Write) -> Build:
    build, problems = build_of(write, "block,B-1,deck-10,,,\ncarburetor,C-1,,,dry,\ncarburetor,C-2,,,wet,rain\n")
    assert problems == []
    return build


def value_of(build: Build, name: str) -> float:
    figure = Figures(build, NO_BILL).named(name)
    assert figure.value is not None
    return figure.value.to("in")


def test_a_piece_has_had_the_operations_of_its_service_steps(write: Write) -> None:
    build = planned(write)
    bores = [
        value_of(
            standing(build, (Piece(piece="one", part="B-1", engine="a", slot="block", step=step),), (), CATALOG), name
        )
        for step, name in ((0, "block.bore"), (1, "block.bore"), (2, "block.bore"), (2, "block.deck_height"))
    ]
    assert bores == approx([4.0, 4.005, 4.03, 8.99])


def test_planned_operations_are_not_steps_so_that_no_bill_counts_the_steps(write: Write) -> None:
    piece = Piece(piece="one", part="B-1", engine="a", slot="block", step=2)
    fill = standing(planned(write), (piece,), (), CATALOG).fills["block"]
    assert [one.operation for one in fill.operations] == ["deck-10"]
    assert [one.operation for one in fill.steps] == ["hone", "bore-30"]


def test_another_part_in_the_garage_is_the_one_that_stands_with_its_own_path(write: Write) -> None:
    piece = Piece(piece="one", part="B-2", engine="a", slot="block", step=1, place=Place("garage.csv", 3))
    fill = standing(planned(write), (piece,), (), CATALOG).fills["block"]
    assert (fill.part.part, fill.operations, str(fill.place)) == ("B-2", (), "garage.csv:3")
    assert [one.operation for one in fill.steps] == ["bore-30"]


def test_a_slot_without_a_piece_is_as_planned(write: Write) -> None:
    build = planned(write)
    assert standing(build, (), (), CATALOG) == replace(build, fills=dict(build.fills))


def test_the_piece_of_the_main_alternate_is_the_one_that_counts(write: Write) -> None:
    pieces = (
        Piece(piece="w", part="C-2", engine="car", slot="carburetor", alternate="wet"),
        Piece(piece="d", part="C-2", engine="car", slot="carburetor", alternate="dry"),
    )
    stands = standing(planned(write), pieces, (), CATALOG)
    assert stands.part("carburetor") == CATALOG.parts["C-2"]
    assert [one.fill.part.part for one in stands.alternates["carburetor"]] == ["C-2", "C-2"]


def test_the_bench_of_the_engine_takes_the_place_of_that_of_the_plan(write: Write) -> None:
    def row(value: str) -> Bench:
        return Bench(slot="block", attribute="bore", value=Decimal(value), unit="in", date=date(2027, 2, 3))

    build = replace(planned(write), bench=(row("4.1"),))
    assert value_of(build, "block.bore") == 4.1
    assert value_of(standing(build, (), (), CATALOG), "block.bore") == 4.0
    assert value_of(standing(build, (), (row("4.2"),), CATALOG), "block.bore") == 4.2
