"""A short backer stands on one support where that is enough. Common practice, no source."""

from __future__ import annotations

import pytest

from cutopt.fit import Fit
from tests.fit.casing import Case
from tests.fit.judging import judge
from tests.fit.shapes import MM, WORKED, ring, ripped
from tests.jobs import carpenter_of, room


@pytest.mark.parametrize(
    ("width", "stands"),
    [
        (115, 2),  # the pad reaches 70 - 2 = 68 under the strip; 47 past it, 60 are allowed at a wall
        (126, 2),  # 58 past it
        (135, 4),  # 67 past it: a support at either end
        (180, 4),
    ],
)
def test_strips_along_a_wall(width: int, stands: int) -> None:
    """
    width +---------------+ wall
          |               |
       68 |PPP         PPP|     one support at the first and one at the last backer, shared with the tiles below
        0 +---------------+
    """
    job = room(3000, 3000)
    answer = carpenter_of(job).fit(ripped(WORKED, width))
    assert isinstance(answer, Fit)
    assert len(answer.stands) == stands
    assert judge(Case(tile=job.tile, rules=job.rules, outline=ripped(WORKED, width)), answer) == []
    if stands == 2:
        assert {(s.hole[0] / MM, s.hole[1] / MM) for s in answer.stands} == {(40, 40), (560, 40)}
        assert all(stand.state == "kept" for stand in answer.stands)


def test_the_end_at_the_tiles_own_side() -> None:
    # the same strip at the far side of the tile: its holes at 600 - 40 stay
    answer = carpenter_of(room(3000, 3000)).fit(ring([(0, 485), (600, 485), (600, 600), (0, 600)]))
    assert isinstance(answer, Fit)
    assert {(s.hole[0] / MM, s.hole[1] / MM) for s in answer.stands} == {(40, 560), (560, 560)}
