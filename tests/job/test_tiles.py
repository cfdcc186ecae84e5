"""The tiles that come with cutopt, and tiles of one's own."""

from __future__ import annotations

import math
from typing import Any

import pytest

from cutopt.errors import BadInput
from cutopt.job.anatomy import read_tile, shipped_tiles
from cutopt.job.laying import pin_joints
from cutopt.job.ledger import Ledger
from cutopt.job.raw import Reading
from cutopt.lengths import TICKS_PER_INCH, mm
from cutopt.rules import load_rules
from cutopt.tile import Tile

SHIPPED = ["hardwood-600", "hardwood-500", "hardwood-24in", "hardwood-20in", "hardwood-24x48in"]


def tile_of(table: dict[str, Any]) -> Tile:
    ledger = Ledger("job.toml")
    tile = read_tile(table, load_rules(), ledger, Reading(unit="mm"))
    ledger.close()
    assert tile is not None
    return tile


def mistakes_of(table: dict[str, Any]) -> list[tuple[str, str]]:
    with pytest.raises(BadInput) as caught:
        tile_of(table)
    return [(mistake.key, mistake.rule) for mistake in caught.value.mistakes]


def test_the_names_are_those_of_the_format() -> None:
    assert list(shipped_tiles()) == SHIPPED


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_tiles_are_sound(name: str) -> None:
    tile = tile_of({"use": name})
    assert pin_joints(tile) == (4 * 320, 4 * 320)
    # the invented screws stand 20 - 6 = 14 mm from the backers' ends, less than 5 D = 20.8 mm; nothing else is short
    assert [warning for warning in tile.warnings if "backer's end" not in warning] == []
    assert len(tile.warnings) == 1
    assert tile.longest_bay <= 310 * 320


@pytest.mark.parametrize("name", SHIPPED)
def test_slats_fill_the_tile_evenly(name: str) -> None:
    tile = tile_of({"use": name})
    assert (tile.slats[0].v[0], tile.slats[-1].v[1]) == (0, tile.width)
    widths = {slat.v[1] - slat.v[0] for slat in tile.slats}
    gaps = [b.v[0] - a.v[1] for a, b in zip(tile.slats, tile.slats[1:], strict=False)]
    assert len(widths) == 1
    assert max(gaps) - min(gaps) <= 1
    assert gaps == gaps[::-1]


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_tiles_look_the_same_after_a_half_turn(name: str) -> None:
    tile = tile_of({"use": name})

    def turned(u: int, v: int) -> tuple[int, int]:
        return tile.length - u, tile.width - v

    screws, holes = {s.at for s in tile.screws}, {h.at for h in tile.pin_holes}
    assert {turned(*at) for at in holes} == holes
    # 40 mm over six gaps leave two ticks: the screws are the same to a tick, 3 µm
    assert all(min(math.dist(turned(*at), other) for other in screws) <= 1.5 for at in screws)


def test_the_600_tile_as_written() -> None:
    tile = tile_of({"use": "hardwood-600"})
    assert [mm(backer.u) for backer in tile.backers] == [40, 300, 560]
    assert {(mm(b.v[0]), mm(b.v[1]), mm(b.width)) for b in tile.backers} == {(6, 594, 60)}
    # 7 x 80 = 560; 40 mm in six gaps are 12800 ticks: 2133 each and two over, one each side of the middle
    gaps = [b.v[0] - a.v[1] for a, b in zip(tile.slats, tile.slats[1:], strict=False)]
    assert gaps == [2133, 2133, 2134, 2134, 2133, 2133]
    assert [(s.id, s.slat, s.backer, mm(s.at[0]), mm(s.at[1])) for s in tile.screws[:3]] == [
        ("1.1a", 1, 1, 40, 20),
        ("1.1b", 1, 1, 40, 60),
        ("1.2a", 1, 2, 300, 20),
    ]
    assert len(tile.screws) == 7 * 3 * 2
    assert [(h.backer, mm(h.at[0]), mm(h.at[1])) for h in tile.pin_holes] == [
        (1, 40, 40),
        (1, 40, 560),
        (3, 560, 40),
        (3, 560, 560),
    ]


