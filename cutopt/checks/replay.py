"""The cuts of a source, replayed in order on polygons: what each blade turns to dust and what is left."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import split, unary_union

from cutopt.checks.finding import Fault, fault
from cutopt.checks.shapes import (
    TOLERANCE,
    Spot,
    along,
    band,
    common,
    nothing,
    number,
    on_line,
    polygon,
    polygons,
    without,
)
from cutopt.planfile.model import Cut, Source

BEYOND = 10_000.0  # mm: longer than any tile
SIGHT = 0.05  # mm: how far past its ends a path is run on so that it surely parts the wood
PAST_CONVEX = 2000.0  # mm: a blade may run on, out of a convex part, without meeting it again
OVERSHOT = 2.0  # mm: a round blade goes at least this far past the end of its line
PAST_NOTCHED = 6.0  # kerfs: out of a notched one it runs on only this far


@dataclass(frozen=True, kw_only=True, slots=True)
class Blade:
    """One cut: the part that it goes through and the wood that it turns to dust, in the source's frame."""

    cut: Cut
    part: Polygon
    dust: BaseGeometry


@dataclass(frozen=True, kw_only=True, slots=True)
class Replay:
    """A source's cuts as they were found to work out. `parts`: what is left at the end, by name."""

    source: Source
    blades: tuple[Blade, ...]
    parts: tuple[tuple[str, Polygon], ...]
    faults: tuple[Fault, ...]


@dataclass(slots=True)
class _Bench:
    """What lies on the bench while a source is sawn."""

    parts: dict[str, Polygon]
    blades: list[Blade] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def fault(self, rule: str, where: str, text: str) -> None:
        self.faults.append(fault(rule, where, text))


def replay(source: Source) -> Replay:
    """Saw a source by its list of cuts."""
    bench = _Bench(parts={source.id: polygon(source.outline)})
    for expected, cut in enumerate(source.cuts, 1):
        where = f"cut {cut.n} of {source.id}"
        if cut.n != expected:
            bench.fault("cut-order", where, f"is number {expected} of the list")
        part = bench.parts.pop(cut.part, None)
        if part is None:
            bench.fault("cut-part", where, f"saws part {cut.part}, which is not there at that moment")
            continue
        _saw(bench, where, cut, part)
    return Replay(
        source=source,
        blades=tuple(bench.blades),
        parts=tuple(bench.parts.items()),
        faults=tuple(bench.faults),
    )


def _saw(bench: _Bench, where: str, cut: Cut, part: Polygon) -> None:
    path = list(cut.path)
    if len(path) < (3 if cut.closed else 2) or any(a == b for a, b in itertools.pairwise(path)):
        bench.fault("cut-path", where, "the path has too few or repeated points")
        bench.parts[cut.part] = part
        return
    if not _runs_through(path, cut, part):
        bench.fault("cut-path", where, f"the path does not run through the whole of part {cut.part}")
    sides = _sides(path, cut, part)
    if sides is None:
        bench.fault("cut-path", where, f"part {cut.part} does not fall in two along the path")
        bench.parts[cut.part] = part
        return
    side = 1.0 if cut.waste_side == "left" else -1.0
    strip = _strip(path, cut, part, side)
    waste = 0 if cut.waste_side == "left" else 1
    bench.blades.append(Blade(cut=cut, part=part, dust=common(strip, sides[waste])))
    for number_, (name, region) in enumerate(zip(cut.into, sides, strict=True)):
        _name_part(bench, where, name, without(region, strip) if number_ == waste else region)


def _name_part(bench: _Bench, where: str, name: str, region: BaseGeometry) -> None:
    rest = polygons(region)
    if not name:
        if rest:
            bench.fault("cut-into", where, f"leaves a part of {number(sum(r.area for r in rest))} mm2 without a name")
        return
    if name in bench.parts:
        bench.fault("cut-into", where, f"part {name} is there already")
    if len(rest) != 1:
        bench.fault("cut-into", where, f"part {name} falls in {len(rest)} parts")
    if rest:
        bench.parts[name] = max(rest, key=lambda shape: shape.area)


def _runs_through(path: Sequence[Spot], cut: Cut, part: Polygon) -> bool:
    ring = [*path, path[0]] if cut.closed else list(path)
    if not LineString(ring).within(part.buffer(TOLERANCE)):
        return False
    return cut.closed or (on_line(path[0], part.boundary) and on_line(path[-1], part.boundary))


def _sides(path: Sequence[Spot], cut: Cut, part: Polygon) -> tuple[BaseGeometry, BaseGeometry] | None:
    """What lies left and right of the path, before the blade takes its share."""
    if cut.closed:
        ring = Polygon(path)
        if not ring.is_valid:
            return None
        within, around = common(part, ring), without(part, ring)
        return (within, around) if ring.exterior.is_ccw else (around, within)
    line = _longer(path, SIGHT)
    if len(path) == 2:  # halves by area: splitting along a line can miss a corner by a rounding error
        left_half, right_half = (band(_longer(path, BEYOND), [way * BEYOND], closed=False) for way in (1, -1))
        halves = part.intersection(left_half), part.intersection(right_half)
        return None if any(nothing(half) for half in halves) else halves
    beside = band(path, [SIGHT] * (len(path) - 1), closed=False)
    beyond = band(path, [-SIGHT] * (len(path) - 1), closed=False)
    left: list[Polygon] = []
    right: list[Polygon] = []
    for shape in polygons(split(part, LineString(line))):
        is_left = shape.intersection(beside).area >= shape.intersection(beyond).area
        (left if is_left else right).append(shape)
    return (unary_union(left), unary_union(right)) if left and right else None


def _strip(path: Sequence[Spot], cut: Cut, part: Polygon, side: float) -> BaseGeometry:
    """The blade's strip on the waste side, run on past both ends so that oblique ends are cut clean."""
    offset = side * cut.kerf
    if cut.closed:
        return band(path, [offset] * len(path), closed=True)
    past = PAST_CONVEX if nothing(part.convex_hull.difference(part)) else PAST_NOTCHED * cut.kerf
    return band(_longer(path, past), [offset] * (len(path) - 1), closed=False)


def _longer(path: Sequence[Spot], past: float) -> list[Spot]:
    first, last = along(path[1], path[0]), along(path[-2], path[-1])
    start = (path[0][0] + first[0] * past, path[0][1] + first[1] * past)
    end = (path[-1][0] + last[0] * past, path[-1][1] + last[1] * past)
    return [start, *path[1:-1], end]


def through(part: Polygon, path: Sequence[Spot]) -> bool:
    """Whether the whole straight line of a path meets the part nowhere but in the path itself."""
    whole = LineString(_longer(path, BEYOND)).intersection(part)
    return bool(whole.length <= LineString(path).length + 4 * TOLERANCE)


def overshoots(part: Polygon, path: Sequence[Spot]) -> bool:
    """Whether the wood goes on where a straight path ends, as it does at an inside corner."""
    inner = part.buffer(-2 * TOLERANCE, join_style="mitre")
    run = _longer(path, OVERSHOT)
    ends = (LineString([run[0], path[0]]), LineString([path[-1], run[-1]]))
    return any(end.intersection(inner).length > OVERSHOT / 2 for end in ends)
