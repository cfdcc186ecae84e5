"""What to buy: the fewest whole supports that all parts come out of, and the bit for screws that are predrilled."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Literal

import pytest

from cutopt.hang import PlacedSupport
from cutopt.work import parts_of
from cutopt.work.pilot import ROOTS, bit, collar, source
from cutopt.work.supporting import Parts
from tests.jobs import room
from tests.plans import SITES, plan_named

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
    assert parts.words == "2 whole, 2 half, 2 quarter: 4 to saw them from, 3 trimmed among them"


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
