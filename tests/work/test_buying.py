"""What to buy: whole supports that all parts come out of, the bit for predrilled screws, packs, and what is used up."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import Any, Literal

import pytest
from shapely.geometry import Polygon

from cutopt.hang import PlacedSupport
from cutopt.planfile.model import Purchase
from cutopt.work import Needs, parts_of, purchases, weight_per_m2
from cutopt.work.pilot import ROOTS, bit, collar, source
from cutopt.work.supporting import Parts
from tests.jobs import room
from tests.plans import SITES, job_named, plan_named

T = 320
PAD = (140 * T, 140 * T)
Box = tuple[float, float, float, float]


def support(box: Box, shape: Literal["whole", "half", "quarter", "trimmed"], area: int = 0) -> PlacedSupport:
    """One about the origin, its pad a box in millimetres."""
    x0, y0, x1, y1 = (round(x * T) for x in box)
    return PlacedSupport(
        area=area, at=(0, 0), shape=shape, outline=((x0, y0), (x1, y0), (x1, y1), (x0, y1)), pins=((x0, y0),)
    )


WHOLE = support((-70, -70, 70, 70), "whole")
HALF = support((-70, 0, 70, 70), "half")
QUARTER = support((0, 0, 70, 70), "quarter")
TRIMMED: dict[str, PlacedSupport] = {
    "whole": support((-70, -60, 70, 70), "trimmed"),
    "half": support((-70, 0, 55, 70), "trimmed"),
    "quarter": support((-55, -70, 0, 0), "trimmed"),
}


def test_a_trimmed_one_comes_out_of_the_smallest_part_that_it_lies_in() -> None:
    parts = parts_of([WHOLE, HALF, QUARTER, *TRIMMED.values()], [1], PAD)
    assert parts == Parts(wholes=2, halves=(2, 0), quarters=2, trimmed=3)
    assert parts.to_buy == 2 + 1 + 1
    assert parts.words == "2 whole, 2 half, 2 quarter: 4 in all, 1 to halve, 1 to quarter, 3 trimmed among them"


def test_areas_that_are_alike_count_as_often() -> None:
    parts = parts_of([HALF, support((0, 0, 70, 70), "quarter", area=1)], [3, 2], PAD)
    assert (parts.halves, parts.quarters) == ((3, 0), 2)
    assert parts.to_buy == 2  # two halves; a half and two quarters


def test_halves_of_a_pad_that_is_not_square_do_not_pair_across() -> None:
    """A pad of 140 x 100 is halved to 70 x 100 or to 140 x 50, whichever way it lies."""
    across, along = support((0, -50, 70, 50), "half"), support((-70, 0, 70, 50), "half")
    turned = support((-50, -70, 0, 70), "half")  # as long as the pad: as `along`, turned
    parts = parts_of([across, along, turned], [1], (140 * T, 100 * T))
    assert parts.halves == (2, 1)
    assert parts.to_buy == 2
    # how a trimmed one lay cannot be told: it takes a whole
    assert parts_of([support((0, -50, 60, 50), "trimmed")], [1], (140 * T, 100 * T)).wholes == 1


def least(halves: tuple[int, int], quarters: int) -> int:
    """By trying: so many wholes as give them, each sawn to halves of one kind or on to quarters."""
    ways = [(2, 0, 0), (1, 0, 2), (0, 2, 0), (0, 1, 2), (0, 0, 4)]
    for count in range(20):
        for chosen in itertools.combinations_with_replacement(ways, count):
            got = [sum(way[k] for way in chosen) for k in range(3)]
            if got[0] >= halves[0] and got[1] >= halves[1] and got[2] >= quarters:
                return count
    raise AssertionError


@pytest.mark.parametrize("halves", [(a, b) for a in range(4) for b in range(4)])
@pytest.mark.parametrize("quarters", range(7))
def test_fewest_wholes(halves: tuple[int, int], quarters: int) -> None:
    parts = Parts(wholes=1, halves=halves, quarters=quarters, trimmed=0)
    assert parts.to_buy == 1 + least(halves, quarters)


# NDS 2018 App. L, Table L3 and 12.1.5, as quoted: #8 has a root of 0.131 in; above a specific gravity of 0.6 the pilot
# hole is 90 % of it, 0.1179 in = 2.99 mm, else 70 %, 2.33 mm. Eurocode 5, 10.4.5, as quoted: 0.7 d = 2.92 mm
def test_the_bit_for_predrilled_screws() -> None:
    job = room(1820, 1216)
    assert (job.tile.gauge, job.tile.density) == (8, 680)  # 680 / 1.12 = 607 kg/m3 dry
    assert bit(job) == 3 * T
    assert abs(bit(job) - 0.7 * job.tile.screw_diameter) < T / 2
    assert source(job.tile) == "#8: 90% of its root of 0.131 in (NDS 2018, 12.1.5 and Table L3, as quoted)"
    soft = replace(job, tile=replace(job.tile, density=450))
    assert bit(soft) == 2.5 * T
    inches = replace(job, show="in")
    assert bit(inches) == 8 * 127  # 7.5 sixty-fourths: 1/8 in
    assert collar(job.tile) == (18 + 20 - 5) * T


def test_a_bit_is_thinner_than_the_screws_root() -> None:
    job = room(1820, 1216)
    for gauge, root in ROOTS.items():
        assert bit(replace(job, tile=replace(job.tile, gauge=gauge))) < root * 25.4 * T


@pytest.mark.parametrize("site", SITES)
def test_a_bit_is_listed_where_a_step_predrills(site: str) -> None:
    plan = plan_named(site)
    told = [step for step in plan.steps if "predrilled" in step.text]
    bits = [line for line in plan.buy if line.item.startswith("drill bit")]
    assert len(bits) == bool(told)
    for step in told:
        size = bits[0].item.removeprefix("drill bit, ")
        assert f"bit of {size}, stop collar at" in step.text


def test_supports_to_halve_and_to_quarter() -> None:
    # 3 halves come out of two wholes; the half left over gives two quarters, two more come out of a third whole
    parts = Parts(wholes=2, halves=(3, 0), quarters=4, trimmed=0)
    assert (parts.to_halve, parts.to_quarter, parts.halves_to_halve, parts.to_buy) == (2, 1, 1, 5)
    assert parts.words == "2 whole, 3 half, 4 quarter: 5 in all, 2 to halve, 1 to quarter, 1 half to halve again"
    assert Parts(wholes=4, halves=(0, 0), quarters=0, trimmed=0).words == "4 whole, 0 half, 0 quarter: 4 in all"


@pytest.mark.parametrize("halves", [(a, b) for a in range(4) for b in range(3)])
@pytest.mark.parametrize("quarters", range(7))
def test_what_is_sawn_gives_what_stands(halves: tuple[int, int], quarters: int) -> None:
    parts = Parts(wholes=0, halves=halves, quarters=quarters, trimmed=0)
    got_halves = 2 * parts.to_halve - parts.halves_to_halve
    assert got_halves >= sum(halves)
    assert 4 * parts.to_quarter + 2 * parts.halves_to_halve >= quarters


def needs(**changed: Any) -> Needs:
    """Of a job of 30 tiles: 12 m2 of walking face."""
    parts = Parts(wholes=20, halves=(5, 0), quarters=4, trimmed=0)
    usual: dict[str, Any] = {
        "whole": 20, "cut": 10, "supports": parts, "standing": 29, "holes_drilled": 12, "screws_driven": 95,
        "predrilled": 0, "spare": {(588 * T, 60 * T): 2, (120 * T, 60 * T): 1},
        "cuts": {"table_saw": 201, "jigsaw": 21}, "sealed": 0.5, "face": 12.0, "stone": 0.0,
    }  # fmt: skip
    return Needs(**{**usual, **changed})


def bought(made: Needs, **rules: Any) -> dict[str, Purchase]:
    job = room(1820, 1216)
    found = purchases(made, replace(job, rules=replace(job.rules, **rules)))
    lines = {line.item: line for line in found if line.item != "backer"}
    assert len(lines) == len([line for line in found if line.item != "backer"])
    return lines


def test_what_is_bought() -> None:
    lines = bought(needs())
    # 30 tiles, 20 x 2 % + 10 x 5 % = 0.9, at least 2
    assert (lines["tile"].count, lines["tile"].why) == (32, "30 and 2 for breakage, all of one batch")
    # 20 + 3 to halve + ceil((4 - 2) / 4) to quarter, and 12 holes at 11 a guide wear out 2
    assert lines["support"].count == 20 + 3 + 1 + 2
    assert lines["screw"].count == 10
    # 201 cuts at 200 a blade, 21 at 10
    assert (lines["blade, table saw"].count, lines["blade, jigsaw"].count) == (2, 3)
    assert "blade, guided saw" not in lines
    # 0.5 m2 at 8 m2 a litre = 0.0625; 12 m2, one coat, at 12 m2 a litre; 12 m2 at 2 m2 a disc
    assert (lines["end-grain sealer"].count, lines["coating"].count) == (0.1, 1.0)
    assert lines["abrasive disc, grit 80"].count == lines["abrasive disc, grit 120"].count == 6
    assert "adhesive" not in lines
    assert "stone" not in lines


def test_backers_are_bought_by_length() -> None:
    lines = [line for line in purchases(needs(), room(1820, 1216)) if line.item == "backer"]
    assert [(line.count, line.why.split(",")[0]) for line in lines] == [(2, "588 mm long"), (1, "120 mm long")]
    assert needs().spare_backers == 3


def test_packs_and_boxes_are_bought_whole() -> None:
    lines = bought(needs(), tiles_a_pack=6, screws_a_box=50)
    assert (lines["tile"].count, lines["screw"].count) == (36, 50)
    assert lines["tile"].why == "30 and 2 for breakage, in 6 packs of 6, all of one batch"
    assert lines["screw"].why.endswith("driven again, in 1 box of 50")
    assert bought(needs(screws_driven=501), screws_a_box=50)["screw"].why.endswith("in 2 boxes of 50")


def test_coats_and_dabs_as_the_rules_have_them() -> None:
    twice = bought(needs(), coats=2, dabs_a_support=4)
    assert twice["coating"].count == 2.0
    assert "2 coats" in twice["coating"].why
    assert (twice["adhesive"].count, twice["adhesive"].unit) == (4, "cartridges")  # 29 x 4 = 116 at 30 a cartridge
    bare = bought(needs(), coats=0)
    assert "coating" not in bare
    assert bare["abrasive disc, grit 80"].count == 1  # for the sawn edges
    assert "abrasive disc, grit 80" not in bought(needs(cuts={}), coats=0)


def test_nothing_is_bought_for_nothing() -> None:
    parts = Parts(wholes=12, halves=(0, 0), quarters=0, trimmed=0)
    lines = bought(
        needs(cut=0, supports=parts, holes_drilled=0, screws_driven=0, spare={}, cuts={}, sealed=0.0, face=0.0)
    )
    assert set(lines) == {"tile", "support"}


@pytest.mark.parametrize("site", SITES)
def test_quantities_follow_from_the_plan(site: str) -> None:
    """The face is that of slats: of a whole tile all of them, of a piece its fragments."""
    plan = plan_named(site)
    slats = sum(slat.v[1] - slat.v[0] for slat in plan.tile.slats) * plan.tile.length
    pieces = sum(s.uses * Polygon(slat.outline).area for s in plan.sources for slat in s.slats)
    face = (plan.totals.whole * slats + pieces) / 1e6
    lines = {line.item: line.count for line in plan.buy}
    assert 0 <= lines["coating"] - face / plan.rules["coat_coverage"] < 0.05 + 1e-6
    assert lines["abrasive disc, grit 80"] == math.ceil(face / plan.rules["disc_coverage"])
    spare = sum(line.count for line in plan.buy if line.item == "backer")
    assert spare == plan.totals.spare_backers


def test_the_weight_of_the_demo_tile() -> None:
    """Seven slats of 600 x 80 x 20 and three backers of 588 x 60 x 18 mm at 680 kg/m3 on 0.36 m2."""
    volume = 7 * 0.6 * 0.08 * 0.02 + 3 * 0.588 * 0.06 * 0.018
    assert weight_per_m2(room(1820, 1216).tile) == pytest.approx(volume * 680 / 0.36)
    assert plan_named("demo").totals.weight_per_m2 == 16.3


@pytest.mark.parametrize("site", SITES)
def test_the_cost_is_that_of_its_prices(site: str) -> None:
    totals, money = plan_named(site).totals, job_named(site).money
    assert totals.prices == {"tile": money.tile, "hour": money.hour, "backer": money.backer}
    cost = totals.tiles * money.tile + totals.minutes / 60 * money.hour + totals.spare_backers * money.backer
    assert totals.cost == pytest.approx(cost, abs=0.06 / 60 * money.hour + 0.01)
