"""Good job files, read whole."""

from __future__ import annotations

import hashlib
import math
from pathlib import Path

import pytest

from cutopt.geometry import area2
from cutopt.job import Job, load_job
from cutopt.job.records import Edge, Money
from cutopt.lengths import mm

JOBS = Path(__file__).parents[2] / "fixtures" / "jobs"
SHORTEST = """format = "cutopt-job"
version = 1
tile = { use = "hardwood-600" }
area = [{ corners = [[0, 0], [5000, 0], [5000, 4000], [0, 4000]] }]
"""


def job(name: str) -> Job:
    return load_job(JOBS / f"{name}.toml")


def test_the_example_of_the_format() -> None:
    terrace = job("terrace")
    assert (terrace.name, terrace.show, terrace.mark) == ("Quay Street roof terrace", "mm", 320)
    assert terrace.sha256 == hashlib.sha256((JOBS / "terrace.toml").read_bytes()).hexdigest()
    assert (terrace.laying.joint, terrace.laying.pitch) == (4 * 320, (604 * 320, 604 * 320))
    assert (terrace.laying.grid, terrace.laying.measured_pitch) == ("best", False)
    assert terrace.cutting.saws == ("table_saw", "guided_saw", "jigsaw")
    assert terrace.cutting.kerf == {"table_saw": 1024, "guided_saw": 704, "jigsaw": 480}
    assert terrace.money == Money(tile=74.0, hour=48.0, backer=4.0, currency="EUR")
    (area,) = terrace.areas
    assert area.corners == ((0, 0), (5870 * 320, 12 * 320), (5810 * 320, 4330 * 320), (-9 * 320, 4310 * 320))
    assert [edge.kind for edge in area.edges] == ["wall", "wall", "open", "flush"]
    assert area.edges[0].gap == (6 * 320, 12 * 320)
    # whole tiles end where they end: up to a module stays free
    assert area.edges[2].gap == (0, 604 * 320)
    assert area.edges[3].gap == (10 * 320, 20 * 320)
    vent, pipe = area.posts
    assert vent.outline == ((361_600, 233_600), (406_400, 233_600), (406_400, 278_400), (361_600, 278_400))
    assert (vent.round, pipe.round, len(pipe.outline)) == (False, True, 32)
    # a polygon of n sides around a circle has n tan(pi/n) / pi times its area: 1.0032 for 32
    assert area2(pipe.outline) / 2 == pytest.approx(32 * math.tan(math.pi / 32) * (55 * 320) ** 2, rel=1e-3)


@pytest.mark.parametrize(
    ("pattern", "phase"),
    [("straight", 0), ("straight", "any"), ("alternate", 1), ("two-and-one", 2), ("alternate", "any")],
)
def test_slats_and_phase_may_be_left_open(tmp_path: Path, pattern: str, phase: int | str) -> None:
    shown = f'"{phase}"' if isinstance(phase, str) else phase
    lay = f'[lay]\npattern = "{pattern}"\nslats = "either"\nphase = {shown}\n'
    (tmp_path / "yard.toml").write_text(SHORTEST + lay, encoding="utf-8")
    laying = load_job(tmp_path / "yard.toml").laying
    assert (laying.pattern, laying.slats, laying.phase) == (pattern, "either", phase)


def test_defaults(tmp_path: Path) -> None:
    (tmp_path / "yard.toml").write_text(SHORTEST, encoding="utf-8")
    shortest = load_job(tmp_path / "yard.toml")
    assert (shortest.name, shortest.show, shortest.mark) == ("yard", "mm", 320)
    assert (shortest.laying.pattern, shortest.laying.slats, shortest.laying.grid) == ("straight", "along", "best")
    assert shortest.laying.phase == 0
    assert (shortest.cutting.strategy, shortest.cutting.aim, shortest.cutting.seconds) == ("factory-edge", "tiles", 20)
    assert shortest.money == Money(tile=0, hour=0, backer=0, currency="")
    (area,) = shortest.areas
    assert (area.name, area.count, area.start, area.posts) == ("Area 1", 1, 0, ())
    assert area.edges == (Edge(kind="wall", gap=(6 * 320, 12 * 320)),) * 4


def test_a_byte_order_mark_is_no_mistake(tmp_path: Path) -> None:
    (tmp_path / "yard.toml").write_text("\ufeff" + SHORTEST, encoding="utf-8")
    assert load_job(tmp_path / "yard.toml").name == "yard"


