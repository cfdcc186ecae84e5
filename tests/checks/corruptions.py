"""All ways to spoil a good plan that the tests know, by concern."""

from __future__ import annotations

from tests.checks import (
    spoiled_backers,
    spoiled_cells,
    spoiled_cuts,
    spoiled_placements,
    spoiled_screws,
    spoiled_steps,
    spoiled_sums,
    spoiled_supports,
)
from tests.checks.spoiling import Corruption

CONCERNS = (
    spoiled_placements,
    spoiled_cuts,
    spoiled_cells,
    spoiled_screws,
    spoiled_backers,
    spoiled_supports,
    spoiled_steps,
    spoiled_sums,
)
CORRUPTIONS: tuple[Corruption, ...] = tuple(one for concern in CONCERNS for one in concern.SPOILED)
