"""Areas that there are many of, parted into groups where a tile is to hold the same piece of two of them.

Hardware is listed by its piece, so pieces on one tile have names of their own: twenty balconies become the first ten
and the last ten, and a tile may hold the same corner of one of each.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from cutopt.fit import Carpenter
from cutopt.gridchoice.grids import Grid, worked_out
from cutopt.job.records import Job
from cutopt.lay import Layout, Surveyed

MOST_TURNS = 3  # groups of the last turn are final: no tile then holds a piece twice

Grouped = tuple[Grid, tuple[Surveyed, ...], Job]


def grouped(grid: Grid, job: Job, carpenter: Carpenter) -> Grouped:
    """The grid with each piece at most once on a tile, and the areas and the job in the groups that this takes."""
    areas = grid.areas
    known = grid.cut
    for turn in range(MOST_TURNS):
        often = _often(grid)
        if not often:
            break
        parts = [_counts(area.site.count, often.get(number, 1)) for number, area in enumerate(areas)]
        job = replace(
            job,
            areas=tuple(
                replace(one, name=name, count=count)
                for one, counts in zip(job.areas, parts, strict=True)
                for name, count in zip(_names(one.name, counts), counts, strict=True)
            ),
        )
        layouts: list[Layout] = []
        groups: list[Surveyed] = []
        for area, layout, counts in zip(areas, grid.layouts, parts, strict=True):
            for name, count in zip(_names(area.site.name, counts), counts, strict=True):
                number = len(groups)
                site = replace(area.site, name=name, count=count)
                settled = replace(job, laying=area.job.laying)
                groups.append(Surveyed(index=number, site=site, job=settled))
                pieces = tuple(replace(piece, area=number) for piece in layout.pieces)
                layouts.append(replace(layout, area=number, pieces=pieces))
        areas = tuple(groups)
        grid = worked_out(layouts, areas, job, carpenter, twins=turn < MOST_TURNS - 1).bounded(known)
    return grid, areas, job


def _often(grid: Grid) -> dict[int, int]:
    """By area, how often at most one of its pieces is on one tile; areas with none that is there twice left out."""
    found: dict[int, int] = {}
    for tile in grid.cut.tiles:
        for number, times in Counter(tile.pieces).items():
            area = grid.pieces[number].area
            if times > 1:
                found[area] = max(found.get(area, 1), times)
    return found


def _counts(count: int, parts: int) -> list[int]:
    """A count in so many equal parts, and what is left over."""
    parts = min(parts, count)
    return [count // parts] * parts + ([count % parts] if count % parts else [])


def _names(name: str, counts: Sequence[int]) -> list[str]:
    """The name with which of them: "north 1 to 60"."""
    if len(counts) == 1:
        return [name]
    first, found = 1, []
    for count in counts:
        which = f"{first} to {first + count - 1}" if count > 1 else f"{first}"
        found.append(f"{name} {which}")
        first += count
    return found
