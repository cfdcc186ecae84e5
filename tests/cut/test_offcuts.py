"""Racked offcuts as sources, larger offcuts kept where nothing else differs, and aims in money and minutes.

Tile 600 x 600 mm with backers across at 40, 300 and 560 mm, table saw 3.2 mm. Small cases by hand; the aims against a
search through all ways to part the pieces.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace

import pytest

from cutopt.cut import CutPlan, cut, sort_pieces
from cutopt.cut.saws import Saws
from cutopt.cut.solving import Key, Solving
from cutopt.geometry import area2
from cutopt.job.records import Aim, Job, Money
from cutopt.tile import Offcut, Tile
from tests.cut.pieces import Slab
from tests.cut.test_cut import CARPENTER, JOB, corner, end, made, planned, random_slab

MM = 320


def offcut_of(tile: Tile, name: str, u: tuple[int, int], v: tuple[int, int] = (0, 600)) -> Offcut:
    """What is left of a tile between two cuts each way, its hardware all in place."""
    (u0, u1), (v0, v1) = ((low * MM, high * MM) for low, high in (u, v))
    backers = tuple(
        replace(b, v=(max(b.v[0], v0), min(b.v[1], v1)))
        for b in tile.backers
        if u0 <= b.u - b.width // 2 and b.u + b.width // 2 <= u1
    )
    kept = {b.id: b.v for b in backers}
    wood = replace(
        tile,
        slats=tuple(s for s in tile.slats if s.v[0] < v1 and v0 < s.v[1]),
        backers=backers,
        screws=tuple(s for s in tile.screws if s.backer in kept and v0 < s.at[1] < v1),
        pin_holes=tuple(h for h in tile.pin_holes if h.backer in kept and v0 < h.at[1] < v1),
        made=tile,
    )
    return Offcut(id=name, outline=((u0, v0), (u1, v0), (u1, v1), (u0, v1)), wood=wood)


def with_rack(*offcuts: Offcut, job: Job = JOB) -> Job:
    return replace(job, rack=offcuts)


def taken(plan: CutPlan) -> list[str]:
    return [tile.offcut.id for tile in plan.tiles if tile.offcut]


def test_an_offcut_saves_a_tile() -> None:
    three = [end(298), end(297), end(296)]
    assert planned(three).count == 2
    plan = planned(three, with_rack(offcut_of(JOB.tile, "R1", (0, 400))))
    assert (plan.count, plan.bound, taken(plan)) == (1, 1, ["R1"])
    assert made(plan) == {0: 1, 1: 1, 2: 1}


def test_an_offcut_is_there_once_and_no_larger_than_it_is() -> None:
    five = [end(length) for length in (298, 297, 296, 295, 294)]
    assert planned(five, with_rack(offcut_of(JOB.tile, "R1", (0, 400)))).count == 2
    assert planned(five, with_rack(offcut_of(JOB.tile, "R1", (0, 290)))).count == 3  # too short for any
    both = with_rack(offcut_of(JOB.tile, "R1", (0, 400)), offcut_of(JOB.tile, "R2", (0, 420)))
    assert planned(five[:3], both).count == 1


def test_a_fixed_side_wants_the_factory_edge_that_an_offcut_still_has() -> None:
    middle = offcut_of(JOB.tile, "R1", (10, 590))  # both ends sawn off
    assert taken(planned([end(400)], with_rack(middle))) == []
    far = offcut_of(JOB.tile, "R1", (180, 600))  # an end's piece lies there half-turned
    assert taken(planned([end(400)], with_rack(far))) == ["R1"]


def test_no_tile_at_all_where_the_rack_has_it() -> None:
    plan = planned([end(298)], with_rack(offcut_of(JOB.tile, "R1", (0, 400))))
    assert (plan.count, plan.bound, taken(plan)) == (0, 0, ["R1"])


def test_the_rack_stays_where_it_saves_nothing() -> None:
    plan = planned([end(298), end(297)], with_rack(offcut_of(JOB.tile, "R1", (0, 400), (0, 300))))
    assert (plan.count, taken(plan)) == (1, [])


@pytest.mark.parametrize("seed", range(12))
def test_with_a_rack_it_takes_no_more_tiles_and_no_fewer_than_each_offcut_saves(seed: int) -> None:
    dice = random.Random(seed)
    slabs = [random_slab(dice) for _ in range(dice.randint(3, 7))]
    cuts = [(0, dice.randint(200, 560)), (dice.randint(40, 400), 600)]
    rack = with_rack(*(offcut_of(JOB.tile, f"R{n}", u) for n, u in enumerate(cuts, 1)))
    without, plan = planned(slabs), planned(slabs, rack)
    assert made(plan) == dict.fromkeys(range(len(slabs)), 1)
    assert plan.count == plan.bound
    assert without.count - len(set(taken(plan))) <= plan.count <= without.count


def test_larger_offcuts_are_kept() -> None:
    """250 + 250 leave 97 and 150 + 150 leave 297 mm; two of 250 + 150 would leave 197 each."""
    plan = planned([end(250), end(150), end(249), end(151)])
    pairs = {tuple(sorted(tile.pieces)) for tile in plan.tiles}
    assert pairs == {(0, 2), (1, 3)}


def test_a_larger_offcut_is_no_reason_for_more_work() -> None:
    """Corners lie where they are or half-turned; what is left changes, the minutes do not."""
    slabs = [end(250), end(150), end(249), end(151), corner(250, 250, "u0", "v0")]
    plan = planned(slabs)
    ways = list(every_way(slabs, aimed("tiles")))
    fewest = min(tiles for _, tiles in ways)
    best = min(cost - tiles for cost, tiles in ways if tiles == fewest)
    work = sum(tile.pattern.minutes * tile.uses for tile in plan.tiles)
    assert plan.count == fewest
    assert work + 2.4 * plan.spare_backers == pytest.approx(best, rel=1e-3)  # a backer of 2.0 at 50 an hour


def aimed(aim: Aim) -> Job:
    money = Money(tile=7.0, hour=50.0, backer=2.0, currency="EUR")
    return replace(JOB, cutting=replace(JOB.cutting, aim=aim), money=money)


def every_way(slabs: Sequence[Slab], job: Job) -> Iterator[tuple[float, int]]:
    """What each way to part the pieces into sets costs by the job's aim, and its tiles."""
    pieces = [slab.piece(number) for number, slab in enumerate(slabs)]
    stock = sort_pieces(pieces, [1] * len(pieces), CARPENTER)
    saws = Saws(tile=job.tile, rules=job.rules, cutting=job.cutting)
    solving = Solving(stock=stock, job=job, carpenter=CARPENTER, saws=saws, twins=True)
    weights, kinds = solving.weights, solving.sets.kinds
    keys = [tuple(row) for layer in solving.sets.layers for row in layer.tolist()]
    wanted = {kind: c.demand for kind, c in enumerate(stock.classes)}

    def parted(left: dict[int, int], chosen: list[Key]) -> Iterator[list[Key]]:
        first = next((kind for kind, n in left.items() if n), None)
        if first is None:
            yield chosen
            return
        for key in keys:
            made_ = [int(kinds[i]) for i in key]
            if first in made_ and all(left[kind] >= made_.count(kind) for kind in made_) and solving.sawable(key):
                yield from parted({k: n - made_.count(k) for k, n in left.items()}, [*chosen, key])

    for chosen in parted(wanted, []):
        patterns = [solving.pattern(key) for key in chosen]
        lengths = {length for p in patterns for length in p.needs}
        short = (sum(sum(n >= at for n in p.needs) - sum(n >= at for n in p.had) for p in patterns) for at in lengths)
        spares = max(0, *short, 0)
        minutes = sum(p.minutes for p in patterns)
        yield weights.tile * len(chosen) + weights.minute * minutes + weights.spare * spares, len(chosen)


@pytest.mark.parametrize("aim", ["cost", "minutes"])
@pytest.mark.parametrize("seed", range(6))
def test_money_and_minutes_are_as_few_as_a_search_through_all_finds(aim: Aim, seed: int) -> None:
    dice = random.Random(seed)
    slabs = [random_slab(dice) for _ in range(4)]
    job = aimed(aim)
    pieces = [slab.piece(number) for number, slab in enumerate(slabs)]
    plan = cut(sort_pieces(pieces, [1] * len(pieces), CARPENTER), job, CARPENTER)
    best = min(cost for cost, _ in every_way(slabs, job))
    assert plan.value == pytest.approx(best, abs=1e-4)
    assert plan.least == pytest.approx(best, abs=1e-4)


def test_an_offcut_is_cut_within_its_ring() -> None:
    plan = planned([end(298)], with_rack(offcut_of(JOB.tile, "R1", (0, 400))))
    tree = plan.tiles[0].tree
    left = sum(area2(ring) for _, ring in tree.rests)
    assert 0 < left < 2 * (400 - 298) * 600 * MM * MM
