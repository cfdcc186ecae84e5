"""The benchmark of real roofs measures what it says: results are looked at here, times are not."""

from __future__ import annotations

import json
import os
import sqlite3
import struct
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
import shapely

from cutopt.lengths import TICKS_PER_MM
from tests.benchmarks.apart import apart, in_turns, kept, read
from tests.benchmarks.outlines import Outline, of_file, of_geopackage
from tests.benchmarks.roofs import Result, Roof, main, measure, run, table
from tests.benchmarks.roofs_plain import Box, Boxes, apart_by_kerf, boxes_of, by_hand, plain_model
from tests.plans import plan_named

#   out of square, clockwise and not from its longest edge, as outlines come
SHED = [[10.0, 20.0], [10.02, 21.9], [12.5, 21.93], [12.52, 20.0], [10.0, 20.0]]


def feature(name: str, ring: list[list[float]]) -> dict[str, object]:
    return {"type": "Feature", "id": name, "geometry": {"type": "Polygon", "coordinates": [ring]}}


@pytest.fixture
def town(tmp_path: Path) -> Path:
    """Two sheds, and a point that is none."""
    spot = {"type": "Feature", "geometry": {"type": "Point", "coordinates": [1, 2]}}
    features = [feature("shed", SHED), spot, feature("other", [[x * 1.5, y] for x, y in SHED])]
    path = tmp_path / "town.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}), encoding="utf-8")
    return path


def shed(strategy: str = "factory-edge", grid: str = "full-first") -> Roof:
    corners = ((0.0, 0.0), (2520.0, 0.0), (2500.0, 1930.0), (20.0, 1900.0))
    outline = Outline(name="shed", corners=corners)
    return Roof(outline=outline, strategy=strategy, grid=grid, seconds=2, seed=0, plain=True)


def last(roof: Roof) -> Result:
    """The figures of a building once all is done, worked out here."""
    *_, result = run(roof)
    return result


def test_outlines_are_read_in_mm_anticlockwise_from_their_longest_edge(town: Path) -> None:
    first, second = of_file(town)
    assert (first.name, second.name) == ("shed", "other")
    assert first.corners == ((0.0, 0.0), (2520.0, 0.0), (2500.0, 1930.0), (20.0, 1900.0))
    assert first.square_metres == pytest.approx(4.788, abs=0.001)  # by the shoelace formula


def test_a_geopackage_is_read_at_its_latitude(tmp_path: Path) -> None:
    """A square of 20 m in EPSG:3857 is 20 m × cos 50.1° = 12.829 m wide there."""
    path = tmp_path / "some.gpkg"
    base = sqlite3.connect(path)
    base.execute("create table buildings (geom blob)")
    # GeoPackage 1.3, clause 2.1.3: magic, version, flags (an envelope of 32 bytes, little-endian), then the WKB
    head = b"GP\x00\x03" + struct.pack("<i4d", 3857, 500, 520, 700, 720)
    base.execute("insert into buildings values (?)", (head + shapely.box(500, 700, 520, 720).wkb,))
    base.commit()
    base.close()
    (outline,) = of_geopackage(path)
    assert sorted(outline.corners) == [(0, 0), (0, 12829), (12829, 0), (12829, 12829)]
    assert outline.square_metres == pytest.approx(164.58, abs=0.01)


@pytest.mark.parametrize("strategy", ["factory-edge", "one-for-one"])
def test_a_roof_is_planned_checked_and_compared(strategy: str) -> None:
    result = last(shed(strategy))
    assert (result.why, result.faults) == ("", ())
    assert result.whole + result.pieces >= result.one_for_one >= result.whole + result.cut
    assert result.bound <= result.cut <= result.pieces
    assert result.plain is not None
    assert result.plain_bound <= result.plain <= result.hand <= result.pieces
    if strategy == "one-for-one":
        assert result.cut == result.pieces > result.hand


def test_the_best_grid_is_set_against_full_first() -> None:
    best, first = last(shed(grid="best")), last(shed())
    assert best.considered > 1
    assert (best.first_tiles, best.first_open) == (first.whole + first.cut, first.open)
    assert first.first_tiles is None
    saved = first.whole + first.cut - best.whole - best.cut
    assert f"| tiles saved against full-first | {saved} |" in table([best])


def test_a_run_goes_on_where_it_stopped_and_tells_what_failed(town: Path, tmp_path: Path) -> None:
    out = tmp_path / "roofs.jsonl"
    order = ["--outlines", str(town), "--seconds", "1", "--jobs", "1", "--no-plain", "--out", str(out)]
    main([*order, "--stride", "2"])
    (shed_line,) = out.read_text(encoding="utf-8").splitlines()
    changed = shed_line.replace('"why": ""', '"why": "kept from the file"')
    out.write_text(f'{changed}\n{{"label": "oth\n', encoding="utf-8")  # cut short by a crash
    main(order)
    both = dict(read(out, Result))
    assert {result.name: result.why for result in both.values()} == {"shed": "kept from the file", "other": ""}
    text = table(list(both.values()))
    assert "| roofs | 2 |" in text
    assert "| plans | 1 |" in text
    assert "No figures: shed: kept from the file" in text


def test_no_plan_is_a_result_and_not_the_end() -> None:
    """60 mm by 60 mm have no room for any piece."""
    outline = Outline(name="hole", corners=((0.0, 0.0), (60.0, 0.0), (60.0, 60.0), (0.0, 60.0)))
    result = measure(replace(shed(), outline=outline), check_limit=60)
    assert result.why.startswith("NoPlan: ")


