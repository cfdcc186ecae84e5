"""Laying's short cuts give what plain overlays of the whole ground give, in rooms at random.

The other side of each comparison is worked out here with shapely alone. Rooms are quadrilaterals out of square, of 2 to
20 m, with posts; what is compared are areas, to a square millimetre, and lengths, to a hundredth of a millimetre.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import shapely
from shapely import affinity

from cutopt.geometry import FloatPoint, Ring
from cutopt.lay import Surveyed, lay, starts
from cutopt.lay.convex import holds, plain_ring, roomy, steps
from cutopt.lay.ground import CLEAR, GRID, MANY, _joined
from cutopt.lay.holed import Holed
from cutopt.lay.laying import OFF, WITHIN, _parted
from cutopt.lay.notches import _square_cut, bite, stretches, without
from cutopt.lay.plots import covers, plots_of, shorn
from cutopt.lay.surveyed import Spot
from tests.jobs import area_text, job_of, post_text, surveyed

TICKS = 320
SQUARE_MM = 320.0**2
SEEDS = range(6)


def same(one: shapely.Geometry, other: shapely.Geometry, off: float = SQUARE_MM) -> bool:
    """Whether two regions differ by less than an area, square ticks."""
    return bool(one.symmetric_difference(other).area < off)


def room_at_random(seed: int, *, most: int = 4000, posts: int = 3, round_: bool = True) -> Surveyed:
    """A room with posts on a lattice, so that they keep apart, each of a size and shape of its own."""
    dice = random.Random(seed)
    width, depth = (dice.randint(2000, most) for _ in "xy")
    plain = ((0, 0), (width, 0), (width, depth), (0, depth))
    corners = [(x + dice.randint(-40, 40), y + dice.randint(-40, 40)) for x, y in plain]
    lattice = [(x, y) for x in range(300, width - 250, 400) for y in range(300, depth - 250, 400)]
    text = []
    for number, (x, y) in enumerate(dice.sample(lattice, min(posts, len(lattice)))):
        size, name = dice.randint(30, 180), f"p{number}"
        shape = f"diameter = {size}" if round_ and dice.random() < 0.4 else f"size = [{size}, {size}]"
        text.append(f'[[area.post]]\nname = "{name}"\nat = [{x}, {y}]\n{shape}\n')
    head = '[tile]\nuse = "hardwood-500"\n[lay]\ngrid = "full-first"\n'
    return surveyed(job_of(head + area_text(corners, more="".join(text))))


def spots_of(area: Surveyed) -> list[Spot]:
    """The cells that the ground cuts, at the first start."""
    layout = lay(area, starts(area)[0])
    (ox, oy), (px, py), (sx, sy) = layout.origin, layout.pitch, area.cell_size
    found = []
    for cell in layout.cells:
        x, y = ox + cell.col * px, oy + cell.row * py
        box = shapely.box(x, y, x + sx, y + sy)
        if cell.kind != "whole":
            turned, width = cell.quarter_turn, area.job.tile.width
            found.append(Spot(row=cell.row, col=cell.col, corner=(x, y), box=box, quarter_turn=turned, width=width))
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_a_region_without_its_far_holes_is_the_same_nearby(seed: int) -> None:
    dice = random.Random(seed)
    ground = room_at_random(seed, most=8000, posts=60).ground
    # two parts, each with holes of its own
    x0, y0, x1, y1 = ground.allowed.bounds
    middle = shapely.box((x0 + x1) / 2 - 50, y0, (x0 + x1) / 2 + 50, y1)
    for region in (ground.allowed, ground.allowed.difference(middle)):
        holed = Holed(region)
        dropped = 0
        for _ in range(20):
            x, y = dice.uniform(x0, x1), dice.uniform(y0, y1)
            low, high = (round(x), round(y)), (round(x) + 600 * TICKS, round(y) + 600 * TICKS)
            near, box = holed.near(low, high), shapely.box(*low, *high)
            assert same(near.intersection(box), region.intersection(box), 1.0)
            dropped += shapely.get_num_coordinates(near) < shapely.get_num_coordinates(region)
        assert dropped, "no hole was left out: nothing was compared"


@pytest.mark.parametrize("seed", SEEDS)
def test_plots_are_the_parts_of_the_ground_in_each_cell(seed: int) -> None:
    area = room_at_random(seed)
    compared = 0
    for spot in spots_of(area):
        plots, ground = plots_of(spot, area), area.ground
        must = spot.local(ground.needed.intersection(spot.box))
        may = spot.local(ground.allowed.intersection(spot.box))
        assert same(shapely.union_all([plot.needed for plot in plots]), must)
        for plot in plots:
            part = next(g for g in shapely.get_parts(may) if g.intersects(plot.region.representative_point()))
            assert same(plot.region, part)
            compared += 1
            # every wall and post whose line comes within the cell is among the brinks and uprights
            reach = [one for one in ground.uprights if one.outline.distance(spot.box) <= one.gap[1]]
            assert len(plot.uprights) == len(reach)
            for brink in ground.brinks:
                line = shapely.LineString([brink.a, brink.b])
                if line.intersects(spot.box):
                    local = spot.local_brink(brink)
                    assert any(math.dist(local.a, one.a) + math.dist(local.b, one.b) < 1 for one in plot.brinks)
    assert compared > 5


def shapes_at_random(dice: random.Random) -> list[shapely.Polygon]:
    """Boxes with corners cut off square or obliquely, with holes or without: what plots look like."""
    found = []
    for _ in range(40):
        w, h = dice.randint(50, 600), dice.randint(50, 600)
        shape = shapely.box(0, 0, w, h)
        for _ in range(dice.randint(0, 3)):
            kind, x, y = dice.choice(("box", "corner", "hair", "hole")), dice.randint(0, w), dice.randint(0, h)
            size = dice.randint(5, 200)
            taken = {
                "box": shapely.box(x, y, x + size, y + size),
                "corner": shapely.Polygon([(0, 0), (x, 0), (0, y)]) if x and y else shapely.Polygon(),
                "hair": shapely.box(-1, y, w - size, y + 1e-3),
                "hole": shapely.box(w / 3, h / 3, w / 2, h / 2),
            }[kind]
            shape = max(shapely.get_parts(shape.difference(taken)), key=lambda part: part.area)
        if shape.geom_type == "Polygon":
            found.append(affinity.scale(shape, TICKS, TICKS, origin=(0, 0)))
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_roomy_shapes_stay_as_they_are_when_hairs_go(seed: int) -> None:
    shapes = shapes_at_random(random.Random(seed))
    for shape in shapes:
        opened = shape.buffer(-1, join_style="mitre", mitre_limit=50).buffer(1, join_style="mitre", mitre_limit=50)
        assert same(shorn(shape), opened, 100.0)
        if roomy(shape, 4.0):
            assert same(shape, opened, 100.0)
    assert 5 < sum(roomy(shape, 4.0) for shape in shapes) < len(shapes)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_covers_without_an_overlay_covers(seed: int) -> None:
    dice = random.Random(seed)
    shapes, said = shapes_at_random(dice), 0
    for one in shapes:
        for other in (*dice.sample(shapes, 5), affinity.scale(one, 0.9, 0.9)):
            if covers(one, other):
                said += 1
                assert other.difference(one.buffer(3)).area < 1
    assert said > 10


@pytest.mark.parametrize("seed", SEEDS)
def test_steps_are_the_places_of_upright_sides_and_of_no_others(seed: int) -> None:
    for shape in shapes_at_random(random.Random(seed)):
        rings = [shape.exterior, *shape.interiors]
        sides = [side for ring in rings for side in zip(ring.coords, ring.coords[1:], strict=False)]
        stepped = all(a[0] == b[0] or a[1] == b[1] for a, b in sides)
        places = tuple(sorted({p[axis] for ring in rings for p in ring.coords}) for axis in (0, 1))
        assert steps(shape) == (places if stepped else ())


@pytest.mark.parametrize("seed", SEEDS)
def test_points_held_by_a_convex_ring_are_those_that_it_covers(seed: int) -> None:
    dice = random.Random(seed)
    rings = [ring for shape in shapes_at_random(dice) if (ring := plain_ring(shape)) is not None]
    assert len(rings) > 5
    for ring in rings:
        shape = shapely.Polygon(ring)
        for _ in range(20):
            point = (dice.uniform(-50, 650) * TICKS, dice.uniform(-50, 650) * TICKS)
            if abs(shape.exterior.distance(shapely.Point(point))) > 4:
                assert holds(ring, [point]) == shape.covers(shapely.Point(point))


def cuts_at_random(dice: random.Random) -> list[tuple[list[FloatPoint], shapely.Polygon]]:
    """Paths of square legs with one or two corners into pieces that are convex, from beyond them to beyond them."""
    found = []
    for _ in range(60):
        w, h = dice.randint(200, 600), dice.randint(200, 600)
        corner = dice.choice((0, dice.randint(20, 150)))
        blunted = [(w, h), (corner, h), (0, h - corner)] if corner else [(w, h), (0, h)]
        piece = shapely.Polygon([(0, 0), (w, 0), *blunted])
        x0, x1 = sorted(dice.sample(range(10, w - 10), 2))
        y = dice.randint(10, h - 10)
        far = 2000
        path = dice.choice((
            [(x0, -far), (x0, y), (x1, y), (x1, -far)],
            [(x1, far), (x1, y), (x0, y), (x0, far)],
            [(-far, y), (x0, y), (x0, -far)],
            [(x0, -far), (x0, y), (far, y)],
            [(x0, far), (x0, y), (-far, y)],
            [(x1, -far), (x1, y), (x0, y), (x0, far)],
        ))  # fmt: skip
        turns, mirror = dice.randint(0, 3), dice.random() < 0.5
        matrix = [[1, 0, 0, 1], [0, -1, 1, 0], [-1, 0, 0, -1], [0, 1, -1, 0]][turns]
        both = [shapely.LineString(path), piece]
        line, wood = (affinity.affine_transform(one, [c * TICKS for c in matrix] + [0, 0]) for one in both)
        points = list(line.coords)
        found.append((points[::-1] if mirror else points, wood))
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_square_notches_in_convex_pieces_are_those_of_the_overlay(seed: int) -> None:
    plain = 0
    for path, piece in cuts_at_random(random.Random(seed)):
        ring = plain_ring(piece)
        assert ring is not None
        cut = _square_cut(path, ring)
        if cut is None:
            continue
        plain += 1
        (stretch,) = stretches(shapely.LineString(path), piece)
        assert np.allclose(cut[0], stretch, atol=1)
        whole: Ring = cut[0]
        assert same(without(whole, piece), piece.difference(bite(whole, piece)), 100.0)
    assert plain > 20


@pytest.mark.parametrize("seed", SEEDS)
def test_blocks_of_cells_find_the_cells_that_each_alone_would(seed: int) -> None:
    area = room_at_random(seed, most=20_000, posts=12, round_=False)
    origin = starts(area)[0]
    (row0, col0), parts = _parted(area, origin)
    (px, py), (sx, sy) = area.pitch, area.cell_size
    outline, allowed = area.ground.outline, area.ground.allowed.buffer(1)
    for (i, j), found in np.ndenumerate(parts):
        x, y = origin[0] + (col0 + j) * px, origin[1] + (row0 + i) * py
        box = shapely.box(x, y, x + sx, y + sy)
        assert (found == OFF) == (not outline.intersects(box))
        assert (found == WITHIN) == (allowed.contains_properly(box) and outline.intersects(box))
    # none of the ground lies beyond the cells that are looked at
    rows, cols = parts.shape
    low = (origin[0] + col0 * px, origin[1] + row0 * py)
    assert shapely.box(*low, low[0] + cols * px, low[1] + rows * py).covers(outline)


@pytest.mark.parametrize("seed", SEEDS)
def test_strips_joined_apart_are_those_joined_together(seed: int) -> None:
    dice = random.Random(seed)
    places = dice.sample([(x, y) for x in range(12) for y in range(12)], MANY + 30)
    strips = []
    for x, y in places:
        side = dice.choice((30.0, 60.0, 101.0))  # some overlap the next place's, some only just touch it
        strip = shapely.box(x * 100, y * 100, x * 100 + side, y * 100 + 40)
        turned = affinity.rotate(strip, dice.choice((0, 0, 3, 45)))
        strips.append(affinity.scale(turned, TICKS, TICKS, origin=(0, 0)))
    plain = shapely.union_all(strips, grid_size=GRID)
    plain = plain.buffer(1, join_style="mitre").buffer(-1, join_style="mitre")
    assert same(_joined(strips), plain)
    assert any(one.distance(other) < CLEAR for one in strips for other in strips if one is not other)


def test_a_room_with_many_posts_is_laid_as_around_each_alone() -> None:
    """Tracts leave out what is far off: the cells by a post are those of a room where it stands alone."""
    posts = [(x, y) for x in range(1000, 14_000, 3024) for y in range(1000, 14_000, 3024)]
    corners = [(0.0, 0.0), (15_000.0, 0.0), (15_000.0, 15_000.0), (0.0, 15_000.0)]
    head = '[tile]\nuse = "hardwood-500"\n[lay]\ngrid = "full-first"\n'

    def cells(some: list[tuple[int, int]]) -> dict[tuple[int, int], list[Ring]]:
        text = "".join(post_text(x, y, 120, name=f"p{x} {y}") for x, y in some)
        area = surveyed(job_of(head + area_text(corners, more=text)))
        layout = lay(area, starts(area)[0])
        return {at: [piece.shape.outline for piece in pieces] for at, pieces in layout.by_cell.items()}

    together, apart = cells(posts), cells([])
    for x, y in posts[::6]:
        near = {at: rings for at, rings in cells([(x, y)]).items() if apart.get(at) != rings}
        assert near
        assert all(together[at] == rings for at, rings in near.items())
