"""What the saws at hand cannot cut is refused, and said to be so; found by jobs drawn at random.

The reach of a jigsaw is 700 mm and of a table saw's fence 700 mm by default (common practice, no source).
"""

from __future__ import annotations

import pytest

from cutopt import check, plan
from cutopt.planfile import Plan
from tests.jobs import area_text, job_of


def planned(tile: str, corners: list[tuple[float, float]], saws: str, *, count: int = 1, cut: str = "") -> Plan:
    head = f'[tile]\nuse = "{tile}"\n[lay]\ngrid = "full-first"\n[cut]\nsaws = [{saws}]\nseconds = 2\n{cut}'
    area = area_text(corners).replace("[[area]]\n", f"[[area]]\ncount = {count}\n", 1)
    return plan(job_of(head + "[rules]\nspare_backers = 99\n" + area))


def rectangle(width: float, depth: float) -> list[tuple[float, float]]:
    return [(0, 0), (width, 0), (width, depth), (0, depth)]


def test_no_jigsaw_follows_a_rip_beyond_its_reach() -> None:
    """A strip of 300 mm of a tile 1215 mm long."""
    made = planned("hardwood-24x48in", rectangle(1230, 920), '"jigsaw"')
    assert [str(finding) for finding in check(made)] == []
    assert {left.rule for area in made.areas for cell in area.cells for left in cell.left} == {"saws"}


def test_along_the_fence_of_a_table_saw_the_same_rip_is_made() -> None:
    made = planned("hardwood-24x48in", rectangle(1230, 920), '"table saw", "jigsaw"')
    assert [str(finding) for finding in check(made)] == []
    assert not any(cell.left for area in made.areas for cell in area.cells)


@pytest.mark.parametrize("strategy", ["factory-edge", "anywhere"])
def test_a_table_saw_alone_needs_an_edge_along_its_fence(strategy: str) -> None:
    """Three strips of a tile: the middle one would have none left."""
    made = planned("hardwood-500", rectangle(1020, 645), '"table saw"', count=15, cut=f'strategy = "{strategy}"\n')
    assert [str(finding) for finding in check(made)] == []
    assert made.totals.cut < made.totals.pieces
