"""Every number of the PDF's tables is read back and compared with the plan, or with the lists for a spreadsheet."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from functools import cache

import pytest

from cutopt.book.lists.lists import hardware_csv, pieces_csv, shopping_csv
from cutopt.planfile import Plan
from cutopt.planfile.model import Source
from tests.book.readback import placed
from tests.book.test_pdf import card_pages, flat, grain, millimetres, outline, reader
from tests.plans import plan_named

SITES = ("demo", "bishop-deck-500", "inches")
NUMBER = r"(\d[\d./-]*)"
DATUM = r"fromthe((?:piece'ssawnedgenearerthe)?(?:home|far)(?:end|side))"
Row = dict[str, str]


@cache
def rows(name: str, table: str) -> list[Row]:
    made = {"hardware": hardware_csv, "shopping": shopping_csv, "pieces": pieces_csv}[table](plan_named(name))
    return list(csv.DictReader(io.StringIO(made)))


@cache
def cards(name: str) -> str:
    return card_pages(reader(name), plan_named(name))


def section(name: str, title: str, until: str) -> str:
    """What the pages from one title of the outline to another say."""
    book = reader(name)
    starts = {found: number for found, number, deep in outline(book) if deep == 0}
    return "\n".join(page.extract_text() for page in book.pages[starts[title] : starts[until] + 1])


def place(plan: Plan, shown: str, datum: str, axis: int, box: tuple[float, float]) -> float:
    """Where a distance from a named end or side ends, from the home end or side; `box`: the piece's rims there."""
    distance, size = millimetres(shown, plan), (plan.tile.length, plan.tile.width)[axis]
    if datum.startswith("piece's"):
        return box[0] + distance
    return distance if datum.startswith("home") else size - distance


def boxes(plan: Plan, source: Source, piece: str) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """The rims of a piece on its source, along and across, for each of its placements there."""
    outlines = {one.id: one.outline for one in plan.pieces}
    for one in source.placements:
        if one.piece == piece:
            us, vs = zip(*placed(plan, one, outlines[piece]), strict=True)
            yield (min(us), max(us)), (min(vs), max(vs))


def spots(plan: Plan, row: Row, along: tuple[str, str], across: tuple[str, str]) -> list[tuple[float, float]]:
    """Where a printed pair of distances may lie on the row's source."""
    source = next(one for one in plan.sources if one.id == row["source"])
    return [(place(plan, *along, 0, us), place(plan, *across, 1, vs)) for us, vs in boxes(plan, source, row["piece"])]


@pytest.mark.parametrize("name", SITES)
def test_holes_to_drill_are_where_the_hardware_list_has_them(name: str) -> None:
    plan, copies = plan_named(name), 0
    for row in rows(name, "hardware"):
        if (row["kind"], row["doing"]) != ("pin hole", "drill"):
            continue
        pattern = rf"h\d+drill{NUMBER},{row['piece']},backer{row['backer']}:{NUMBER}{DATUM},{NUMBER}{DATUM}"
        found = [
            (millimetres(wide, plan), spot)
            for wide, u, end, v, side in re.findall(pattern, cards(name))
            for spot in spots(plan, row, (u, end), (v, side))
        ]
        at = pytest.approx((float(row["x mm"]), float(row["y mm"])), abs=grain(plan) + 1e-6)
        (wide,) = {wide for wide, spot in found if spot == at}
        assert wide == pytest.approx(float(row["diameter mm"]), abs=grain(plan) + 1e-6)
        copies += int(row["copies"])
    assert copies == plan.totals.holes_drilled


@pytest.mark.parametrize("name", SITES)
def test_screws_in_new_places_are_where_the_hardware_list_has_them(name: str) -> None:
    plan = plan_named(name)
    pattern = rf"(s\d+)screw,(P\d+),slat(\d+),backer([A-Z]\d+\.b\d+[a-z]?):{NUMBER}{DATUM},{NUMBER}{DATUM}"
    for _, piece, slat, backer, u, end, v, side in re.findall(pattern, cards(name)):
        mine = [
            row
            for row in rows(name, "hardware")
            if row["kind"] == "screw"
            and row["doing"] == "drive in"
            and (row["piece"], row["slat"], row["backer"]) == (piece, slat, backer)
        ]
        assert any(
            spot == pytest.approx((float(row["x mm"]), float(row["y mm"])), abs=grain(plan) + 1e-6)
            for row in mine
            for spot in spots(plan, row, (u, end), (v, side))
        )
    assert name != "demo" or re.search(pattern, cards(name))


