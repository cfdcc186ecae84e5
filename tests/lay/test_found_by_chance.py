"""Rooms drawn at random in which lay and check differed, made small. The check works from the plan file alone."""

from __future__ import annotations

import pytest

from cutopt import check, plan
from cutopt.job.records import Job
from tests.jobs import area_text, job_of, post_text


def job(corners: list[tuple[float, float]], edges: list[str], post: str = "", *, tile: str = "500", grid: str) -> Job:
    head = f'[tile]\nuse = "hardwood-{tile}"\n[lay]\nslats = "across"\ngrid = {grid}\n[cut]\nstrategy = "one-for-one"\n'
    return job_of(f"{head}[rules]\nspare_backers = 99\n{area_text(corners, edges, more=post)}")


def oblique(depth: int) -> Job:
    """Six tiles along a wall that leans by 14.5 degrees."""
    corners = [(0.0, 0.0), (3624.0, 0.0), (3624.0, depth + 938.0), (0.0, float(depth))]
    head = '[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n[rules]\nspare_backers = 50\n'
    return job_of(head + area_text(corners))


def standing(*posts: str, slats: str = "along") -> Job:
    """A room with posts that stand close together."""
    head = f'[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\nslats = "{slats}"\n'
    more = "".join(f'[[area.post]]\nname = "p{n}"\n{post}\n' for n, post in enumerate(posts))
    corners = [(0.0, 0.0), (1342.0, 0.0), (1342.0, 1283.0), (0.0, 1283.0)]
    return job_of(f"{head}[rules]\nspare_backers = 60\n{area_text(corners, more=more)}")


def close_by(tile: int, *posts: tuple[int, int, int], slats: str = "along", width: float = 1224.0) -> Job:
    """A room with square posts, each by its middle and side."""
    head = f'[tile]\nuse = "hardwood-{tile}"\n[lay]\ngrid = "full-first"\nslats = "{slats}"\n'
    more = "".join(post_text(x, y, side, name=f"p{n}") for n, (x, y, side) in enumerate(posts))
    corners = [(0.0, 0.0), (width, 0.0), (width, 1224.0), (0.0, 1224.0)]
    return job_of(f"{head}[rules]\nspare_backers = 60\n{area_text(corners, more=more)}")


#  what lies beside a wall's strip where it runs on past a blunt corner, ground that stone fills around a round post,
#  the tip of a slat that is cut off a millimetre from its end, and notches around round posts that run into each other
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
    "a tip a millimetre long": oblique(648),
    "two posts side by side, and a split between them": close_by(500, (804, 159, 37), (858, 143, 43), slats="across"),
    "two posts beside a split across": close_by(500, (276, 606, 36), (227, 680, 40)),
    "an infill between two posts": close_by(500, (622, 706, 38), (697, 792, 93)),
    "two posts in one notch": close_by(600, (155, 951, 47), (189, 1046, 87), width=1500.0),
    "two round posts that part a piece": standing(
        "at = [638, 543]\ndiameter = 114", "at = [826, 521]\ndiameter = 98", slats="across"
    ),
    "three posts, two of them round": standing(
        "at = [357, 162]\nsize = [39, 39]", "at = [476, 244]\ndiameter = 53", "at = [196, 199]\ndiameter = 124"
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
