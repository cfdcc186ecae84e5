"""The price of a grid start, and that its bound is one: no start ends up cheaper, whatever the carpentry refuses."""

from __future__ import annotations

import pytest

from cutopt.gridchoice.grids import worked_out
from cutopt.gridchoice.pricing import bound, charge, tiles_for
from cutopt.lay import Cell, Layout, Left, lay, starts
from tests.jobs import area_text, carpenter_of, job_of, post_text, room, surveyed

TILE = room(1216, 1216).tile


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
    assert [tiles_for(wood) for wood in (0.0, 5.0, 5.004, 5.9)] == pytest.approx([0.0, 5.0, 5.006, 6.0])
    for part in (0.001, 0.05, 0.2, 0.6, 1.0):
        assert charge(layout_with("one_whole", part), TILE) >= tiles_for(part) - 1e-9


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (1900, 0), (1900, 1540), (0, 1310)],
        [(0, 0), (1700, 0), (1520, 1500), (0, 1500)],
        [(0, 0), (2000, 0), (2000, 1420), (1400, 1500), (0, 1290)],
    ],
)
def test_the_bound_is_under_the_price_of_each_start(corners: list[tuple[float, float]]) -> None:
    more = post_text(900, 700, 110)
    job = job_of('[tile]\nuse = "hardwood-600"\n' + area_text(corners, more=more))
    area, carpenter = surveyed(job), carpenter_of(job)
    for origin in starts(area)[::12]:
        layout = lay(area, origin)
        certain, wood = bound(layout, area)
        grid = worked_out([layout], [area], job, carpenter)
        assert certain + tiles_for(wood) <= grid.price + 1e-9
