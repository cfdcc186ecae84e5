"""An infill in a notch that narrows towards its post keeps a joint from both legs as far in as it reaches."""

from __future__ import annotations

import pytest
from shapely.geometry import Polygon

from cutopt import check, plan
from tests.jobs import area_text, job_of, post_text


#   the site's first wall is 2.3 degrees out of the layout's direction, so that the notch around the post leans
@pytest.mark.parametrize("lean", [66.0, 72.0])
def test_no_infill_is_too_wide_for_its_notch(lean: float) -> None:
    corners = [(0.0, 0.0), (1648.0, lean), (1660.0, 1117.0), (1075.0, 1150.0), (1090.0, 2421.0), (6.0, 2390.0)]
    post = post_text(822.0, 224.5, 140.0)
    head = '[tile]\nuse = "hardwood-500"\n[lay]\ngrid = "full-first"\n'
    made = plan(job_of(head + area_text(corners, more=post)))
    assert check(made) == ()
    pairs = [
        (Polygon(one.outline), Polygon(other.outline))
        for one in made.pieces
        for other in made.pieces
        if (one.row, one.col) == (other.row, other.col) and one.id != other.id
    ]
    pairs = [(one, other) for one, other in pairs if one.convex_hull.intersection(other).area > other.area / 2]
    assert pairs
    assert all(one.distance(other) >= 3.99 for one, other in pairs)  # a joint of 4, at right angles to a leaning leg
