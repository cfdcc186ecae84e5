"""Areas that there are many of, parted into groups where not all of them can be told alike.

Hardware is listed by its piece, so pieces on one tile have names of their own: twenty balconies become the first ten
and the last ten, and a tile may hold the same corner of one of each. Areas that do not stand on the same supports are
parted in `alike.py`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from cutopt.fit import Carpenter
from cutopt.gridchoice.grids import Grid, worked_out
from cutopt.job.records import Area, Job
from cutopt.lay import Layout, Surveyed

MOST_TURNS = 3  # groups of the last turn are final: no tile then holds a piece twice

Grouped = tuple[Grid, tuple[Surveyed, ...], Job]


def grouped(grid: Grid, job: Job, carpenter: Carpenter) -> Grouped:
    """The grid with each piece at most once on a tile, and the areas and the job in the groups that this takes."""
    areas = grid.areas
    known, names = grid.cut, job.areas
    for turn in range(MOST_TURNS):
        often = _often(grid)
        if not often:
            break
        parts = [_counts(area.site.count, often.get(number, 1)) for number, area in enumerate(areas)]
        areas, layouts, job = parted(areas, grid.layouts, job, parts, names)
        grid = worked_out(layouts, areas, job, carpenter, twins=turn < MOST_TURNS - 1).bounded(known)
    return grid, areas, job


def parted(
    areas: Sequence[Surveyed],
    layouts: Sequence[Layout],
    job: Job,
    parts: Sequence[Sequence[int]],
    whole: Sequence[Area],
) -> tuple[tuple[Surveyed, ...], list[Layout], Job]:
    """The areas, their layouts and the job with each area in parts of so many alike. `whole`: the areas as the job has
    them, by which parts are named.
    """
    names = iter(_names(whole, [count for counts in parts for count in counts]))
    called = [[next(names) for _ in counts] for counts in parts]
    job = replace(
        job,
        areas=tuple(
            replace(one, name=name, count=count)
            for one, counts, mine in zip(job.areas, parts, called, strict=True)
            for name, count in zip(mine, counts, strict=True)
        ),
    )
    laid: list[Layout] = []
    groups: list[Surveyed] = []
    for area, layout, counts, mine in zip(areas, layouts, parts, called, strict=True):
        for name, count in zip(mine, counts, strict=True):
            number = len(groups)
            site = replace(area.site, name=name, count=count)
            groups.append(Surveyed(index=number, site=site, job=replace(job, laying=area.job.laying)))
            pieces = tuple(replace(piece, area=number) for piece in layout.pieces)
            laid.append(replace(layout, area=number, pieces=pieces))
    return tuple(groups), laid, job


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


def _names(whole: Sequence[Area], counts: Sequence[int]) -> list[str]:
    """The names of parts with which of an area they are: "north 1 to 60"."""
    found, rest = [], list(counts)
    for area in whole:
        first = 1
        while first <= area.count:
            last = first + rest.pop(0) - 1
            which = f" {first} to {last}" if last > first else f" {first}"
            found.append(area.name + (which if (first, last) != (1, area.count) else ""))
            first = last + 1
    return found