def test_work_that_lasts_too_long_or_crashes_or_dies_is_a_reason() -> None:
    assert apart(int, "7", 60) == 7
    assert apart(int, "seven", 60) == "ValueError: invalid literal for int() with base 10: 'seven'"
    assert apart(float, "1", 0) == "stopped after 0 s"
    assert apart(os._exit, 3, 60) == "ended with code 3"


def some_then_wait(numbers: tuple[int, ...]) -> Iterator[int]:
    yield from numbers
    time.sleep(60)


def test_what_is_done_before_a_limit_is_kept() -> None:
    assert in_turns(some_then_wait, (7, 8), [60, 60]) == (8, "")
    assert in_turns(some_then_wait, (7,), [60, 0]) == (7, "stopped after 0 s")
    assert in_turns(iter, (7,), [60, 60, 60]) == (7, "")
    assert in_turns(iter, (), [60]) == (None, "")


def test_lines_with_other_fields_are_left_out(tmp_path: Path) -> None:
    out = tmp_path / "roofs.jsonl"
    out.write_text('{"label": "shed", "name": "shed", "plan_seconds": 3.0}\n', encoding="utf-8")
    assert list(read(out, Result)) == []


def test_results_of_another_seed_are_not_taken(tmp_path: Path) -> None:
    out = tmp_path / "roofs.jsonl"

    def told(roof: Roof) -> Result:
        return Result(label=roof.label, name=roof.outline.name, square_metres=4.8, day="", whole=roof.seed)

    first, second = (kept([replace(shed(), seed=seed)], told, Result, out, 1)[0] for seed in (1, 2))
    assert (first.whole, second.whole) == (1, 2)
    assert len(out.read_text(encoding="utf-8").splitlines()) == 2


def box(u0: int, v0: int, u1: int, v1: int) -> Box:
    """In mm."""
    return u0 * TICKS_PER_MM, v0 * TICKS_PER_MM, u1 * TICKS_PER_MM, v1 * TICKS_PER_MM


def boxes(*own: tuple[int, int, int, int]) -> Boxes:
    """Places on a tile of 600 mm, with a kerf of 4 mm."""
    turned = [(600 - u1, 600 - v1, 600 - u0, 600 - v0) for u0, v0, u1, v1 in own]
    places = [(box(*one), box(*other)) for one, other in zip(own, turned, strict=True)]
    return Boxes(places=tuple(places), kerf=4 * TICKS_PER_MM)


def test_a_kerf_parts_two_boxes() -> None:
    assert apart_by_kerf(box(0, 0, 300, 600), box(304, 0, 600, 600), 4 * TICKS_PER_MM)
    assert not apart_by_kerf(box(0, 0, 300, 600), box(303, 0, 600, 600), 4 * TICKS_PER_MM)
    assert apart_by_kerf(box(0, 304, 600, 600), box(0, 0, 600, 300), 4 * TICKS_PER_MM)


@pytest.mark.parametrize(
    ("own", "hand", "fewest"),
    [
        ([], 0, 0),
        ([(0, 0, 298, 600), (0, 0, 298, 600)], 1, 1),  # 298 + 4 + 298 = 600: the second is turned
        ([(0, 0, 298, 600), (0, 0, 299, 600)], 2, 2),
        # strips that span: they lie where they lie, or turned; 350 + 4 + 246 = 600
        ([(0, 0, 350, 600), (0, 0, 246, 600), (0, 0, 340, 600), (0, 0, 250, 600)], 2, 2),
        # a half; two of the three corners have room beside it
        ([(0, 0, 290, 600), (0, 0, 290, 290), (0, 310, 290, 600), (0, 0, 290, 290)], 2, 2),
    ],
)
def test_hand_rules_and_the_plain_model_count_tiles(
    own: list[tuple[int, int, int, int]], hand: int, fewest: int
) -> None:
    some = boxes(*own)
    assert by_hand(some) == hand
    answer = plain_model(some, hand, 10)
    assert (answer.value, answer.bound) == (fewest, fewest)


def test_hand_rules_may_miss_the_fewest() -> None:
    """Each lies where it can by hand, and the third has no room beside the other two; one tile holds them all.

    The block is at the lower left. The upright goes to its own corner, upper left, and keeps the lintel from there;
    half-turned at the lower right, the lintel meets the block. Had the upright been turned, both would have had room.
    """
    block, upright, lintel = (0, 0, 296, 196), (0, 204, 96, 600), (0, 504, 396, 600)
    some = boxes(block, upright, lintel)
    answer = plain_model(some, 2, 10)
    assert (by_hand(some), answer.value, answer.bound) == (2, 1, 1)


def test_a_plans_boxes_are_those_of_its_pieces_each_as_often_as_wanted() -> None:
    plan = plan_named("balconies")
    found = boxes_of(plan)
    assert len(found.places) == plan.totals.pieces
    length, width = (round(size * TICKS_PER_MM) for size in (plan.tile.length, plan.tile.width))
    for own, turned in found.places:
        assert (own[0] + turned[2], own[1] + turned[3]) == (length, width)
        assert 0 <= own[0] < own[2] <= length
    assert found.kerf == round(max(plan.kerf.values()) * TICKS_PER_MM)
