"""Whole plans of real and invented sites: they pass the check, and their totals are those of their parts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import pytest

from cutopt.checks import check
from cutopt.cut import CutTile
from cutopt.errors import BadInput, NoPlan, ShortOfBackers
from cutopt.hang import HungSource, hang
from cutopt.job.records import Job
from cutopt.lengths import mm
from cutopt.planfile import Plan
from cutopt.planning import Progress, plan
from tests.jobs import room
from tests.plans import SITES, job_named, plan_named


def area_of(ring: tuple[tuple[float, float], ...]) -> float:
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, (*ring[1:], *ring[:1]), strict=True)) / 2


@pytest.mark.parametrize("site", SITES)
def test_the_check_finds_no_fault(site: str) -> None:
    assert [str(finding) for finding in check(plan_named(site))] == []


@pytest.mark.parametrize("site", SITES)
def test_totals_are_those_of_the_parts(site: str) -> None:
    made = plan_named(site)
    totals = made.totals
    counts = {area.name: area.count for area in made.areas}
    assert totals.whole == sum(a.count * sum(c.kind == "whole" for c in a.cells) for a in made.areas)
    assert totals.cut == sum(source.uses for source in made.sources)
    assert totals.tiles == totals.whole + totals.cut
    assert totals.pieces == sum(counts[piece.area] for piece in made.pieces)
    assert totals.one_for_one == totals.whole + totals.pieces
    assert totals.lower_bound <= totals.cut <= totals.pieces
    assert totals.proven == made.proof.met == (made.proof.bound == made.proof.value)
    assert totals.proven == (totals.lower_bound == totals.cut) or made.proof.aim != "tiles"
    tile = made.tile.length * made.tile.width
    wood = sum(counts[piece.area] * area_of(piece.outline) for piece in made.pieces)
    # what goes into no piece and on no rack is waste, dust included
    assert wood + totals.offcut_area + totals.waste_area == pytest.approx(totals.cut * tile, rel=1e-9)
    assert totals.waste_area >= 0


@pytest.mark.parametrize("site", SITES)
def test_every_piece_is_placed_as_often_as_wanted(site: str) -> None:
    made = plan_named(site)
    counts = {area.name: area.count for area in made.areas}
    placed: dict[str, int] = {}
    for source in made.sources:
        for placement in source.placements:
            placed[placement.piece] = placed.get(placement.piece, 0) + source.uses
    assert placed == {piece.id: counts[piece.area] for piece in made.pieces}


@pytest.mark.parametrize(
    ("site", "module"), [("bishop-deck", 604.0), ("bishop-deck-500", 504.0), ("bishop-deck-24in", 609.6)]
)
def test_a_real_deck_takes_fewer_tiles_than_one_for_one(site: str, module: float) -> None:
    made = plan_named(site)
    (area,) = made.areas
    assert area.grid.pitch == pytest.approx((module, module))
    # 8 ft 4 in x 14 ft 4 in: 100 x 172 in, 2540 x 4368.8 mm (1 in = 25.4 mm, NIST SP 811, App. B.8)
    assert area_of(area.outline) == pytest.approx(100 * 172 * 25.4**2, rel=1e-6)
    for post in area.posts:
        assert area_of(post.outline) == pytest.approx((4 * 25.4) ** 2, rel=1e-5)
    assert made.totals.proven
    assert made.totals.tiles < made.totals.one_for_one
    # no fewer than the deck's surface asks for, less the gaps and what is listed as open
    open_area = sum(area_of(left.outline) for cell in area.cells for left in cell.left)
    covered = made.totals.whole * made.tile.length * made.tile.width + sum(area_of(p.outline) for p in made.pieces)
    gaps_and_joints = area_of(area.outline) - open_area - covered - 3 * 101.6**2
    assert 0 < gaps_and_joints < 0.05 * area_of(area.outline)


def test_grid_starts_are_compared() -> None:
    proof = plan_named("demo").proof
    assert proof.grids.considered > 10
    assert 0 <= proof.grids.dropped < proof.grids.considered
    # starts are dropped by a bound on cells filled as laid: nothing is claimed of cells filled in other ways there
    assert proof.scope == "this grid"


def test_best_takes_no_more_tiles_than_the_fixed_rules() -> None:
    jobs = {rule: room(2950, 2210, grid=f'"{rule}"') for rule in ("best", "full-first", "centred")}
    made = {rule: plan(job) for rule, job in jobs.items()}

    def price(one: Plan) -> tuple[int, int]:
        return sum(len(cell.left) for area in one.areas for cell in area.cells), one.totals.tiles

    assert price(made["best"]) <= min(price(made["full-first"]), price(made["centred"]))
    assert made["full-first"].proof.grids.considered == 1
    assert made["full-first"].proof.scope == "this grid"


def test_progress_goes_up_to_all_grid_starts() -> None:
    seen: list[Progress] = []
    plan(room(2950, 2210, grid='"best"'), progress=seen.append)
    assert seen[-1].done == seen[-1].of
    assert [one.done for one in seen] == sorted(one.done for one in seen)
    assert all(one.bound is None or one.best is None or one.bound <= one.best for one in seen)


@pytest.mark.parametrize(
    ("width", "depth"),
    [
        (100, 100),  # smaller than any piece may be
        (12, 3000),  # the gaps eat everything
    ],
)
def test_where_nothing_can_be_laid_the_rule_is_named(width: float, depth: float) -> None:
    with pytest.raises(NoPlan) as refusal:
        plan(room(width, depth))
    assert refusal.value.rule
    assert refusal.value.rule in str(refusal.value)


def test_a_terrace_smaller_than_a_tile_is_one_piece() -> None:
    made = plan(room(500, 450))
    assert (made.totals.tiles, made.totals.cut) == (1, 1)
    assert check(made) == ()


def test_a_job_of_many_areas_shares_the_tiles() -> None:
    made = plan_named("balconies")
    assert len(made.areas) == 2
    assert {area.count for area in made.areas} == {11, 12}


def test_the_demo_is_out_of_square_as_walls_are() -> None:
    """DIN 18202, Table 2, deviation from a right angle by nominal size: 3 to 6 m 12 mm, 6 to 15 m 16 mm."""
    (area,) = job_named("demo").areas
    ring = [(mm(x), mm(y)) for x, y in area.corners]
    off = []
    for before, here, after in zip([ring[-1], *ring[:-1]], ring, [*ring[1:], ring[0]], strict=True):
        (ax, ay), (bx, by) = ((p[0] - here[0], p[1] - here[1]) for p in (before, after))
        short = min(math.hypot(ax, ay), math.hypot(bx, by))
        assert 3000 < short <= 6000
        cosine = (ax * bx + ay * by) / (math.hypot(ax, ay) * math.hypot(bx, by))
        off.append(abs(cosine) * short)
    assert max(off) <= 12
    assert max(off) > 1  # and not square
    assert 18e6 <= area_of(tuple(ring)) <= 30e6


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"seconds": 0}, "plan: seconds = 0: a limit is a number of seconds above 0"),
        ({"seconds": -5}, "plan: seconds = -5"),
        ({"seconds": math.nan}, "plan: seconds = nan"),
        ({"seconds": math.inf}, "plan: seconds = inf"),
        ({"seconds": "x"}, 'plan: seconds = "x"'),
        ({"seconds": True}, "plan: seconds = true"),
        ({"seed": -1}, "plan: seed = -1: a seed is a whole number, 0 or more"),
        ({"seed": "x"}, 'plan: seed = "x"'),
        ({"seed": 0.5}, "plan: seed = 0.5"),
    ],
)
def test_what_is_no_limit_or_no_seed_is_refused(given: dict[str, Any], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        plan(room(500, 450), **given)


def test_where_wood_does_not_do_another_plan_of_as_many_tiles_is_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    """The wood of the first plan is said not to do: the next one takes no more tiles, and no less wood is asked for."""
    job = job_named("bishop-deck")
    first, asked = plan(job), []

    def hang_second(tiles: Sequence[CutTile], some: Job) -> tuple[HungSource, ...]:
        asked.append(some.rules.spare_backers)
        if len(asked) == 1:
            raise ShortOfBackers(bought=some.rules.spare_backers + 1, allowed=some.rules.spare_backers)
        return hang(tiles, some)

    monkeypatch.setattr("cutopt.planning.hang", hang_second)
    second = plan(job)
    assert asked == [job.rules.spare_backers] * 2
    assert (second.totals.tiles, second.totals.lower_bound) == (first.totals.tiles, first.totals.lower_bound)
    assert check(second) == ()
