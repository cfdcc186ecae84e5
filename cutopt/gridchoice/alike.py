"""Areas that there are many of, parted into groups that stand on the same supports.

Supports are listed once for all of a group. Where a piece is cut in two ways, from a new tile and from an offcut, say,
its pin holes may lie in two sets of places: then the first twenty balconies have the one, the last ten the other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise

import shapely

from cutopt.cut import CutTile, Place
from cutopt.gridchoice.grids import Grid
from cutopt.gridchoice.grouping import Grouped, parted
from cutopt.job.records import Area, Job
from cutopt.lay import Surveyed
from cutopt.tile import Point, Tile

BOARDS_OFF = 2 * 320  # ticks: boards that lie further apart bear elsewhere

Dealt = list[tuple[int, int]]  # of a piece: ways that it stands, by number, and how often it is cut so


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """How a piece stands, in the tile frame of its cell: of each foot its pin hole, its way and its board's bounds."""

    feet: tuple[tuple[Point, Point, tuple[int, ...]], ...]

    def like(self, other: Standing, play: float) -> bool:
        """Whether the other stands on the same supports, holes no further apart than the play of pins in them."""
        return len(self.feet) == len(other.feet) and all(
            way == way_
            and math.dist(hole, hole_) <= play
            and all(abs(a - b) <= BOARDS_OFF for a, b in zip(board, board_, strict=True))
            for (hole, way, board), (hole_, way_, board_) in zip(self.feet, other.feet, strict=True)
        )


def alike(grid: Grid, areas: tuple[Surveyed, ...], job: Job, whole: Sequence[Area]) -> Grouped:
    """The grid with its areas in groups that stand alike; its cuts stay. `whole`: the areas as the job has them."""
    ways, dealt = _ways(grid, job.tile)
    numbers = [[n for n, piece in enumerate(grid.pieces) if piece.area == a] for a in range(len(areas))]
    parts = [_parts(area.site.count, [dealt[n] for n in mine]) for area, mine in zip(areas, numbers, strict=True)]
    if all(len(counts) == 1 for counts in parts):
        return grid, areas, job
    groups, layouts, job = parted(areas, grid.layouts, job, parts, whole)
    left = _left(numbers, parts, dealt)
    tiles = [one for tile, mine in zip(grid.cut.tiles, ways, strict=True) for one in _given_out(tile, mine, left)]
    first = [0, *accumulate(map(len, parts))]
    tried = {
        (first[area] + part, row, col): found
        for (area, row, col), found in grid.tried.items()
        for part in range(len(parts[area]))
    }
    pieces = tuple(piece for layout in layouts for piece in layout.pieces)
    cut = replace(grid.cut, tiles=tuple(tiles))
    grid = replace(grid, layouts=tuple(layouts), areas=groups, pieces=pieces, cut=cut, tried=tried)
    return grid, groups, job


def _ways(grid: Grid, tile: Tile) -> tuple[list[list[int]], list[Dealt]]:
    """Of each place of each tile which way its piece stands, and of each piece its ways and how often it has each."""
    play = (min(hole.diameter for hole in tile.pin_holes) - tile.support.pin) / 4  # half of what a pin may be off
    known: list[list[Standing]] = [[] for _ in grid.pieces]
    times: list[dict[int, int]] = [{} for _ in grid.pieces]
    ways: list[list[int]] = []
    for one in grid.cut.tiles:
        ways.append([])
        for place, number in zip(one.pattern.places, one.pieces, strict=True):
            standing = _standing(place, tile)
            way = next((n for n, other in enumerate(known[number]) if other.like(standing, play)), len(known[number]))
            if way == len(known[number]):
                known[number].append(standing)
            ways[-1].append(way)
            times[number][way] = times[number].get(way, 0) + one.uses
    return ways, [sorted(found.items(), key=lambda x: (-x[1], x[0])) for found in times]


def _standing(place: Place, tile: Tile) -> Standing:
    """How a piece stands that is cut at a place."""
    (u, v), way = place.shift, -1 if place.half_turn else 1
    origin = (u + tile.length, v + tile.width) if place.half_turn else (u, v)

    def back(x: float, y: float) -> Point:
        return way * (round(x) - origin[0]), way * (round(y) - origin[1])

    feet = []
    for stand in place.fit.stands:
        u0, v0, u1, v1 = shapely.bounds(place.fit.seats[stand.seat].board).tolist()
        corners = sorted((back(u0, v0), back(u1, v1)))
        feet.append((back(*stand.hole), (way * stand.toward[0], way * stand.toward[1]), (*corners[0], *corners[1])))
    return Standing(feet=tuple(sorted(feet, key=lambda foot: (foot[1], foot[0]))))


def _parts(count: int, pieces: Sequence[Dealt]) -> list[int]:
    """How many areas in a row have each piece cut one way."""
    ends = {count, *(end for dealt in pieces for end in accumulate(times for _, times in dealt))}
    return [end - start for start, end in pairwise([0, *sorted(ends)])]


def _left(
    numbers: Sequence[Sequence[int]], parts: Sequence[Sequence[int]], dealt: Sequence[Dealt]
) -> dict[tuple[int, int], list[list[int]]]:
    """Of each piece and way the pieces of groups that stand so, each with how many of it there are."""
    left: dict[tuple[int, int], list[list[int]]] = {}
    first = 0
    for mine, counts in zip(numbers, parts, strict=True):
        for place, number in enumerate(mine):
            ways = [way for way, times in dealt[number] for _ in range(times)]
            for part, (start, count) in enumerate(zip([0, *accumulate(counts)], counts, strict=False)):
                left.setdefault((number, ways[start]), []).append([first + part * len(mine) + place, count])
        first += len(mine) * len(counts)
    return left


def _given_out(tile: CutTile, ways: Sequence[int], left: dict[tuple[int, int], list[list[int]]]) -> list[CutTile]:
    """A tile for the pieces of the groups, as often as it is cut."""
    found, rest = [], tile.uses
    while rest:
        heads = [left[key][0] for key in zip(tile.pieces, ways, strict=True)]
        uses = min(rest, *(count for _, count in heads))
        found.append(replace(tile, pieces=tuple(number for number, _ in heads), uses=uses))
        for head, key in zip(heads, zip(tile.pieces, ways, strict=True), strict=True):
            head[1] -= uses
            if not head[1]:
                left[key].pop(0)
        rest -= uses
    return found
