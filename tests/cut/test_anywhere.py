"""Strategy anywhere: places that no side ties down, never worse than factory edges, and a bound under both."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from cutopt.cut import CutPlan, cut, sort_pieces
from cutopt.cut.bounding import largest_rectangle
from cutopt.fit import Carpenter
from cutopt.job.records import Strategy
from cutopt.lay.records import Shape, Side
from tests.cut.pieces import Slab
from tests.cut.test_cut import random_slab
from tests.jobs import room

JOB = room(1820, 1216, before="[rules]\nspare_backers = 99\n[cut]\nseconds = 5\n")
CARPENTER = Carpenter(tile=JOB.tile, rules=JOB.rules)
MM = 320


def planned(slabs: list[Slab], strategy: Strategy) -> CutPlan:
    job = replace(JOB, cutting=replace(JOB.cutting, strategy=strategy))
    pieces = [slab.piece(number) for number, slab in enumerate(slabs)]
    return cut(sort_pieces(pieces, [1] * len(pieces), CARPENTER), job, CARPENTER)


def strip(length: float) -> Slab:
    fixed: tuple[Side, ...] = ("u0", "v0", "v1")
    return Slab(box=(0, 0, length, 600), fixed=frozenset(fixed))


#   ┌────┬┬────┬┬────┐
#   │ A  ││ B  ││ C  │    3 x 196 + 2 x 3.2 = 594.4: the middle one has no factory end
#   └────┴┴────┴┴────┘
def test_three_ends_come_from_one_tile_where_two_keep_a_factory_edge() -> None:
    ends = [strip(196), strip(196), strip(196)]
    assert (planned(ends, "factory-edge").count, planned(ends, "anywhere").count) == (2, 1)
    assert planned(ends, "anywhere").bound == 1


@pytest.mark.parametrize("seed", range(12))
def test_anywhere_is_never_worse_and_its_bound_holds(seed: int) -> None:
    dice = random.Random(seed)
    slabs = [random_slab(dice) for _ in range(dice.randint(3, 7))]
    anywhere, edges = planned(slabs, "anywhere"), planned(slabs, "factory-edge")
    assert anywhere.bound <= anywhere.count <= edges.count
    made = [piece for tile in anywhere.tiles for piece in tile.pieces for _ in range(tile.uses)]
    assert sorted(made) == list(range(len(slabs)))


def test_the_rectangle_in_a_shape() -> None:
    taper = Shape(outline=((0, 0), (600 * MM, 0), (540 * MM, 600 * MM), (0, 600 * MM)), chords=(), notches=())
    assert largest_rectangle(taper) == (540 * MM - 2, 600 * MM - 2)
    triangle = Shape(outline=((0, 0), (100 * MM, 0), (0, 100 * MM)), chords=(), notches=())
    assert largest_rectangle(triangle) is None