def test_inches() -> None:
    porch = job("inches")
    assert (porch.show, porch.mark) == ("in", 508)  # 1/16 in
    assert porch.areas[0].corners == ((0, 0), (192 * 8128, 0), (192 * 8128, 216 * 8128), (0, 216 * 8128))
    assert porch.laying.grid == (4064, 4064)
    assert porch.laying.pitch == (24 * 8128, 24 * 8128)
    assert porch.rules.wall_gap == (2032, 4064)
    assert porch.cutting.kerf["table_saw"] == 1016
    # trade fact, common practice, no source: a slab of 16 x 18 ft takes 72 tiles of 24 in
    width, depth = porch.areas[0].corners[2]
    assert (width * depth) / (porch.laying.pitch[0] * porch.laying.pitch[1]) == 72


def test_clockwise_corners_are_turned_round_with_edges_and_start() -> None:
    #        top, edge 1: open, start
    #      1 .--------. 2
    # left,  |        | right,
    # edge 0 |        | edge 2
    # wall 0 '--------' 3 stone
    #        bottom, edge 3: flush
    (area,) = job("clockwise").areas
    assert area2(area.corners) > 0
    ends = {
        frozenset((a, b)): (edge.kind, i == area.start)
        for i, (a, b, edge) in enumerate(
            zip(area.corners, (*area.corners[1:], area.corners[0]), area.edges, strict=True)
        )
    }
    low_left, top_left, top_right, low_right = (0, 0), (0, 1_280_000), (1_600_000, 1_280_000), (1_600_000, 0)
    assert ends == {
        frozenset((low_left, top_left)): ("wall", False),
        frozenset((top_left, top_right)): ("open", True),
        frozenset((top_right, low_right)): ("stone", False),
        frozenset((low_right, low_left)): ("flush", False),
    }


def test_a_tile_in_full() -> None:
    own = job("own-tile")
    tile = own.tile
    assert (tile.name, tile.density, tile.gauge) == ("measured in the yard", 710.5, 10)
    assert (mm(tile.length), mm(tile.width)) == (900, 300)
    # 3 x 95 = 285; 15 mm in two gaps
    assert [tuple(map(mm, slat.v)) for slat in tile.slats] == [(0, 95), (102.5, 197.5), (205, 300)]
    assert [mm(x) for x in tile.hole_inset] == [38, 36]
    assert own.laying.measured_pitch
    assert [mm(x) for x in own.laying.pitch] == [904.5, 307.5]
    assert (own.laying.slats, own.laying.grid) == ("across", "centred")


def test_unequal_hole_insets_set_two_joints(tmp_path: Path) -> None:
    text = (JOBS / "own-tile.toml").read_text(encoding="utf-8")
    text = "\n".join(line for line in text.splitlines() if not line.startswith("pitch"))
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    # 900 + 2 x (40 - 38), 300 + 2 x (40 - 36)
    assert [mm(x) for x in load_job(tmp_path / "own.toml").laying.pitch] == [904, 308]


def test_several_areas_and_posts_in_three_ways() -> None:
    block = job("balconies")
    east, west = block.areas
    assert (east.count, west.count, east.start, west.start) == (12, 11, 0, 2)
    assert east.edges[2] == Edge(kind="open", gap=(0, 300 * 320))
    assert block.tile.name == "hardwood-500, changed"
    assert block.money == Money(tile=58, hour=45.5, backer=3.2, currency="EUR")
    assert (block.cutting.strategy, block.cutting.aim) == ("one-for-one", "cost")
    assert block.cutting.saws == ("guided_saw", "jigsaw")
    gully, pillar, mast = west.posts
    assert (gully.kind, gully.gap) == ("drain", (0, 0))
    assert (pillar.kind, pillar.gap, pillar.outline[2]) == ("post", (8 * 320, 14 * 320), (200 * 320, 150 * 320))
    # 100 x 60 mm, turned: the area stays but for rounding to ticks
    assert area2(mast.outline) / 2 == pytest.approx(100 * 320 * 60 * 320, rel=1e-4)


def test_the_real_deck() -> None:
    # 8 ft 4 in x 14 ft 4 in and three posts of 4 x 4 in, source in the fixture; the paper's area is 11.0658 m2
    (deck,) = job("bishop-deck").areas
    assert deck.corners[2] == (100 * 8128, 172 * 8128)
    posts = sum(area2(post.outline) for post in deck.posts) / 2
    assert (area2(deck.corners) / 2 - posts) / 320_000**2 == pytest.approx(11.0658, abs=5e-5)
    assert all(max(p[0] for p in post.outline) == 96 * 8128 for post in deck.posts)
