"""Ctrl-C while grid starts are compared: the best plan so far, marked as such."""

from __future__ import annotations

import pytest

from cutopt import check, plan
from cutopt.planning import Progress
from tests.jobs import room


def test_the_best_plan_so_far_is_kept_and_says_so() -> None:
    seen: list[Progress] = []

    def stop(progress: Progress) -> None:
        seen.append(progress)
        if len(seen) == 1:
            raise KeyboardInterrupt

    made = plan(room(2950, 2210, grid='"best"'), progress=stop)
    assert made.proof.stopped == "interrupted"
    assert any("interrupted" in warning for warning in made.warnings)
    assert made.totals.tiles == seen[0].best
    assert check(made) == ()


def test_before_the_first_start_is_worked_out_there_is_nothing_to_keep(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("cutopt.gridchoice.choosing.cut_out", interrupted)
    with pytest.raises(KeyboardInterrupt):
        plan(room(1820, 1216))
