"""The lists as CSV: all of the plan is in them, units are in their heads, and no cell is a formula."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest

from cutopt.book.lists.cutlist import cuts_csv
from cutopt.book.lists.lists import hardware_csv, pieces_csv, shopping_csv
from cutopt.book.lists.spreadsheet import decimal, plain, table
from cutopt.planfile import Plan
from tests.book.sample import sample_json, sample_plan
from tests.plans import plan_named

SITES = ("sample", "demo", "balconies")
LISTS = (cuts_csv, pieces_csv, hardware_csv, shopping_csv)
WIDE = "\N{FULLWIDTH EQUALS SIGN}"  # some spreadsheets take it for the narrow one
FORMULAS = ["=1+1", "+SUM(A1)", "-2+3", "@A1", '=HYPERLINK("a")', "\t=1", "\r=1", " =1", f"{WIDE}1+1"]


def plan_of(name: str) -> Plan:
    return sample_plan() if name == "sample" else plan_named(name)


def rows(text: str) -> list[dict[str, str]]:
    found = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
    assert all(None not in row and None not in row.values() for row in found)  # as many cells as the head has
    return found


@pytest.mark.parametrize("name", SITES)
def test_every_piece_is_listed_with_its_place_and_size(name: str) -> None:
    plan = plan_of(name)
    listed = {row["piece"]: row for row in rows(pieces_csv(plan))}
    assert list(listed) == [piece.id for piece in plan.pieces]
    order = {name: cell.order for area in plan.areas for cell in area.cells for name in cell.pieces}
    on = {placed.piece: source.id for source in plan.sources for placed in source.placements}
    for piece in plan.pieces:
        row = listed[piece.id]
        assert (row["area"], int(row["row"]), int(row["place"])) == (piece.area, piece.row + 1, piece.col + 1)
        assert (int(row["order"]), row["fit"]) == (order[piece.id], piece.fit)
        us, vs = zip(*piece.outline, strict=True)
        assert float(row["along mm"]) == pytest.approx(max(us) - min(us), abs=1e-6)
        assert float(row["across mm"]) == pytest.approx(max(vs) - min(vs), abs=1e-6)
        assert on[piece.id] in row["source"].split()
        assert len(row["fixed sides"].split(", ")) == max(1, len(piece.fixed_sides))


def test_the_area_is_that_of_the_wood() -> None:
    # 600 x 600 with a notch of 118 x 94 at a corner; a taper of 600 x (254 + 234) / 2; a crosscut of 420 x 600
    areas = {row["piece"]: float(row["area m²"]) for row in rows(pieces_csv(sample_plan()))}
    assert areas["P6"] == pytest.approx(0.36 - 0.118 * 0.094)
    assert areas["P5"] == pytest.approx(0.6 * 0.244)
    assert areas["P1"] == pytest.approx(0.252)


@pytest.mark.parametrize("name", SITES)
def test_all_hardware_is_listed(name: str) -> None:
    plan = plan_of(name)
    kinds = Counter((row["kind"], row["doing"] if row["kind"] == "screw" else "") for row in rows(hardware_csv(plan)))
    driven = sum(screw.state != "kept" for source in plan.sources for screw in source.screws)
    out = {
        (step.source, screw) for step in plan.steps if step.do == "unscrew" for screw in step.screws
    } | {(source.id, screw) for source in plan.sources for screw in source.screws_out}  # fmt: skip
    assert kinds == Counter(
        {
            ("backer", ""): sum(len(source.backers) for source in plan.sources),
            ("screw", "take out"): len(out),
            ("screw", "drive in"): driven,
            ("pin hole", ""): sum(len(source.pin_holes) for source in plan.sources),
            ("support", ""): len(plan.supports),
        }
    )


def test_a_hardware_line_says_where_its_piece_goes() -> None:
    plan = sample_plan()
    pieces = {piece.id: piece for piece in plan.pieces}
    found = [row for row in rows(hardware_csv(plan)) if row["piece"]]
    assert found
    for row in found:
        piece = pieces[row["piece"]]
        assert (row["area"], int(row["row"]), int(row["place"])) == (piece.area, piece.row + 1, piece.col + 1)
    # T1's third backer is hung at 380 with its holes; T5's fourth is bought
    (hung,) = [row for row in found if row["name"] == "T1.b3"]
    assert (hung["doing"], hung["x mm"], hung["end x mm"]) == ("hang", "380", "380")
    assert {row["y mm"] for row in found if row["doing"] == "comes with its backer" and row["source"] == "T1"} == {
        "40",
        "560",
    }
    assert [row["name"] for row in found if row["wood"] == "bought"] == ["T5.b4"]


@pytest.mark.parametrize("name", SITES)
def test_shopping_is_what_the_plan_buys_and_where_supports_stand(name: str) -> None:
    plan = plan_of(name)
    listed = rows(shopping_csv(plan))
    bought = [row for row in listed if row["list"] == "buy"]
    assert [(row["item"], row["count"], row["unit"], row["why"]) for row in bought] == [
        (line.item, decimal(line.count), line.unit, line.why) for line in plan.buy
    ]
    stand = sorted((row["area"], row["shape"], row["x mm"], row["y mm"]) for row in listed if row["list"] != "buy")
    assert stand == sorted((s.area, s.shape, decimal(s.at[0]), decimal(s.at[1])) for s in plan.supports)


@pytest.mark.parametrize("made", LISTS)
@pytest.mark.parametrize("show", ["mm", "in"])
def test_heads_name_their_units_and_lines_end_as_in_rfc_4180(made: Callable[[Plan], str], show: str) -> None:
    text = made(sample_plan(show=show))
    head, *lines = text.split("\r\n")
    assert lines[-1] == ""
    assert "\n" not in text.replace("\r\n", "")
    assert " mm" in head
    for name in head.split(","):
        assert name.endswith((" mm", " m²", f" {show} shown")) or not any(
            word in name for word in ("along", "across", "area m", "width", "distance", "uncertainty", "kerf")
        )


@pytest.mark.parametrize(
    "name", [*FORMULAS, 'quoted "name", with a comma', "مصطبة", "x" * 200, "<b>&</b>", "a\x00b\ud800"]
)
def test_no_name_is_a_formula_or_breaks_a_row(name: str) -> None:
    made: dict[str, Any] = sample_json(name=name, area_name=name)
    made["buy"][0]["item"] = name
    plan, usual = Plan.model_validate(made), sample_plan()
    for one in LISTS:
        text = one(plan)
        text.encode("utf-8")
        found = rows(text)
        assert len(found) == len(rows(one(usual)))
        for row in found:
            for cell in row.values():
                number = cell.removeprefix("-").replace(".", "", 1).isdigit()
                assert number or not cell.lstrip().startswith(("=", "+", "-", "@", WIDE))
    shown = {row["item"] for row in rows(shopping_csv(plan))}
    assert plain(name) in shown


def test_numbers_stay_numbers() -> None:
    assert [plain(cell) for cell in ("-172", "+3", "-0.5", "-a", "- 3", "", "12")] == [
        "-172", "+3", "-0.5", "'-a", "'- 3", "", "12",
    ]  # fmt: skip
    assert [decimal(value) for value in (419.0, 0.003125, -0.0, 1e7, -172.5)] == [
        "419", "0.003125", "0", "10000000", "-172.5",
    ]  # fmt: skip


def test_a_row_has_a_cell_for_each_column() -> None:
    assert table(["a mm", "b"], [["1", 'say "so"'], ["-2", "x, y"]]) == 'a mm,b\r\n1,"say ""so"""\r\n-2,"x, y"\r\n'
    with pytest.raises(ValueError, match="longer"):
        table(["a", "b"], [["1"]])