# trade fact, common practice, no source: tiles are sold as 20 x 20, 24 x 24 and 24 x 48 in modules
@pytest.mark.parametrize(
    ("name", "inches"), [("hardwood-20in", (20, 20)), ("hardwood-24in", (24, 24)), ("hardwood-24x48in", (48, 24))]
)
def test_inch_sizes_are_modules(name: str, inches: tuple[int, int]) -> None:
    tile = tile_of({"use": name})
    along, across = pin_joints(tile)
    assert (tile.length + along, tile.width + across) == (inches[0] * TICKS_PER_INCH, inches[1] * TICKS_PER_INCH)


# NDS 2018, Appendix L, Table L3: screw diameters in inches by number
@pytest.mark.parametrize(
    ("gauge", "inches"), [(6, 0.138), (7, 0.151), (8, 0.164), (9, 0.177), (10, 0.190), (12, 0.216)]
)
def test_screw_diameters_fit_the_published_table(gauge: int, inches: float) -> None:
    tile = tile_of({"use": "hardwood-600", "screws": {"gauge": gauge}})
    assert tile.screw_diameter / TICKS_PER_INCH == pytest.approx(inches, abs=0.0005)


def test_single_keys_override() -> None:
    tile = tile_of({"use": "hardwood-600", "support": {"height": "40 mm"}, "density": 800.0})
    assert (mm(tile.support.height), mm(tile.support.pin_offset)) == (40, 42)
    assert tile.density == 800
    assert tile.name == "hardwood-600, changed"


def test_one_screw_a_crossing_stands_in_the_middle() -> None:
    support = {"pin_offset": "62 mm", "pad": ["160 mm", "160 mm"]}
    apart = {"pin_holes": {"inset": ["40 mm", "60 mm"]}, "support": support}
    tile = tile_of({"use": "hardwood-600", "screws": {"a_crossing": 1}, **apart})
    assert len(tile.screws) == 7 * 3
    assert (tile.screws[0].id, mm(tile.screws[0].at[1])) == ("1.1a", 40)
    # 5 D = 20.8 mm to the backer's end: here 40 - 6 = 34
    assert tile.warnings == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        # screws 8 mm from the slat's edge: 2.5 D of #8 is 10.4
        (
            {"screws": {"inset": "8 mm"}, "backers": {"inset": 0}},
            "slat's edge is 8 mm, the rules ask for at least 10.4 mm",
        ),
        # 80 - 2 x 33 = 14 mm between the two screws: 5 D is 20.8
        (
            {
                "screws": {"inset": "33 mm"},
                "pin_holes": {"inset": ["40 mm", "60 mm"]},
                "support": {"pin_offset": "62 mm"},
            },
            "two screws of a crossing is 14 mm",
        ),
        # backer 2 to 22 mm from the end
        (
            {
                "backers": {"at": ["12 mm", "300 mm", "588 mm"], "width": "20 mm"},
                "pin_holes": {"inset": ["12 mm", "40 mm"]},
                "support": {"pin_offset": "42 mm"},
            },
            "slat's end is 12 mm, the rules ask for at least 20.8 mm",
        ),
        # (40, 50) is 10 mm from the screw at (40, 60): clear of the hole's rim, but not by 12 mm
        ({"pin_holes": {"inset": ["40 mm", "50 mm"]}, "support": {"pin_offset": "51 mm"}}, "hole's centre is 10 mm"),
        # backer 10 to 70 mm, hole at 58 with a rim at 64
        ({"pin_holes": {"inset": ["58 mm", "40 mm"]}, "support": {"pin_offset": "60 mm"}}, "around a pin hole is 6 mm"),
        # slats reach 130 mm past the backer's edge at 130
        (
            {
                "backers": {"at": ["160 mm", "300 mm", "440 mm"]},
                "pin_holes": {"inset": ["160 mm", "40 mm"]},
                "support": {"pin_offset": "161 mm", "pad": ["400 mm", "400 mm"]},
            },
            "overhang past its last backer is 130 mm, the rules ask for at most 90 mm",
        ),
        # pads of 140: 70 - 61 - 10 / 2 = 4 mm beyond the pin
        ({"support": {"pin_offset": "61 mm"}}, "pad beyond a support's pin is 4 mm, the rules ask for at least 10 mm"),
        # 20 mm of backer on each pad, which is 68 by 68 under the tile
        (
            {"backers": {"width": "20 mm"}, "pin_holes": {"diameter": "10 mm"}, "support": {"pin": "9 mm"}},
            "what a backer has on its support is 20 mm, the rules ask for at least 30 mm",
        ),
        ({"backers": {"width": "38 mm"}}, "a backer's width is 38 mm, the rules ask for at least 40 mm"),
        # bearing from 130 along and 6 across on: the corners are the root of 130² + 6² = 130.1 away
        (
            {
                "backers": {"at": ["160 mm", "300 mm", "440 mm"]},
                "pin_holes": {"inset": ["160 mm", "40 mm"]},
                "support": {"pin_offset": "161 mm", "pad": ["400 mm", "400 mm"]},
            },
            "how far the face reaches past what it rests on is 130.1 mm, the rules ask for at most 30 mm",
        ),
        # 20 slats of 24 and 19 gaps of 6.3
        (
            {
                "slats": {"count": 20, "width": "24 mm"},
                "screws": {"a_crossing": 1},
                "pin_holes": {"inset": ["40 mm", "60 mm"]},
                "support": {"pin_offset": "62 mm", "pad": ["150 mm", "150 mm"]},
            },
            "a slat's width is 24 mm, the rules ask for at least 25 mm",
        ),
        # 520 mm between two backers; 16 in = 406.4 mm
        ({"backers": {"at": ["40 mm", "560 mm"]}}, "bay between backers is 520 mm"),
    ],
)
def test_a_tile_that_breaks_distances_is_used_with_a_warning(change: dict[str, Any], said: str) -> None:
    tile = tile_of({"use": "hardwood-600", **change})
    assert any(said in warning for warning in tile.warnings), tile.warnings


