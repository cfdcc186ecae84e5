"""Good plans of what the small plan has not: each drawn and worked out by hand on the small plan's tile."""

from __future__ import annotations

from tests.checks.worked_backers import oblique, ripped_backer, screws_back_in
from tests.checks.worked_notches import corner_notch, lifted_over, round_notch
from tests.checks.worked_splits import dropped, split_in_two

WORKED = (lifted_over, round_notch, split_in_two, dropped, corner_notch, oblique, ripped_backer, screws_back_in)