@pytest.mark.parametrize("name", SITES)
def test_backers_hang_where_the_hardware_list_has_them(name: str) -> None:
    plan, seen = plan_named(name), 0
    for row in rows(name, "hardware"):
        if row["kind"] != "backer" or row["doing"] != "hang" or row["x mm"] != row["end x mm"]:
            continue
        pattern = rf"{re.escape(row['name'])}hang[^:]*:centre{NUMBER}{DATUM},ends{NUMBER}and{NUMBER}{DATUM}"
        found = re.findall(pattern, cards(name))
        assert len(found) == 1, row["name"]
        u, end, low, high, side = found[0]
        ends = [(x, y) for v in (low, high) for x, y in spots(plan, row, (u, end), (v, side))]
        for y in ("y mm", "end y mm"):
            at = pytest.approx((float(row["x mm"]), float(row[y])), abs=grain(plan) + 1e-6)
            assert any(spot == at for spot in ends)
        seen += 1
    assert seen > 0 or name == "inches"


@pytest.mark.parametrize("name", SITES)
def test_station_lists_have_the_plans_fences_screws_and_holes(name: str) -> None:
    plan = plan_named(name)
    said = section(name, "Station by station", "Laying order")
    for step in plan.steps:
        head = rf"\b{step.n}\s+{step.source}\s+{step.face}\s+"
        if step.setup is not None and step.do == "cut":
            found = re.search(rf"{head}cut {step.cut}: {NUMBER} {plan.job.show} from the", said)
            assert found
            assert millimetres(found[1], plan) == pytest.approx(step.setup.fence, abs=grain(plan) + 1e-6)
        elif step.do == "unscrew" and step.screws:
            found = re.search(rf"{head}take out[^0-9]*?(\d+) screws?\b", said)
            assert found
            assert int(found[1]) == len(step.screws)
        elif step.do == "drill" and step.holes and step.cut is None:
            found = re.search(rf"{head}drill[^0-9]*?(\d+) holes?\b", said)
            assert found
            assert int(found[1]) == len(step.holes)
    for station in {step.station for step in plan.steps}:
        found = re.search(rf"{station.capitalize()}: (\d+) steps?\b", said)
        assert found
        assert int(found[1]) == sum(step.station == station for step in plan.steps)


@pytest.mark.parametrize("name", SITES)
def test_amounts_to_buy_are_those_of_the_shopping_list(name: str) -> None:
    said = flat(section(name, "To buy", "What stays open"))
    bought = [row for row in rows(name, "shopping") if row["list"] == "buy"]
    assert bought
    for row in bought:
        unit = row["unit"].removesuffix("s")
        words = rf"{re.escape(unit)}(s?){re.escape(flat(row['item']))}{re.escape(flat(row['why']))}"
        found = re.search(rf"([\d.,]+){words}", said)
        assert found, row["item"]
        assert float(found[1].replace(",", "")) == pytest.approx(float(row["count"]), abs=0.005)
        assert (found[1], found[2]) != ("1", "s")


@pytest.mark.parametrize("name", SITES)
def test_supports_stand_where_the_shopping_list_has_them(name: str) -> None:
    plan = plan_named(name)
    said = section(name, f"Plan: {plan.areas[0].name}", "The tiles to cut")
    wanted = [row for row in rows(name, "shopping") if row["list"] == "support plan"]
    assert wanted
    for row in wanted:
        found = re.search(rf"\b{row['item'].removeprefix('support ')}\s+(\S+) \| (\S+)", said)
        assert found, row["item"]
        at = [millimetres(found[1], plan), millimetres(found[2], plan)]
        assert at == pytest.approx([float(row["x mm"]), float(row["y mm"])], abs=grain(plan) + 1e-6)


@pytest.mark.parametrize("name", SITES)
def test_rows_places_and_turns_are_those_of_the_list_of_pieces(name: str) -> None:
    said = cards(name)
    for row in rows(name, "pieces"):
        found = re.search(rf"{row['piece']}row(\d+),place(\d+),laid(\d+)", said)
        assert found, row["piece"]
        assert [int(number) for number in found.groups()] == [int(row[what]) for what in ("row", "place", "order")]
