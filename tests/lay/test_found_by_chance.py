"""Rooms drawn at random in which lay and check differed, made small. The check works from the plan file alone."""

from __future__ import annotations

import pytest

from cutopt import check, plan
from cutopt.job.records import Job
from tests.jobs import area_text, job_of


def job(corners: list[tuple[float, float]], edges: list[str], post: str = "", *, tile: str = "500", grid: str) -> Job:
    head = f'[tile]\nuse = "hardwood-{tile}"\n[lay]\nslats = "across"\ngrid = {grid}\n[cut]\nstrategy = "one-for-one"\n'
    return job_of(f"{head}[rules]\nspare_backers = 99\n{area_text(corners, edges, more=post)}")


#  what lies beside a wall's strip where it runs on past a blunt corner, and ground that stone fills around a round post
CASES = {
    "a wall that meets a stone border at a blunt corner": job(
        [(183, 4), (771, 14), (981, 504), (770, 1232), (188, 1227), (14, 612)],
        ["wall", "stone", "wall", "stone", "wall", "wall"],
        grid="{x = 277, y = 245}",
    ),
    "a wall that meets a flush edge at a blunt corner": job(
        [(0, 0), (1460, 6), (1478, 340), (878, 570), (12, 572)],
        ["wall", "wall", "wall", "flush", "wall"],
        tile="20in",
        grid="{x = 14, y = 144}",
    ),
    "stone around a round post": job(
        [(0, 0), (950, 0), (950, 560), (0, 560)],
        ["wall", "wall", "wall", "stone"],
        "[[area.post]]\nat = [175, 400]\ndiameter = 160\n",
        grid="{x = 200, y = 70}",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_rooms_found_by_chance_are_laid_as_the_check_expects(case: str) -> None:
    made = plan(CASES[case])
    assert [str(finding) for finding in check(made)] == []


def test_stone_goes_round_a_post_that_is_cut_square() -> None:
    """Whole tiles, and a border with a round post in it: as much stone however notches around posts are cut."""
    corners = [(0.0, 0.0), (1216.0, 0.0), (1216.0, 1000.0), (0.0, 1000.0)]
    post = "[[area.post]]\nat = [400, 800]\ndiameter = 160\n"
    found = []
    for how in ("round", "square"):
        head = f'[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n[cut]\nround_posts = "{how}"\n'
        made = plan(job_of(head + area_text(corners, ["wall", "wall", "stone", "wall"], more=post)))
        assert [str(finding) for finding in check(made)] == []
        found.append(made.totals.stone_area)
    assert found[0] == pytest.approx(found[1], abs=100)
    assert found[0] < 1216 * 390 - 3.14 * 80**2
