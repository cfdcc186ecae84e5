"""How many tiles the pieces come out of: small cases by hand, random ones against an exhaustive search.

Tile 600 x 600 mm, table saw 3.2 mm, guided saw 2.2: where both can cut through, a plan leaves room for the wider.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace

import pytest

from cutopt.cut import CutPlan, cut, sort_pieces
from cutopt.fit import Carpenter, Fit
from cutopt.job.records import Job
from cutopt.lay.records import Side
from cutopt.tile import Slat
from tests.cut.pieces import Slab, fewest_tiles, places
from tests.jobs import room

JOB = room(1820, 1216, before="[rules]\nspare_backers = 99\n[cut]\nseconds = 5\n")
CARPENTER = Carpenter(tile=JOB.tile, rules=JOB.rules)


def planned(slabs: list[Slab], job: Job = JOB, carpenter: Carpenter = CARPENTER) -> CutPlan:
    pieces = [slab.piece(number) for number, slab in enumerate(slabs)]
    stock = sort_pieces(pieces, [1] * len(pieces), carpenter)
    assert stock.refused == ()
    return cut(stock, job, carpenter)


def made(plan: CutPlan) -> Counter[int]:
    return Counter(piece for tile in plan.tiles for piece in tile.pieces for _ in range(tile.uses))


def end(length: float, *fixed: Side) -> Slab:
    """A piece at the right wall: full width, its left side against a neighbour."""
    return Slab(box=(0, 0, length, 600), fixed=frozenset(fixed or ("u0", "v0", "v1")))


def corner(length: float, width: float, u: Side, v: Side) -> Slab:
    """A piece in a corner of the site: `u` and `v` are the sides that face neighbours."""
    u0 = 0 if u == "u0" else 600 - length
    v0 = 0 if v == "v0" else 600 - width
    return Slab(box=(u0, v0, u0 + length, v0 + width), fixed=frozenset((u, v)))


#   ┌──────┬┬──────┐
#   │  A   ││   B  │      298 + 298 + 3.2 = 599.2: B half-turned, its factory edge at the right
#   └──────┴┴──────┘
@pytest.mark.parametrize(("one", "other", "tiles"), [(298, 298, 1), (300, 300, 2), (300, 296.8, 1), (300, 297.1, 2)])
def test_two_ends_pair_with_a_kerf_between(one: float, other: float, tiles: int) -> None:
    plan = planned([end(one), end(other)])
    assert (plan.count, plan.bound) == (tiles, tiles)
    assert made(plan) == {0: 1, 1: 1}


def test_ends_of_opposite_walls_pair_without_a_turn() -> None:
    left = Slab(box=(302, 0, 600, 600), fixed=frozenset({"u1", "v0", "v1"}))
    plan = planned([end(298), left])
    assert plan.count == 1
    assert [place.half_turn for place in plan.tiles[0].pattern.places] in ([False, False], [True, True])


def test_a_narrower_kerf_lets_three_hundred_and_two_ninety_seven_pair() -> None:
    thin = room(
        1820, 1216, before='[rules]\nspare_backers = 99\n[cut]\nkerf = {table_saw = "2.38 mm", guided_saw = "2.2 mm"}\n'
    )
    slabs = [end(300), end(297)]
    assert planned(slabs).count == 2
    assert planned(slabs, thin).count == 1  # 300 + 2.38 + 297 = 599.38


#   ┌────┬─┬────┐
#   │ D  │ │  C │      a corner piece goes to its own corner or, half-turned, to the diagonal one
#   ├────┘ └────┤
#   ├────┐ ┌────┤
#   │ A  │ │  B │
#   └────┴─┴────┘
@pytest.mark.parametrize(
    ("corners", "tiles"),
    [
        ([("u0", "v0"), ("u1", "v0"), ("u1", "v1"), ("u0", "v1")], 1),  # one each
        ([("u0", "v0"), ("u0", "v0"), ("u1", "v0"), ("u1", "v0")], 1),  # two of a kind: own and diagonal corner
        ([("u0", "v0"), ("u0", "v0"), ("u0", "v0")], 2),  # a third of a kind finds no corner
        ([("u0", "v0"), ("u1", "v1"), ("u0", "v0")], 2),  # diagonal corners are the same two places
        ([("u0", "v0")] * 4, 2),
    ],
)
def test_corners_go_to_their_own_or_the_diagonal_corner(corners: list[tuple[Side, Side]], tiles: int) -> None:
    slabs = [corner(290, 254, u, v) for u, v in corners]
    plan = planned(slabs)
    assert (plan.count, plan.bound) == (tiles, tiles)
    assert fewest_tiles(slabs, 3.2) == tiles


def test_a_pinwheel_of_four_cannot_be_sawn() -> None:
    # 340 x 254 and 254 x 340 in turn around the middle: every pair keeps a kerf (340 + 3.2 + 254 = 597.2), no straight
    # cut runs through
    #   ┌───┬──────┐
    #   │ D │  C   │
    #   │   ├──┬───┤
    #   ├───┴──┤ B │
    #   │  A   │   │
    #   └──────┴───┘
    long, short = 340.0, 254.0
    slabs = [
        corner(long, short, "u0", "v0"),
        corner(short, long, "u1", "v0"),
        corner(long, short, "u1", "v1"),
        corner(short, long, "u0", "v1"),
    ]
    assert fewest_tiles(slabs, 3.2) == 2
    assert fewest_tiles(slabs[:3], 3.2) == 1  # three rectangles in corners always separate
    plan = planned(slabs)
    assert plan.count == 2
    assert plan.bound <= 2


def asymmetric() -> tuple[Job, Carpenter]:
    """A tile whose first slat ends 10 mm sooner: a half turn would show."""
    slats = (Slat(id=1, v=(0, 70 * 320)), *JOB.tile.slats[1:])
    tile = replace(JOB.tile, slats=slats)
    job = replace(JOB, tile=tile)
    return job, Carpenter(tile=tile, rules=job.rules)


def test_asymmetric_slats_are_not_half_turned() -> None:
    job, carpenter = asymmetric()
    assert CARPENTER.slats_turn
    assert not carpenter.slats_turn
    slabs = [end(250), end(250)]
    assert planned(slabs).count == 1
    plan = planned(slabs, job, carpenter)
    assert (plan.count, plan.bound) == (2, 2)
    assert not any(place.half_turn for tile in plan.tiles for place in tile.pattern.places)


def test_one_for_one_is_a_tile_a_piece() -> None:
    job = room(1820, 1216, before='[cut]\nstrategy = "one-for-one"\n[rules]\nspare_backers = 99\n')
    slabs = [end(250), end(250), end(200), corner(290, 254, "u0", "v0")]
    plan = planned(slabs, job)
    assert (plan.count, plan.bound) == (4, 4)
    assert all(len(tile.pieces) == 1 for tile in plan.tiles)


def test_many_alike_are_cut_alike() -> None:
    """A hundred balconies: two of the same piece come from one tile."""
    (piece,) = [end(298).piece(0)]
    plan = cut(sort_pieces([piece], [100], CARPENTER), JOB, CARPENTER)
    assert (plan.count, plan.bound) == (50, 50)
    assert [tile.uses for tile in plan.tiles] == [50]
    assert made(plan) == {0: 100}


# ripped here, each leaves a fragment of at least 32 mm, so that no slats are shared out and none comes off whole
SIZES = (160.0, 213.0, 254.0, 296.0, 340.0, 427.0)
SIDES: tuple[tuple[Side, ...], ...] = (
    ("u0", "v0", "v1"), ("u1", "v0", "v1"), ("u0", "u1", "v0"), ("u0", "u1", "v1"),
    ("u0", "v0"), ("u1", "v0"), ("u0", "v1"), ("u1", "v1"), ("u0",), ("v1",), (),
)  # fmt: skip


def random_slab(dice: random.Random) -> Slab:
    """A slab with random fixed sides whose every place on a tile the carpenter can hang."""
    while True:
        fixed = dice.choice(SIDES)
        spans = []
        for axis in ("u", "v"):
            both = f"{axis}0" in fixed and f"{axis}1" in fixed
            size = 600.0 if both or dice.random() < 0.25 else dice.choice(SIZES)
            spans.append((600 - size, 600.0) if f"{axis}1" in fixed and not both else (0.0, size))
        (u0, u1), (v0, v1) = spans
        slab = Slab(box=(u0, v0, u1, v1), fixed=frozenset(fixed))
        boxes = [tuple(round(x * 320) for x in box) for box in places(slab, half_turns=True)]
        rings = [((a, b), (c, b), (c, d), (a, d)) for a, b, c, d in boxes]
        if (u1 - u0, v1 - v0) != (600, 600) and all(isinstance(CARPENTER.fit(ring), Fit) for ring in rings):
            return slab


@pytest.mark.parametrize("seed", range(40))
def test_as_few_tiles_as_an_exhaustive_search_finds(seed: int) -> None:
    dice = random.Random(seed)
    slabs = [random_slab(dice) for _ in range(dice.randint(3, 7))]
    plan = planned(slabs)
    assert made(plan) == dict.fromkeys(range(len(slabs)), 1)
    assert (plan.count, plan.bound) == (fewest_tiles(slabs, 3.2),) * 2


def test_a_limit_on_patterns_leaves_the_bound_true(monkeypatch: pytest.MonkeyPatch) -> None:
    slabs = [end(298), end(297), end(296), end(295)]
    assert planned(slabs).count == 2
    monkeypatch.setattr("cutopt.cut.solving.MOST_SETS", 4)
    plan = planned(slabs)
    assert plan.bound <= 2
    assert plan.count >= 2
