"""Notches around turned posts open as wide as the post is, so that the piece can be slid on to it.

Cut all round, the notch's mouth at the tile's side is narrower than the post further in: nothing gets past it but from
above. It is cut straight out to the side instead, and what that leaves bare beside the post is listed.
"""

from __future__ import annotations

import math
import random

import pytest
import shapely
from shapely import affinity

from cutopt import check, plan
from cutopt.lay import Layout, Surveyed, lay, starts
from cutopt.lay.records import corner_of, to_layout
from tests.jobs import room, surveyed

SIDE = 1216


def with_post(x: float, y: float, size: float, turn: float, more: str = "", low: str = "") -> str:
    return f"[[area.post]]\nat = [{x}, {y}]\nsize = [{size}, {size}]\nturn = {turn}\n{low}{more}"


def woods(layout: Layout, area: Surveyed) -> list[shapely.Polygon]:
    """The pieces as they lie in the room, ticks."""
    found = []
    for piece in layout.pieces:
        corner = corner_of(layout.origin, layout.pitch, piece.row, piece.col)
        turned = area.turned(piece.row, piece.col)
        found.append(shapely.Polygon([to_layout(p, corner, turned, area.job.tile.width) for p in piece.shape.outline]))
    return found


def slides_off(wood: shapely.Polygon, posts: list[shapely.Polygon]) -> bool:
    """Whether a piece can be drawn off the posts in its notches some way, tried in steps of 8 mm and 15 degrees."""
    own = [post for post in posts if post.intersection(wood.convex_hull).area > 320]
    for turn in range(0, 360, 15):
        dx, dy = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        moved = (affinity.translate(wood, dx * step * 2560, dy * step * 2560) for step in range(110))
        if all(post.intersection(one).area < 320 for one in moved for post in own):
            return True
    return False


@pytest.mark.parametrize(
    ("x", "y", "size", "turn"),
    [
        (922, 697, 145, 45),  # its centre 292 mm into a tile, a corner beyond the tile's side
        (671, 187, 84, 10),
        (647, 300, 80, 45),
        (306, 560, 80, 30),
    ],
)
def test_a_piece_beside_a_turned_post_can_be_slid_on(x: float, y: float, size: float, turn: float) -> None:
    job = room(SIDE, SIDE, more=with_post(x, y, size, turn), before="[rules]\nspare_backers = 50\n")
    area = surveyed(job)
    posts = [shapely.Polygon(post.outline) for post in area.site.posts]
    layout = lay(area, starts(area)[0])
    assert layout.pieces
    assert all(slides_off(wood, posts) for wood in woods(layout, area))
    assert all(cell.kind != "left" for cell in layout.cells)
    assert [str(finding) for finding in check(plan(job))] == []


def test_around_a_low_one_it_is_cut_all_round() -> None:
    area = surveyed(room(SIDE, SIDE, more=with_post(647, 300, 80, 45, low="low = true\n")))
    posts = [shapely.Polygon(post.outline) for post in area.site.posts]
    assert not all(slides_off(wood, posts) for wood in woods(lay(area, starts(area)[0]), area))


@pytest.mark.parametrize("seed", range(12))
def test_so_it_can_by_any_two_posts(seed: int) -> None:
    dice = random.Random(seed)
    x, y, size = dice.randint(110, 1100), dice.randint(110, 1100), dice.randint(40, 160)
    other = f"[[area.post]]\nat = [{x + dice.randint(200, 400)}, {y - dice.randint(0, 100)}]\nsize = [{size}, {size}]\n"
    area = surveyed(room(1700, SIDE, more=with_post(x, y, size, dice.choice([10, 30, 45, 60]), more=other)))
    posts = [shapely.Polygon(post.outline) for post in area.site.posts]
    assert all(slides_off(wood, posts) for wood in woods(lay(area, starts(area)[0]), area))
