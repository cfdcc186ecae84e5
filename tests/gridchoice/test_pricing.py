"""The price of a grid start, and that its bound is one: no start ends up cheaper, whatever the carpentry refuses."""

from __future__ import annotations

import pytest

from cutopt.gridchoice.grids import worked_out
from cutopt.gridchoice.pricing import bound, charge, likely, price_for, prices_of
from cutopt.job.records import Aim
from cutopt.lay import Cell, Layout, Left, lay, starts
from tests.jobs import area_text, carpenter_of, job_of, post_text, room, surveyed

JOB = room(1216, 1216)
TILE, TILES = JOB.tile, prices_of(JOB)
MONEY = '[money]\ncurrency = "EUR"\ntile = 20.0\nhour = 30.0\nbacker = 2.0\n'
STRIP = area_text([(0, 0), (1520, 0), (1520, 1216), (0, 1216)])


def layout_with(rule: str, size: float) -> Layout:
    """A layout of one cell with a part left open, its size in tiles."""
    left = Left(outline=((0, 0), (1, 0), (0, 1)), rule=rule, why="", area2=round(2 * size * 600 * 600 * 320**2))
    cell = Cell(row=0, col=0, quarter_turn=False, kind="left", left=(left,), liftable=False)
    return Layout(area=0, origin=(0, 0), pitch=(1, 1), cells=(cell,), pieces=())


@pytest.mark.parametrize(
    ("rule", "size", "price"),
    [
        ("thinnest_strip", 0.02, 2.0),
        ("longest_overhang", 1.0, 2.0),
        ("longest_overhang", 0.25, 2.0),
        ("longest_overhang", 0.125, 1.0),
        ("fragment_least", 0.001, 0.5),
        ("dropped_gap", 0.02, 0.03),
        ("open_edge", 0.5, 0.75),
        ("stone_edge", 0.5, 0.0),
    ],
)
def test_what_stays_open_is_charged_by_its_reason_and_size(rule: str, size: float, price: float) -> None:
    assert charge(layout_with(rule, size), TILE) == pytest.approx(price)


def test_leaving_wood_out_is_dearer_than_the_bound_has_it() -> None:
    """Of 5.004 tiles of wood 0.004 may stay bare at 1.5 times its area; of 5.9 it is cheaper to cut a sixth tile."""
    assert [price_for(wood, TILES) for wood in (0.0, 5.0, 5.004, 5.9)] == pytest.approx([0.0, 5.0, 5.006, 6.0])
    for part in (0.001, 0.05, 0.2, 0.6, 1.0):
        assert charge(layout_with("one_whole", part), TILE) >= price_for(part, TILES) - 1e-9


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (1900, 0), (1900, 1540), (0, 1310)],
        [(0, 0), (1700, 0), (1520, 1500), (0, 1500)],
        [(0, 0), (2000, 0), (2000, 1420), (1400, 1500), (0, 1290)],
    ],
)
@pytest.mark.parametrize("aim", ["tiles", "cost", "minutes"])
def test_the_bounds_are_under_the_price_of_each_start(corners: list[tuple[float, float]], aim: Aim) -> None:
    more = post_text(900, 700, 110)
    job = job_of(f'[tile]\nuse = "hardwood-600"\n[cut]\naim = "{aim}"\n{MONEY}' + area_text(corners, more=more))
    area, carpenter, prices = surveyed(job), carpenter_of(job), prices_of(job)
    for origin in starts(area)[::12]:
        layout = lay(area, origin)
        least = bound(layout, area, prices)
        grid = worked_out([layout], [area], job, carpenter)
        assert least.certain + price_for(least.wood, prices) <= grid.price + 1e-6
        assert least.certain + least.cells <= grid.price + 1e-6
        if all(
            cell.left == grid_cell.left for cell, grid_cell in zip(layout.cells, grid.layouts[0].cells, strict=True)
        ):
            known = likely([layout], [area], job, carpenter)
            assert known is not None
            assert known <= grid.price + 1e-6


@pytest.mark.parametrize(
    ("aim", "tile", "minute", "backer"), [("tiles", 1, 0, 0), ("cost", 20, 0.5, 2), ("minutes", 1e-3, 1, 0.01)]
)
def test_what_a_grid_start_takes_by_hand(aim: Aim, tile: float, minute: float, backer: float) -> None:
    """Two by two tiles and a strip of two ends, 300 mm long each, that come from one tile; an hour is 30, a tile 20."""
    head = '[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n'
    job = job_of(head + f'[cut]\naim = "{aim}"\n{MONEY}{STRIP}')
    area = surveyed(job)
    grid = worked_out([lay(area, starts(area)[0])], [area], job, carpenter_of(job))
    assert grid.layouts[0].whole == 4
    assert grid.cut.count == 1 or aim == "minutes"  # in two tiles both ends may stay where they are hung with less work
    laid = 4 * job.rules.rate_lay_whole + 2 * job.rules.rate_lay_cut
    hung = backer * grid.cut.spare_backers
    assert grid.price == pytest.approx((4 + grid.cut.count) * tile + minute * (laid + grid.minutes) + hung, abs=0.01)
