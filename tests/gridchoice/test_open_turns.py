"""Slats' direction and pattern phase where the job leaves them open: the better ones are found. Rooms are invented."""

from __future__ import annotations

import itertools
from functools import cache

import pytest

from cutopt import check, plan
from cutopt.book.words.slatways import slat_ways
from cutopt.gridchoice import Choice, Chooser, Grid
from cutopt.job.records import PHASES, Job, Pattern
from cutopt.lay import Surveyed, plain_starts, starts
from cutopt.planfile import dump
from cutopt.site import sited
from tests.jobs import area_text, carpenter_of, job_of, room, surveyed

HEAD = '[tile]\nuse = "hardwood-600"\n[lay]\n'


def chosen(job: Job) -> Choice:
    areas = [Surveyed(index=n, site=sited(area), job=job) for n, area in enumerate(job.areas)]
    return Chooser(areas=areas, job=job, carpenter=carpenter_of(job), progress=None).choose()


def best(job: Job) -> Grid:
    return chosen(job).ranked[0]


@cache
def fixed(width: float, depth: float, grid: str, lay: str) -> tuple[float, float]:
    """The rank of a room's grid where nothing is left open."""
    return best(room(width, depth, grid=grid, lay=lay)).rank


def settled(grid: Grid) -> list[tuple[object, object]]:
    return [(area.job.laying.slats, area.job.laying.phase) for area in grid.areas]


def lines(pattern: str, slats: str, phase: int | str) -> str:
    shown = f'"{phase}"' if isinstance(phase, str) else phase
    return f'pattern = "{pattern}"\nslats = "{slats}"\nphase = {shown}'


@pytest.mark.parametrize(("width", "depth", "slats"), [(700, 1350, "across"), (1350, 700, "along")])
def test_the_direction_that_takes_fewer_tiles_is_found(width: float, depth: float, slats: str) -> None:
    """A room as wide as a tile and a strip: slats along its length are held, and short ends over it are not."""
    other = {"along": "across", "across": "along"}[slats]
    made = plan(room(width, depth, lay='slats = "either"'))
    prices = {way: fixed(width, depth, '"full-first"', f'slats = "{way}"')[0] for way in (slats, other)}
    assert prices[slats] < prices[other]
    assert made.totals.tiles == plan(room(width, depth, lay=f'slats = "{slats}"')).totals.tiles
    (area,) = made.areas
    assert {cell.quarter_turn for cell in area.cells} == {slats == "across"}
    assert slat_ways(area) == f"All slats run {slats} the start wall."
    assert made.proof.grids.considered == 2
    assert made.proof.grids.dropped == 0
    assert check(made) == ()


def test_the_phase_that_takes_fewer_tiles_is_found() -> None:
    prices = [fixed(1350, 700, '"full-first"', lines("alternate", "along", phase))[0] for phase in (0, 1)]
    assert prices[1] < prices[0]
    made = plan(room(1350, 700, lay=lines("alternate", "along", "any")))
    (area,) = made.areas
    assert all(cell.quarter_turn is ((cell.row + cell.col) % 2 == 0) for cell in area.cells)
    assert slat_ways(area).startswith("Slats in row 1, to the start wall: across, along, and so on")
    assert check(made) == ()


@pytest.mark.parametrize("slats", ["along", "across"])
@pytest.mark.parametrize("phase", [0, 1, 2])
def test_the_pattern_begins_with_the_cell_that_the_phase_says(slats: str, phase: int) -> None:
    made = plan(room(1900, 1300, lay=lines("two-and-one", slats, phase)))
    (area,) = made.areas
    turned = {(cell.row, cell.col): cell.quarter_turn for cell in area.cells}
    first = [slats == "across", slats == "across", slats == "along"]
    assert [turned[0, col] for col in range(3)] == [*first[phase:], *first[:phase]]
    assert check(made) == ()


ROOMS = [(1350, 700), (950, 1560), (2100, 1000)]
ROOM_PATTERNS = [
    (*size, pattern) for size, pattern in zip(ROOMS, ("alternate", "straight", "two-and-one"), strict=True)
]


@pytest.mark.parametrize("grid", ['"full-first"', '"centred"', "{x = 160, y = 230}"])
@pytest.mark.parametrize(("width", "depth", "pattern"), ROOM_PATTERNS)
def test_what_is_chosen_is_the_best_of_all_fixed_choices(
    width: float, depth: float, pattern: Pattern, grid: str
) -> None:
    ways = itertools.product(("along", "across"), range(PHASES[pattern]))
    found = chosen(room(width, depth, grid=grid, lay=lines(pattern, "either", "any")))
    assert found.ranked[0].rank == min(fixed(width, depth, grid, lines(pattern, *way)) for way in ways)
    assert found.considered == found.expanded


