"""An outline that goes to and fro: marks on the tiles may make a notch's path cross itself."""

from __future__ import annotations

import math

from cutopt import check, plan
from cutopt.lengths import TICKS_PER_MM
from tests.jobs import area_text, job_of, layout_of

CORNERS = 300
RADII = (3000, 3200)  # mm, in turn


def test_a_notch_that_would_cross_itself_is_no_way_to_fill_a_cell() -> None:
    turns = [(RADII[i % 2], 2 * math.pi * i / CORNERS) for i in range(CORNERS)]
    corners = [(4000 + radius * math.cos(turn), 4000 + radius * math.sin(turn)) for radius, turn in turns]
    layout = layout_of(job_of('[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n' + area_text(corners)))
    assert layout.whole * (600 * TICKS_PER_MM) ** 2 < math.pi * (RADII[0] * TICKS_PER_MM) ** 2
    assert layout.whole > 50


def test_the_whole_outline_is_planned() -> None:
    turns = [(RADII[i % 2], 2 * math.pi * i / CORNERS) for i in range(CORNERS)]
    corners = [(4000 + radius * math.cos(turn), 4000 + radius * math.sin(turn)) for radius, turn in turns]
    made = plan(job_of('[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n' + area_text(corners)), seconds=2)
    assert [str(finding) for finding in check(made)] == []
    assert made.totals.whole > 50
