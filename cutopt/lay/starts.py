"""Where the grid may start: the candidates among which `best` chooses."""

from __future__ import annotations

from itertools import product

from cutopt.geometry import extent
from cutopt.lay.surveyed import Surveyed
from cutopt.tile import Point

MOST_PER_AXIS = 6
TRIMS = 4  # ways of trimming the first row to widen the last


def starts(area: Surveyed) -> tuple[Point, ...]:
    """Grid origins in the layout frame, ticks: one for a fixed rule, the candidates for `best`, full-first first."""
    plain = plain_starts(area)
    if area.job.laying.grid != "best" or area.ground.allowed.is_empty:
        return plain[:1]
    full, centred = plain
    choices = [_axis_starts(area, axis, (full[axis], centred[axis])) for axis in (0, 1)]
    return tuple(dict.fromkeys([full, centred, *product(choices[0], choices[1])]))


def plain_starts(area: Surveyed) -> tuple[Point, Point]:
    """The origins of full-first and centred, which `best` is never worse than; twice the same one for a fixed rule."""
    rule = area.job.laying.grid
    if area.ground.allowed.is_empty:
        return (0, 0), (0, 0)
    if isinstance(rule, tuple):
        return rule, rule
    if rule == "best":
        return _full_first(area), _centred(area)
    only = _full_first(area) if rule == "full-first" else _centred(area)
    return only, only


def _full_first(area: Surveyed) -> Point:
    """Whole tiles from the start corner: the string runs off the start wall by the least gap."""
    site = area.site
    y = _up(site.edges[site.start].gap[0], area)
    before = site.outline[site.start - 1]
    gap = site.edges[site.start - 1].gap[0]
    lean = before[0] / before[1] if before[1] > abs(before[0]) else 0.0
    reach = max(lean * y, lean * min(y + area.cell_size[1], before[1]), 0.0)
    return _up(reach + gap, area), y


def _up(value: float, area: Surveyed) -> int:
    """The next mark at or above the value."""
    mark = area.job.mark
    return -(int(-value) // mark) * mark


def _centred(area: Surveyed) -> Point:
    """Equal strips at both walls, and no thinner than the thinnest strip."""
    x0, y0, x1, y1 = area.ground.allowed.bounds
    rules, (sx, sy) = area.job.rules, area.cell_size
    least = (
        (rules.thinnest_strip, rules.thinnest_across)
        if area.all_turned
        else (
            rules.thinnest_across,
            rules.thinnest_strip,
        )
    )
    return (
        _middle(x0, x1, sx, area.pitch[0], least[0]),
        _middle(y0, y1, sy, area.pitch[1], least[1]),
    )


def _middle(low: float, high: float, size: int, pitch: int, least: int) -> int:
    whole = int((high - low + pitch - size) // pitch)
    while whole > 0 and 0 < (high - low - whole * pitch + (pitch - size)) / 2 - (pitch - size) < least:
        whole -= 1
    return round(low + (high - low - whole * pitch + (pitch - size)) / 2)


def _axis_starts(area: Surveyed, axis: int, first: tuple[int, int]) -> list[int]:
    """Origins along one axis: whole tiles off each wall across it, joints through posts, the first row trimmed."""
    pitch, size = area.pitch[axis], area.cell_size[axis]
    full, centred = first
    wanted = [full, centred, *_off_edges(area, axis)]
    wanted += [
        round((extent(p.outline)[axis] + extent(p.outline)[axis + 2]) / 2) + (pitch - size) // 2
        for p in area.site.posts
        if p.kind == "post"
    ]
    wanted += [full - round(size * i / (TRIMS + 1)) for i in range(1, TRIMS + 1)]
    found: dict[int, int] = {}
    for origin in wanted:
        found.setdefault((origin - full) % pitch, origin)
    mark = area.job.mark
    return [full + residue // mark * mark for residue in list(found)[:MOST_PER_AXIS]]


def _off_edges(area: Surveyed, axis: int) -> list[int]:
    """Origins that lay whole tiles off the edges that run across this axis, worst bulge first; longest edge first."""
    size = area.cell_size[axis]
    ring = area.site.outline
    wanted = []
    for i, (a, b) in enumerate(zip(ring, (*ring[1:], *ring[:1]), strict=True)):
        dx, dy = b[0] - a[0], b[1] - a[1]
        run, off = (dy, dx) if axis == 0 else (-dx, dy)
        if abs(run) < max(abs(off) * 6, size // 2):
            continue
        gap = area.site.edges[i].gap[0]
        # anticlockwise: an edge that runs up has the area on its low side, so tiles end at it
        at = min(a[axis], b[axis]) - gap - size if run > 0 else max(a[axis], b[axis]) + gap
        wanted.append((-abs(run), at))
    return [at for _, at in sorted(wanted)]
