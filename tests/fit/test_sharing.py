"""Two slats share what a rip leaves too little of, where the cut bounds both of them, at oblique ends as at straight.

Tile of 600 mm, slats of 80 and gaps of 6.67: ripped to 186 its third slat keeps 12.7 mm, and slats 2 and 3 share.
"""

from __future__ import annotations

import pytest

from cutopt.checks import check
from cutopt.fit import Fit, Refusal, fit
from cutopt.planning import plan
from tests.jobs import area_text, job_of, room

T = 320
JOB = room(1820, 1216)
Corners = list[tuple[int, int]]
BOUND: dict[str, Corners] = {
    "straight": [(0, 0), (600, 0), (600, 186), (0, 186)],
    "shorter along the cut": [(0, 0), (590, 0), (580, 186), (0, 186)],
    "longer along the cut": [(0, 0), (580, 0), (590, 186), (0, 186)],
    "both ends oblique": [(10, 0), (580, 0), (590, 186), (0, 186)],
}
RUNNING_ON: dict[str, Corners] = {
    "chamfered in the slats that share": [(0, 0), (600, 0), (600, 120), (540, 186), (0, 186)],
    "notched through them": [(0, 0), (600, 0), (600, 60), (500, 60), (500, 186), (0, 186)],
    "beyond the cut": [(0, 0), (600, 0), (600, 186), (300, 186), (300, 300), (0, 300)],
}


def made(corners: Corners) -> Fit | Refusal:
    return fit(tuple((u * T, v * T) for u, v in corners), JOB.tile, JOB.rules)


@pytest.mark.parametrize("name", BOUND)
def test_slats_share_where_the_cut_bounds_both(name: str) -> None:
    found = made(BOUND[name])
    assert isinstance(found, Fit)
    assert found.share is not None
    assert (found.share.inner.id, found.share.outer.id) == (2, 3)
    # from 86.67, the inner slat's whole edge, to 186 less a gap: 92.67, to whole millimetres 46 for the inner one
    assert found.share.width == 46 * T
    shared = [fragment for fragment in found.fragments if fragment.shared]
    assert {fragment.slat for fragment in shared} == {2, 3}


@pytest.mark.parametrize("name", RUNNING_ON)
def test_slats_that_run_on_beside_the_cut_do_not(name: str) -> None:
    found = made(RUNNING_ON[name])
    assert isinstance(found, Refusal)
    assert found.rule == "fragment_least"


@pytest.mark.parametrize("far", [(1200, 1180), (1180, 1200)])
def test_corner_pieces_out_of_square_share_and_are_checked(far: tuple[int, int]) -> None:
    corners = [(0, 0), (far[0], 0), (far[1], 804), (0, 804)]  # row two: 804 - 604 - two gaps of 6 or more
    head = '[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n[rules]\nspare_backers = 20\n'
    planned = plan(job_of(head + area_text(corners)))
    assert check(planned) == ()
    (oblique,) = [cell for cell in planned.areas[0].cells if (cell.row, cell.col) == (1, 1)]
    sharing = [f for source in planned.sources for f in source.slats if f.state == "shared"]
    assert set(oblique.pieces) <= {fragment.piece for fragment in sharing}
