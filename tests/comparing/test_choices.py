"""The choices of a job are those that its reader takes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cutopt.comparing.choices import AS_GIVEN, STRATEGIES, Limits, limit_mistakes, menu, strategies
from cutopt.errors import BadInput
from tests.jobs import area_text, job_of, room

ROOM = area_text([(0, 0), (2000, 0), (2000, 1500), (0, 1500)])


def file_text(strategy: str, pattern: str, grid: str) -> str:
    """The text of a job with these settings."""
    return (
        f'[job]\nname = "room"\n[tile]\nuse = "hardwood-600"\n[lay]\npattern = "{pattern}"\ngrid = {grid}\n'
        f'[cut]\nstrategy = "{strategy}"\n{ROOM}'
    )


def test_a_strategy_is_offered_where_a_job_file_may_ask_for_it() -> None:
    for strategy in STRATEGIES:
        try:
            job_of(file_text(strategy, "straight", '"best"'))
        except BadInput:
            assert strategy not in strategies()
            (mistake,) = limit_mistakes(Limits(strategies=(strategy,)))
            assert str(mistake).startswith(f'--strategy = "{strategy}": ')
        else:
            assert strategy in strategies()
            assert limit_mistakes(Limits(strategies=(strategy,))) == ()
    assert set(strategies()) >= {"one-for-one", "factory-edge"}


@pytest.mark.parametrize("grid", ['"best"', '"centred"', '{x = "20 mm", y = "30 mm"}'])
def test_a_choice_is_what_the_job_file_would_say(grid: str) -> None:
    job = job_of(file_text("factory-edge", "straight", grid))
    for choice in menu(job, Limits()).choices:
        place = grid if choice.grid == AS_GIVEN else f'"{choice.grid}"'
        other = job_of(file_text(choice.strategy, choice.pattern, place))
        assert choice.applied(job) == replace(other, sha256=job.sha256)


@pytest.mark.parametrize(("phase", "of_another"), [("2", 0), ('"any"', "any")])
def test_the_phase_of_one_pattern_is_not_that_of_another(phase: str, of_another: int | str) -> None:
    job = room(2000, 1500, lay=f'pattern = "two-and-one"\nphase = {phase}')
    for choice in menu(job, Limits()).choices:
        own = choice.pattern == "two-and-one"
        assert choice.applied(job).laying.phase == (job.laying.phase if own else of_another)


def test_all_that_the_job_allows() -> None:
    names = [choice.name for choice in menu(room(2000, 1500), Limits()).choices]
    assert len(names) == len(set(names)) == len(strategies()) * 3 * 3
    assert {"one-for-one/straight/best", "factory-edge/two-and-one/centred"} <= set(names)
    placed = menu(room(2000, 1500, grid="{x = 20, y = 30}"), Limits()).choices
    assert len(placed) == len(strategies()) * 3 * 4


def test_limits() -> None:
    limits = Limits(strategies=("factory-edge",), patterns=("alternate", "straight"), grids=("centred", "best"))
    found = menu(room(2000, 1500), limits)
    assert [choice.name for choice in found.choices] == [
        "factory-edge/straight/best",
        "factory-edge/straight/centred",
        "factory-edge/alternate/best",
        "factory-edge/alternate/centred",
    ]
    assert found.not_offered == ()


def test_mixed_turns_need_a_square_tile() -> None:
    found = menu(room(3000, 2000, tile="hardwood-24x48in"), Limits())
    assert {choice.pattern for choice in found.choices} == {"straight"}
    assert [word for word, _ in found.not_offered] == ["alternate", "two-and-one"]
    assert all(why.startswith("mixed turns need a square tile") for _, why in found.not_offered)
    limited = Limits(patterns=("alternate",))
    assert menu(room(3000, 2000, tile="hardwood-24x48in"), limited).choices == ()


def test_a_place_that_the_job_does_not_give() -> None:
    found = menu(room(2000, 1500), Limits(grids=("as-given", "best")))
    assert {choice.grid for choice in found.choices} == {"best"}
    assert found.not_offered == (("as-given", "the job gives no place of its own"),)


def test_unknown_words_come_together() -> None:
    limits = Limits(strategies=("factory-edg",), patterns=("chequered",), grids=("centerd", "best"))
    said = [str(mistake) for mistake in limit_mistakes(limits)]
    assert len(said) == 3
    assert any(line.startswith("--strategy = ") and "did you mean 'factory-edge'?" in line for line in said)
    assert any(line.startswith("--pattern = ") and "straight, alternate, two-and-one" in line for line in said)
    assert any(line.startswith("--grid = ") and "did you mean 'centred'?" in line for line in said)
