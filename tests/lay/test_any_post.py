"""Whatever stands in a room: wood keeps its gaps, all ground is covered or listed as open, and pieces keep apart.

Checked with plane geometry of its own, from the posts as they are given.
"""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import affinity

from cutopt.lay import Layout, Surveyed, cell_ways, lay, refilled, starts
from tests.jobs import room, surveyed

SIZE = 1400.0  # mm: two tiles and a strip each way
LEAST, MOST = 6.0, 12.0
STRIP = 6.0  # a joint of 4 mm, and pins of 10 mm in holes of 12: what may stay open between pieces
OFF = 0.02  # mm: rounding to ticks
CRUMB = 1.0  # mm2: what may stay unlisted of a cell, less than a screw's head


@dataclass(frozen=True, kw_only=True)
class Standing:
    """A post in millimetres of the room's frame: a rectangle, turned, or a circle."""

    at: tuple[float, float]
    size: tuple[float, float]
    turn: float
    round_: bool
    low: bool

    @property
    def text(self) -> str:
        """As a job file has it."""
        low = "low = true\n" if self.low else ""
        if self.round_:
            return f"[[area.post]]\nat = {list(self.at)}\ndiameter = {self.size[0]!r}\n{low}"
        return f"[[area.post]]\nat = {list(self.at)}\nsize = {list(self.size)}\nturn = {self.turn!r}\n{low}"

    @property
    def shape(self) -> shapely.Polygon:
        """Its outline."""
        (x, y), (a, b) = self.at, self.size
        if self.round_:
            return shapely.Point(x, y).buffer(a / 2, quad_segs=64)
        return affinity.rotate(shapely.box(x - a / 2, y - b / 2, x + a / 2, y + b / 2), self.turn, origin=(x, y))


BESIDE = Standing(at=(241.0, 236.0), size=(47.0, 50.0), turn=0.0, round_=False, low=True)
NEXT_TO = Standing(at=(134.0, 241.0), size=(20.0, 21.0), turn=0.0, round_=False, low=True)
places = st.integers(110, 1290).map(float)
sizes = st.integers(20, 140).map(float)
standing = st.builds(
    Standing,
    at=st.tuples(places, places),
    size=st.tuples(sizes, sizes),
    turn=st.sampled_from([0.0, 0.0, 7.0, 45.0]),
    round_=st.booleans(),
    low=st.booleans(),
)


def placed(layout: Layout, area: Surveyed) -> list[shapely.Polygon]:
    """What lies in the room, millimetres: whole tiles and pieces."""
    (ox, oy), (px, py) = layout.origin, layout.pitch
    wood = []
    for cell in layout.cells:
        x, y = ox + cell.col * px, oy + cell.row * py
        here = [p.shape for p in layout.pieces if (p.row, p.col) == (cell.row, cell.col)]
        shapes = [shapely.Polygon(shape.outline, shape.holes) for shape in here]
        if cell.kind == "whole":
            shapes = [shapely.box(0, 0, area.job.tile.length, area.job.tile.width)]
        wood += [affinity.scale(affinity.translate(s, x, y), 1 / 320, 1 / 320, origin=(0, 0)) for s in shapes]
    return wood


def boxes(layout: Layout, area: Surveyed) -> list[shapely.Polygon]:
    """The cells as they lie in the room, millimetres."""
    (ox, oy), (px, py), size = layout.origin, layout.pitch, area.job.tile.length
    corners = [(ox + cell.col * px, oy + cell.row * py) for cell in layout.cells]
    return [shapely.box(x / 320, y / 320, (x + size) / 320, (y + size) / 320) for x, y in corners]


def check(layout: Layout, area: Surveyed, posts: list[Standing]) -> None:
    wood = placed(layout, area)
    for shape in wood:
        assert shape.is_valid
        assert shapely.box(LEAST - OFF, LEAST - OFF, SIZE - LEAST + OFF, SIZE - LEAST + OFF).contains(shape)
        for post in posts:
            assert shape.distance(post.shape) >= LEAST - OFF
    for i, shape in enumerate(wood):
        assert all(shape.distance(other) > 1.0 for other in wood[i + 1 :])
    # ground begins at the most gap from the posts as the site has them: round ones are polygons there
    given_posts = [affinity.scale(shapely.Polygon(p.outline), 1 / 320, 1 / 320, origin=(0, 0)) for p in area.site.posts]
    around = [post.buffer(MOST + OFF, join_style="mitre", mitre_limit=3.0) for post in given_posts]
    must = shapely.box(MOST, MOST, SIZE - MOST, SIZE - MOST).difference(shapely.union_all(around))
    lefts = [shapely.Polygon(left.outline) for cell in layout.cells for left in cell.left]
    listed = [affinity.scale(one, 1 / 320, 1 / 320, origin=(0, 0)) for one in lefts]
    bare = must.difference(shapely.union_all([one.buffer(OFF, join_style="mitre") for one in (*wood, *listed)]))
    half = STRIP / 2 + OFF
    # a kerf or a joint between pieces is no open ground, nor is one beside ground that is listed
    joined = shapely.union_all([*wood, *listed]).buffer(half, join_style="mitre").buffer(-half, join_style="mitre")
    for box in boxes(layout, area):
        assert bare.intersection(box).difference(joined).area < CRUMB, (box.wkt, bare.intersection(box).wkt)


@settings(max_examples=20, deadline=None, derandomize=True)
@given(st.lists(standing, min_size=1, max_size=2))
@example([Standing(at=(192.0, 237.0), size=(24.0, 20.0), turn=0.0, round_=True, low=False), BESIDE])
@example([Standing(at=(110.0, 235.0), size=(26.0, 20.0), turn=0.0, round_=True, low=False), NEXT_TO])
def test_any_post_is_laid_around_or_listed(posts: list[Standing]) -> None:
    stand_by(posts)


def test_the_mouths_of_a_split_by_a_round_post_are_listed() -> None:
    stand_by([Standing(at=(110.0, 153.0), size=(97.0, 20.0), turn=0.0, round_=True, low=False)])


def stand_by(posts: list[Standing]) -> None:
    """Lay the room around the posts in every way, and check each."""
    shapes = [post.shape for post in posts]
    if len(shapes) == 2 and shapes[0].distance(shapes[1]) < 1:
        posts = posts[:1]
    area = surveyed(room(SIZE, SIZE, more="".join(post.text for post in posts)))
    layout = lay(area, starts(area)[0])
    check(layout, area, posts)
    for cell in layout.cells:
        if cell.kind != "whole":
            for way in tuple(cell_ways(layout, cell, area))[1:]:
                check(refilled(layout, {(cell.row, cell.col): way}, area), area, posts)
