"""Cards in the terminal: fewer than 80 columns, every step, and drawings that agree with the plan face up and down."""

from __future__ import annotations

import re

import pytest
import shapely

from cutopt.book import contents, shown
from cutopt.book.drawings.placed import on_source
from cutopt.book.terminal.showing import CELL
from cutopt.book.terminal.textdrawing import SCREW, WASTE, text_drawing
from cutopt.errors import BadInput
from cutopt.planfile import Plan
from cutopt.planfile.model import Source
from tests.book.sample import sample_json, sample_plan
from tests.plans import SITES, plan_named

FRAME = re.compile(r"\|(.*)\|")


def inside(lines: tuple[str, ...]) -> list[str]:
    """The drawing within its frame, from the far side to the near one."""
    return [found[1] for line in lines if (found := FRAME.search(line))]


@pytest.mark.parametrize("site", SITES)
def test_every_step_is_told_in_fewer_than_eighty_columns(site: str) -> None:
    plan = plan_named(site)
    for source in plan.sources:
        text = shown(plan, source.id, "plan.json")
        assert max(len(line) for line in text.splitlines()) < 80
        words = " ".join(text.split())
        for step in plan.steps:
            if step.source == source.id:
                assert f"[ ] {step.n} {step.station}, face {step.face}: {' '.join(step.text.split())}" in words


def a_source(plan: Plan) -> Source:
    """The one with most to take out and saw off."""
    return max(plan.sources, key=lambda source: (len(source.screws_out), len(source.cuts)))


@pytest.mark.parametrize("site", SITES)
def test_wood_that_is_kept_is_blank_where_the_plan_has_a_piece(site: str) -> None:
    plan = plan_named(site)
    source = a_source(plan)
    rows = inside(text_drawing(plan, source, "up"))
    pieces = {piece.id: piece for piece in plan.pieces}
    kept = shapely.union_all([shapely.Polygon(on_source(plan, pieces[p.piece], p)) for p in source.placements])
    high, wide = len(rows), len(rows[0])
    seen = 0
    for r, row in enumerate(rows):
        for c, sign in enumerate(row):
            at = shapely.Point((c + 0.5) * plan.tile.length / wide, (high - r - 0.5) * plan.tile.width / high)
            if sign == WASTE:
                seen += 1
                assert not kept.buffer(-0.01).covers(at)
            elif sign == " ":
                assert kept.covers(at)
    assert seen > 0


@pytest.mark.parametrize("site", SITES)
def test_face_down_is_face_up_turned_over_sideways(site: str) -> None:
    """Left and right change places, near and far do not, and names are not mirrored."""
    plan = plan_named(site)
    source = a_source(plan)
    up, down = (text_drawing(plan, source, face) for face in ("up", "down"))
    for one, other in zip(inside(up), inside(down), strict=True):
        plain = [row.replace(SCREW, WASTE) for row in (one, other)]
        if not re.search(r"[A-Z]", one + other):
            assert abs(len(re.findall(WASTE, plain[0])) - len(re.findall(WASTE, plain[1]))) <= 2
            assert re.match(rf"{WASTE}*", plain[0])[0] != "" or not plain[1].rstrip().endswith(WASTE * len(one))  # type: ignore[index]
    assert [line.strip()[0] for line in up if "home end" in line] != [
        line.strip()[0] for line in down if "home" in line
    ]
    assert up[-2].strip().startswith("H")
    assert down[-2].strip().endswith("H")
    assert any("home end |" in line for line in up)
    assert any("| home end" in line for line in down)


@pytest.mark.parametrize("said", ["3,2", "row 3, place 2", "3/2", "3 2", "Row 3 place 2"])
def test_a_cell_is_its_row_and_place(said: str) -> None:
    found = CELL.fullmatch(said)
    assert found
    assert found.groups() == ("3", "2")


@pytest.mark.parametrize("site", SITES)
def test_pieces_and_cells_lead_to_the_tiles(site: str) -> None:
    plan = plan_named(site)
    piece = plan.pieces[0]
    (source,) = [s for s in plan.sources if any(p.piece == piece.id for p in s.placements)]
    cell = f"{piece.row + 1},{piece.col + 1}"
    for name in (piece.id, piece.id.lower(), cell):
        text = shown(plan, name, "plan.json")
        assert f"row {piece.row + 1}, place {piece.col + 1}" in text
        assert f"{source.id}: from a new tile" in text
    whole = next(c for area in plan.areas for c in area.cells if c.kind == "whole")
    assert "a whole tile" in shown(plan, f"{whole.row + 1},{whole.col + 1}", "plan.json")
    assert all(re.search(rf"^{s.id}\b", contents(plan), re.MULTILINE) for s in plan.sources)


@pytest.mark.parametrize("name", ["T999", "P0", "99,99", "", "quay", "\x1b[31m", "x" * 300])
def test_what_is_not_there_is_told_with_what_is(name: str) -> None:
    with pytest.raises(BadInput) as caught:
        shown(sample_plan(), name, "plan.json")
    text = str(caught.value)
    assert "plan.json" in text
    assert "tiles T1 to" in text
    assert "\x1b" not in text
    assert len(text) < 400


def test_names_of_any_kind_stay_texts() -> None:
    data = sample_json()
    name = '[red]<b>"A\x1b[31m\u202eB' + "x" * 150
    for area in data["areas"]:
        area["name"] = name
    for record in (*data["pieces"], *data["supports"]):
        record["area"] = name
    plan = Plan.model_validate(data)
    cut = next(cell for area in plan.areas for cell in area.cells if cell.pieces)
    text = shown(plan, f"{cut.row + 1},{cut.col + 1}", "plan.json")
    assert "[red]<b>" in text
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert max(len(line) for line in text.splitlines()) < 80
