"""Pads that would lie on one another are cut apart so that each piece still stands on what is left of them.

Rooms out of square in which two supports come closer than a pad's length; the pads are 140 mm, and a face may reach 30
mm past what it rests on, 60 at walls, a backer 100 mm past its last pad (design rules, common practice, no source).
"""

from __future__ import annotations

import pytest
import shapely

from cutopt.checks import check
from cutopt.hang.feet import Face, Foot, Party
from cutopt.hang.parting import Parting
from cutopt.planning import plan
from tests.jobs import Corner, area_text, job_of, room

MM = 320
RULES = room(1820, 1216).rules
HEAD = """[tile]
use = "{tile}"
[lay]
grid = "full-first"
[cut]
strategy = "one-for-one"
saws = ["table saw", "guided saw", "jigsaw"]
round_posts = "{round}"
[rules]
spare_backers = 200
"""


def post(at: Corner, body: str) -> str:
    return f'[[area.post]]\nname = "p{at[0]:g}"\nat = [{at[0]:g}, {at[1]:g}]\n{body}\n'


ROOMS: dict[str, tuple[str, list[Corner], list[tuple[Corner, str]]]] = {
    # a cut half-way between the pins leaves the one piece 1 mm too far out: a notch where only the other stands
    "notched pad": ("hardwood-500", [(0, 0), (1283, 0), (1363, 1132), (1, 1129)], [((485, 157), "size = [49, 49]")]),
    # a pad under four tiles lost 8 mm, and a taper's corner lay 61.9 mm out
    "taper": (
        "hardwood-24in",
        [(0, 0), (1915, 0), (2014, 1138), (0, 1136)],
        [((614, 578), "size = [186, 186]"), ((1309, 917), "size = [133, 133]")],
    ),
    # the new support beside a notch lost 10 mm, and the tongue beside it lay 65.1 mm out
    "tongue": (
        "hardwood-24in",
        [(0, 0), (1356, 0), (1364, 1494), (-3, 1494)],
        [((664, 835), "size = [181, 181]"), ((1230, 601), "size = [62, 62]")],
    ),
    # a short backer behind a notch ended 107.8 mm past its one pad, cut half-way between the pins
    "short backer": (
        "hardwood-24in",
        [(0, 0), (1617, 3), (1628, 2116), (2, 2112)],
        [((1490, 1818), "size = [30, 30]")],
    ),
    # not pads: wood that brings a hole a hair beside where the fit has it is listed where its hole is
    "hole": (
        "hardwood-600",
        [(0, 0), (1310, 0), (1305, 1670), (-6, 1674)],
        [((626, 613), "diameter = 236"), ((1202, 596), "diameter = 76")],
    ),
}


@pytest.mark.parametrize("name", ROOMS)
def test_pieces_stand_on_what_is_left_of_pads(name: str) -> None:
    tile, corners, posts = ROOMS[name]
    head = HEAD.format(tile=tile, round="square" if name in ("taper", "tongue") else "round")
    planned = plan(job_of(head + area_text(corners, more="".join(post(at, body) for at, body in posts))))
    assert check(planned) == ()


def box(*bounds: float) -> shapely.Polygon:
    return shapely.box(*(x * MM for x in bounds))


def parted(most: float) -> tuple[shapely.Polygon, shapely.Polygon]:
    """Two pads, 140 mm wide, that share 30 mm: from y = 0 to 70 and from y = 40 to 110; a face from 0 to 75 stands on
    the low one, `most` that it may reach past it.
    """
    corners = tuple((x * MM, y * MM) for x in (-60, 60) for y in (0, 75))
    face = Face(corners=tuple((at, round(most * MM)) for at in corners))
    low = Foot(centre=(0, 0), pin=(42 * MM, 10 * MM), toward=(1, 1), turned=False, board=box(-60, 0, 60, 75), face=face)
    high = Foot(
        centre=(0, 110 * MM), pin=(42 * MM, 100 * MM), toward=(1, -1), turned=False, board=box(-60, 30, 60, 120)
    )
    parties = [Party(centre=foot.centre, half=(70 * MM, 70 * MM), offset=0, feet=(foot,)) for foot in (low, high)]
    pads: list[shapely.Geometry] = [box(-70, 0, 70, 70), box(-70, 40, 70, 110)]
    Parting(parties=parties, pads=pads, meat=0, rules=RULES).part()
    return pads[0], pads[1]


@pytest.mark.parametrize(("most", "top"), [(40, 40), (6, 69)])
def test_the_pad_that_a_face_needs_stays(most: float, top: float) -> None:
    """The face ends at y = 75: it may end 40 mm past its pad, cut at 40, or only 6, and the other pad yields."""
    low, high = parted(most)
    assert low.intersection(high).area == 0
    assert low.bounds[3] / MM >= top
    assert 75 - low.bounds[3] / MM <= most