@pytest.mark.parametrize(
    ("change", "key", "rule"),
    [
        ({"slats": {"count": 1}}, "slats", "the tile is 600 mm wide"),
        ({"slats": {"count": 3}}, "slats", "gaps wider than a slat"),
        ({"thickness": "40 mm"}, "thickness", "add up to 38 mm"),
        ({"backers": {"inset": "300 mm"}}, "backers.inset", "leaves the backers a length"),
        ({"backers": {"at": ["560 mm", "300 mm", "40 mm"]}}, "backers.at", "in order"),
        ({"backers": {"inset": "19 mm"}}, "screws.inset", "inside their backer"),
        ({"screws": {"inset": "79 mm"}}, "screws.inset", "inside their slat"),
        ({"screws": {"inset": "41 mm"}}, "screws.inset", "stand apart"),
        ({"screws": {"gauge": 40}}, "screws.gauge", "14 or less"),
        ({"support": {"pin_offset": "66 mm"}}, "support.pin_offset", "on the support's pad"),
        ({"pin_holes": {"inset": ["560 mm", "40 mm"]}}, "pin_holes.inset", "inside their backer"),
        # on a grid of 604 mm
        (
            {"support": {"pad": ["605 mm", "140 mm"]}},
            "support.pad",
            "none is larger than tile and joint, 604 mm by 604 mm",
        ),
    ],
)
def test_impossible_tiles_are_refused(change: dict[str, Any], key: str, rule: str) -> None:
    found = mistakes_of({"use": "hardwood-600", **change})
    assert any(where == f"tile.{key}" and rule in what for where, what in found), found


def test_a_tile_in_full_needs_every_key() -> None:
    missing = {key for key, rule in mistakes_of({"length": "600 mm"}) if rule == "is missing"}
    assert missing == {f"tile.{key}" for key in ("width", "slats", "backers", "screws", "pin_holes", "support")}