@pytest.mark.parametrize(("width", "depth", "pattern"), ROOM_PATTERNS)
def test_best_is_never_worse_than_full_first_or_centred_in_any_way(
    width: float, depth: float, pattern: Pattern
) -> None:
    """By construction, so it holds where the search may work nothing else out."""
    found = best(room(width, depth, grid='"best"', lay=lines(pattern, "either", "any") + "\n[cut]\nseconds = 0.01"))
    for slats, phase in itertools.product(("along", "across"), range(PHASES[pattern])):
        for grid in ('"full-first"', '"centred"'):
            assert found.rank <= fixed(width, depth, grid, lines(pattern, slats, phase))


@pytest.mark.parametrize(("width", "depth"), ROOMS)
def test_best_of_both_directions_is_no_worse_than_the_best_of_each(width: float, depth: float) -> None:
    found = best(room(width, depth, grid='"best"', lay='slats = "either"'))
    for slats in ("along", "across"):
        assert found.rank <= fixed(width, depth, '"best"', f'slats = "{slats}"')


def two_rooms(lay: str) -> Job:
    narrow = area_text([(0, 0), (700, 0), (700, 1350), (0, 1350)], name="Narrow")
    wide = area_text([(0, 0), (1350, 0), (1350, 700), (0, 700)], name="Wide")
    return job_of(f"{HEAD}{lay}\n{narrow}{wide}")


def test_each_area_has_its_own_direction() -> None:
    job = two_rooms('grid = "full-first"\nslats = "either"')
    assert settled(best(job)) == [("across", 0), ("along", 0)]
    made = plan(job)
    assert [slat_ways(area) for area in made.areas] == [
        "All slats run across the start wall.",
        "All slats run along the start wall.",
    ]
    assert check(made) == ()


def test_with_many_areas_best_is_never_worse_than_all_of_them_by_one_rule() -> None:
    found = best(two_rooms('grid = "best"\nslats = "either"\n[cut]\nseconds = 0.01'))
    for slats, grid in itertools.product(("along", "across"), ("full-first", "centred")):
        assert found.rank <= best(two_rooms(f'grid = "{grid}"\nslats = "{slats}"')).rank


def test_alike_areas_in_groups_keep_the_direction_that_was_chosen() -> None:
    """Two strips of different rooms come from one tile, so that seven rooms alike are parted into three groups."""
    text = area_text([(0, 0), (1350, 0), (1350, 900), (0, 900)]).replace("[[area]]\n", "[[area]]\ncount = 7\n", 1)
    rules = "[rules]\nspare_backers = 99\n"
    made = plan(job_of(f'{HEAD}grid = "full-first"\nslats = "either"\n{rules}{text}'))
    across = plan(job_of(f'{HEAD}grid = "full-first"\nslats = "across"\n{rules}{text}'))
    assert len(made.areas) > 1
    assert made.totals.tiles == across.totals.tiles
    assert {cell.quarter_turn for area in made.areas for cell in area.cells} == {True}
    assert check(made) == ()


def test_where_one_direction_can_lay_nothing_the_other_is_taken() -> None:
    """88 mm of wood over the slats is thinner than a strip may be; along them it is not."""
    made = plan(room(100, 900, grid='"best"', lay='slats = "either"'))
    assert {cell.quarter_turn for area in made.areas for cell in area.cells} == {True}
    assert made.totals.pieces > 0
    assert check(made) == ()


def test_a_rectangular_tile_turns_in_all_cells_or_in_none() -> None:
    job = room(1400, 1000, tile="hardwood-24x48in", grid='"best"', lay='slats = "either"')
    made = plan(job)
    (area,) = made.areas
    assert len({cell.quarter_turn for cell in area.cells}) == 1
    each = [len(starts(one)) for one in surveyed(job).variants]
    assert made.proof.grids.considered == sum(each)
    assert check(made) == ()


def test_ways_that_lay_the_same_cells_are_looked_at_once() -> None:
    """Alternate with slats across begins as alternate along at phase 1 does."""
    job = room(2500, 1400, lay=lines("alternate", "either", "any"))
    assert len(surveyed(job).variants) == 4
    assert chosen(job).considered == 2


def test_plain_starts_are_among_the_starts() -> None:
    for grid in ('"best"', '"full-first"', '"centred"', "{x = 160, y = 230}"):
        area = surveyed(room(2950, 2210, grid=grid))
        assert set(plain_starts(area)) <= set(starts(area))


@pytest.mark.parametrize("grid", ['"full-first"', '"best"'])
def test_to_lay_nothing_is_the_worst(grid: str) -> None:
    """Stone all around costs no tiles: a tile that fits in one direction is laid, though none would be cheaper."""
    job = room(700, 1300, ["stone"] * 4, tile="hardwood-24x48in", grid=grid, lay='slats = "either"')
    made = plan(job)
    assert (made.totals.tiles, made.totals.whole) == (1, 1)
    assert check(made) == ()


def test_the_same_job_gives_the_same_bytes() -> None:
    job = room(1350, 700, grid='"best"', lay=lines("two-and-one", "either", "any"))
    made = plan(job)
    assert dump(plan(job)) == dump(made)
    assert check(made) == ()
