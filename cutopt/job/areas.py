"""The [[area]] tables → areas with their edges and posts."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from cutopt.geometry import Ring, area2, extent
from cutopt.job.gaps import Gaps
from cutopt.job.ledger import Ledger
from cutopt.job.outline import (
    anticlockwise,
    around_circle,
    crossing_edges,
    near_corners,
    overlap,
    reversed_edge,
    stands_outside,
    turned_rectangle,
)
from cutopt.job.raw import MOST_AREAS, MOST_POSTS, AreaTable, EdgeTable, PostTable, Reading
from cutopt.job.records import Area, Edge, EdgeKind, Post
from cutopt.job.shape import read_table
from cutopt.lengths import TICKS_PER_MM
from cutopt.tile import Point

MOST_CELLS = 40_000
MOST_TOGETHER = 100_000  # of all areas, one with a count taken once


@dataclass(frozen=True, kw_only=True, slots=True)
class Surroundings:
    """What an area takes from the rest of the job."""

    gaps: Gaps
    pitch: Point
    start: int
    reading: Reading


def read_areas(value: object, around: Surroundings, ledger: Ledger) -> tuple[Area, ...]:
    """Every area of the job. Notes every mistake; areas that cannot be made out are left out."""
    if not isinstance(value, list) or not value:
        ledger.add("area", value, "is one or more tables", "add [[area]] with name and corners")
        return ()
    if len(value) > MOST_AREAS:
        ledger.add("area", f"{len(value)} areas", f"has {MOST_AREAS} entries or fewer", "use count for areas alike")
        return ()
    areas = []
    names: dict[str, int] = {}
    for i, table in enumerate(value):
        area = _read_area(table, i, around, ledger)
        if area is None:
            continue
        if area.name in names:
            rule = f"each area has a name of its own, and area[{names[area.name]}] has this one"
            ledger.add(f"area[{i}].name", area.name, rule, "rename one of them, or use count for areas alike")
        names.setdefault(area.name, i)
        areas.append(area)
    each = (_cells(area.corners, around.pitch) for area in areas)
    cells = sum(count for count in each if count <= MOST_CELLS)  # one that is too large is noted by itself
    if cells > MOST_TOGETHER:
        rule = f"the areas of a job have at most {MOST_TOGETHER} tiles together, an area with a count taken once"
        ledger.add("area", f"{cells:.0f} tiles", rule, "check the unit of the corners, or make several jobs of it")
    return tuple(areas)


def _read_area(value: object, number: int, around: Surroundings, ledger: Ledger) -> Area | None:
    key = f"area[{number}]"
    plain = {k: v for k, v in value.items() if k != "post"} if isinstance(value, dict) else value
    table = read_table(AreaTable, plain, key, ledger, around.reading)
    posts = _read_posts(value.get("post", []) if isinstance(value, dict) else [], key, around, ledger)
    if table is None:
        return None
    corners: Ring = tuple((x, y) for x, y in table.corners)
    sound = _check_outline(corners, f"{key}.corners", ledger)
    edges = _edges(table, key, around.gaps, ledger)
    start = around.start if table.start is None else table.start
    if start >= len(corners):
        where = "lay.start" if table.start is None else f"{key}.start"
        rule = f"{key} has edges 0 to {len(corners) - 1}"
        ledger.add(where, start, rule, "edge i runs from corner i to corner i + 1; name one of these")
        return None
    way_out = table.way_out
    if way_out is not None and way_out >= len(corners):
        rule = f"the area has edges 0 to {len(corners) - 1}"
        ledger.add(f"{key}.way_out", way_out, rule, "name the edge that the crew leaves by, or leave it out")
        return None
    if not sound or len(edges) != len(corners):
        return None
    _check_extent(corners, around.pitch, f"{key}.corners", ledger)
    if area2(corners) < 0:
        order = [reversed_edge(i, len(corners)) for i in range(len(corners))]
        edges, start = tuple(edges[i] for i in order), order[start]
        way_out = None if way_out is None else order[way_out]
        corners = anticlockwise(corners)
    _check_places(posts, corners, key, ledger)
    name = table.name or f"Area {number + 1}"
    kept = tuple(post for _, post in posts)
    return Area(name=name, count=table.count, corners=corners, edges=edges, posts=kept, start=start, way_out=way_out)


def _check_outline(corners: Ring, key: str, ledger: Ledger) -> bool:
    """Whether the corners make a simple ring with an area; notes why not."""
    near = near_corners(corners)
    if near:
        rule = "corners in a row are at least 1 mm apart"
        ledger.add(key, f"corners {near[0]} and {near[1]}", rule, "leave one of them out; the first is not repeated")
        return False
    crossing = crossing_edges(corners)
    if area2(corners) == 0 and len(corners) == 3:
        ledger.add(key, None, "an outline encloses an area", "the three corners lie on one line; measure them again")
        return False
    if crossing:
        what = f"edges {crossing[0]} and {crossing[1]}"
        rule = "an outline does not cross or touch itself"
        ledger.add(key, what, rule, "list the corners in order, as you walk around")
        return False
    return True


def _check_extent(corners: Ring, pitch: Point, key: str, ledger: Ledger) -> None:
    u0, v0, u1, v1 = extent(corners)
    if _cells(corners, pitch) > MOST_CELLS:
        size = f"{ledger.length(round(u1 - u0))} x {ledger.length(round(v1 - v0))}"
        rule = f"an area has at most {MOST_CELLS} tiles"
        ledger.add(key, size, rule, "check the unit of the corners, or split the area")


def _cells(corners: Ring, pitch: Point) -> float:
    """About how many cells the box around an outline has."""
    u0, v0, u1, v1 = extent(corners)
    return (u1 - u0) * (v1 - v0) / (pitch[0] * pitch[1])


def _edges(table: AreaTable, key: str, gaps: Gaps, ledger: Ledger) -> tuple[Edge, ...]:
    walls: list[EdgeKind | EdgeTable] = ["wall" for _ in table.corners]
    entries = walls if table.edges is None else table.edges
    if len(entries) != len(table.corners):
        rule = f"has one entry for each corner, {len(table.corners)}"
        remedy = "edge i runs from corner i to corner i + 1, the last one back to corner 0"
        ledger.add(f"{key}.edges", f"{len(entries)} given", rule, remedy)
    edges = []
    for i, entry in enumerate(entries):
        kind, own = (entry.kind, entry.gap) if isinstance(entry, EdgeTable) else (entry, None)
        edges.append(Edge(kind=kind, gap=gaps.at_edge(kind, own, f"{key}.edges[{i}].gap", ledger)))
    return tuple(edges)


def _read_posts(value: object, key: str, around: Surroundings, ledger: Ledger) -> list[tuple[int, Post]]:
    """The posts that could be made out, each with its number in the file."""
    if not isinstance(value, list) or len(value) > MOST_POSTS:
        ledger.add(f"{key}.post", value, f"is a list of at most {MOST_POSTS} tables", "write [[area.post]] for each")
        return []
    posts = []
    names: dict[str, int] = {}
    for i, one in enumerate(value):
        where = f"{key}.post[{i}]"
        table = read_table(PostTable, one, where, ledger, around.reading)
        if table is None:
            continue
        name = table.name or f"{table.kind} {i + 1}"
        if name in names:
            rule = f"each post of an area has a name of its own, and post[{names[name]}] has this one"
            ledger.add(f"{where}.name", name, rule, "rename one of them")
        names.setdefault(name, i)
        outline = _post_outline(table, set(one), where, ledger)
        drain = table.kind == "drain"
        if drain and table.low:
            ledger.add(f"{where}.low", True, "only a post is low", "leave it out: tiles lie over a drain anyway")
        gap = around.gaps.at_post(drain=drain, own=table.gap, key=f"{where}.gap", ledger=ledger)
        if outline is not None:
            round_ = table.diameter is not None
            post = Post(name=name, kind=table.kind, outline=outline, round=round_, gap=gap, low=table.low)
            posts.append((i, post))
    return posts


def _post_outline(table: PostTable, written: set[str], key: str, ledger: Ledger) -> Ring | None:
    """The post's ring. Notes a mistake unless it is given in exactly one way.

    `written` are the keys in the file: the table lacks those whose values are wrong.
    """
    given = [name for name in ("size", "diameter", "corners") if name in written]
    if len(given) != 1:
        what = " and ".join(given) or None
        rule = "a post has either size, or diameter, or corners"
        ledger.add(key, what, rule, "give its centre `at` with size or diameter, or corners alone")
        return None
    if table.turn is not None and table.size is None:
        ledger.add(f"{key}.turn", table.turn, "only a post with a size is turned", "leave it out")
    if getattr(table, given[0]) is None:
        return None
    if table.corners is not None:
        if table.at is not None:
            ledger.add(f"{key}.at", None, "a post with corners has no centre", "leave it out")
        ring: Ring = tuple((x, y) for x, y in table.corners)
        return anticlockwise(ring) if _check_outline(ring, f"{key}.corners", ledger) else None
    if table.at is None and "at" in written:
        return None
    if table.at is None:
        ledger.add(f"{key}.at", None, "is missing", "add the post's centre, in the corners' frame")
        return None
    at = (table.at[0], table.at[1])
    if table.diameter is not None:
        return _big_enough(around_circle(at, table.diameter), f"{key}.diameter", table.diameter, ledger)
    assert table.size is not None
    ring = turned_rectangle(at, (table.size[0], table.size[1]), table.turn or 0.0)
    return _big_enough(ring, f"{key}.size", min(table.size), ledger)


def _big_enough(ring: Ring, key: str, least: int, ledger: Ledger) -> Ring | None:
    """Posts thinner than a millimetre are slips of the unit, and rounding would bend them."""
    if least >= TICKS_PER_MM:
        return ring
    ledger.add(key, ledger.length(least), "a post is at least 1 mm wide", "check the unit")
    return None


def _check_places(posts: list[tuple[int, Post]], outline: Ring, key: str, ledger: Ledger) -> None:
    for i, post in posts:
        if stands_outside(post.outline, outline):
            rule = "posts stand inside the outline"
            ledger.add(f"{key}.post[{i}]", post.name, rule, "measure it in the corners' frame, or notch the outline")
    for (i, one), (j, other) in combinations(posts, 2):
        if overlap(one.outline, other.outline):
            rule = f"posts do not overlap, and this one stands in post[{i}], {one.name}"
            ledger.add(f"{key}.post[{j}]", other.name, rule, "correct one of them, or give both as one post's corners")
