"""Offcuts that one plan keeps are sources of the next: read from its plan file, cut from, and checked."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from cutopt import check, plan
from cutopt.errors import BadInput
from cutopt.job import load_job
from cutopt.planfile import Plan, dump
from tests.jobs import job_of

TERRACE = """[tile]
use = "{tile}"
[lay]
grid = "full-first"
[cut]
seconds = 5
{rack}
[[area]]
name = "Room"
corners = {corners}
"""
FIRST = '[["0", "0"], ["4.05 m", "0"], ["4.05 m", "2.60 m"], ["0", "2.58 m"]]'
SECOND = '[["0", "0"], ["3.30 m", "0"], ["3.31 m", "2.75 m"], ["0", "2.73 m"]]'


@cache
def first() -> Plan:
    """A room whose far row leaves offcuts."""
    return plan(job_of(TERRACE.format(tile="hardwood-600", corners=FIRST, rack="")))


def planned(corners: str, folder: Path, rack: str = "", tile: str = "hardwood-600") -> Plan:
    text = f'format = "cutopt-job"\nversion = 1\n{TERRACE.format(tile=tile, corners=corners, rack=rack)}'
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return plan(load_job(folder / "job.toml"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "first.json").write_text(dump(first()), encoding="utf-8")
    return tmp_path


RACK = '[cut.rack]\nplan = "first.json"'


def kept(found: Plan) -> list[str]:
    return [offcut.id for source in found.sources for offcut in source.offcuts if offcut.keep]


def test_an_offcut_of_an_earlier_plan_saves_a_tile(folder: Path) -> None:
    without, found = planned(SECOND, folder), planned(SECOND, folder, RACK)
    assert found.totals.tiles == without.totals.tiles - 1
    assert found.proof.met
    assert check(found) == ()


def test_it_is_named_where_it_is_cut_and_its_own_rest_gets_a_name_that_is_free(folder: Path) -> None:
    found = planned(SECOND, folder, RACK)
    (used,) = found.stock
    assert [source.from_ for source in found.sources if source.from_ != "new"] == [f"stock:{used.id}"]
    name = next(source.id for source in found.sources if source.from_ != "new")
    text = next(step.text for step in found.steps if step.source == name)
    assert f"lay offcut {used.id} from the rack" in text
    assert "gone: measure nothing from there" in text
    assert not set(kept(found)) & set(kept(first()))


def test_its_hardware_is_what_the_first_plan_left_of_it(folder: Path) -> None:
    (used,) = planned(SECOND, folder, RACK).stock
    listed = next(o for source in first().sources for o in source.offcuts if o.id == used.id)
    assert used.outline == listed.outline
    assert [screw.id for screw in used.screws] == [screw.id for screw in listed.screws]
    assert used.backers == listed.backers


def test_one_that_is_gone_is_not_cut_from(folder: Path) -> None:
    (used,) = planned(SECOND, folder, RACK).stock
    again = planned(SECOND, folder, f'{RACK}\nwithout = ["{used.id}"]')
    assert used.id not in [stock.id for stock in again.stock]


@pytest.mark.parametrize(
    ("rack", "tile", "said"),
    [
        ('[cut.rack]\nplan = "none.json"', "hardwood-600", ["none.json", "plan.json"]),
        (RACK, "hardwood-500", ["cut.rack.plan", "hardwood-500", "hardwood-600", "same tile"]),
        (f'{RACK}\nwithout = ["R99"]', "hardwood-600", ["cut.rack.without[0]", "R99", "R1"]),
        ('[cut.rack]\nplan = 3\nwithot = ["R1"]', "hardwood-600", ["cut.rack.plan", "without"]),
    ],
)
def test_what_is_wrong_with_a_rack_is_said(folder: Path, rack: str, tile: str, said: list[str]) -> None:
    with pytest.raises(BadInput) as caught:
        planned(SECOND, folder, rack, tile)
    assert all(word in str(caught.value) for word in said), str(caught.value)
