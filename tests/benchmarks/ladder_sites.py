"""Sites of any size, invented by code: plazas with leaning walls and posts, and a block of balconies."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

from cutopt.geometry import Ring
from cutopt.job.records import Job
from cutopt.lengths import TICKS_PER_MM
from tests.jobs import Corner, area_text, job_of, post_text

PITCH = 604.0  # mm
LEAN = 3.6  # mm a cell: more than the 1 mm to which is marked, so that neighbours along a wall differ
NEAR_WALL = 900.0  # mm: posts stand further in
POSTS_APART = 500  # mm, along the one axis or the other
POST_SIDES = (90, 160)  # mm, least and most
TRIES = 1000  # for each post
SMALLEST = 10  # cells a side
KINDS, ALIKE = 3, 100  # of balconies


@dataclass(frozen=True, kw_only=True, slots=True)
class Plaza:
    """A site in mm: corners anticlockwise, and of each square post its centre and side."""

    corners: tuple[Corner, ...]
    posts: tuple[tuple[int, int, int], ...]


def plaza(n: int, seed: int) -> Plaza:
    """A site for n × n cells and 2 n posts; n from 10.

    Whole tiles lie along the start wall; all other walls lean against it, each by an angle of its own, and posts differ
    in place and size, so that no two pieces are equal.
    """
    wide, deep = (n - 1) * PITCH + 220, (n - 1) * PITCH + 230
    lean = LEAN * n
    corners = [(0.0, 0.0), (wide, 0.0), (wide + 0.9 * lean, deep), (lean, deep + 0.8 * lean)]
    tenths = tuple((round(x, 1), round(y, 1)) for x, y in corners)
    return Plaza(corners=tenths, posts=_posts(2 * n, (lean, wide, deep), random.Random(seed)))


def _posts(count: int, within: tuple[float, float, float], dice: random.Random) -> tuple[tuple[int, int, int], ...]:
    """So many square posts, clear of the walls: `within` are the least x and the most x and y, in mm."""
    left, right, top = within
    found: list[tuple[int, int, int]] = []
    taken: dict[tuple[int, int], list[tuple[int, int, int]]] = {}  # by squares as wide as posts are apart
    for _ in range(TRIES * count):
        if len(found) == count:
            return tuple(found)
        x = round(dice.uniform(left + NEAR_WALL, right - NEAR_WALL))
        y = round(dice.uniform(NEAR_WALL, top - NEAR_WALL))
        at = (x // POSTS_APART, y // POSTS_APART)
        near = [post for i in (-1, 0, 1) for j in (-1, 0, 1) for post in taken.get((at[0] + i, at[1] + j), [])]
        if all(abs(x - post[0]) > POSTS_APART or abs(y - post[1]) > POSTS_APART for post in near):
            found.append((x, y, dice.randint(*POST_SIDES)))
            taken.setdefault(at, []).append(found[-1])
    raise ValueError(
        f"{count} posts find no room on {right - left:g} mm by {top:g} mm: a plaza has 10 cells a side or more"
    )


def plaza_text(n: int, seconds: float, seed: int, strategy: str = "factory-edge") -> str:
    """The job file's text of a plaza on a fixed grid; a job file has at most 200 posts and 40,000 tiles an area."""
    site = plaza(n, seed)
    posts = (post_text(x, y, side, name=f"post {number}") for number, (x, y, side) in enumerate(site.posts, 1))
    return _head("full-first", seconds, strategy) + area_text(site.corners, name="Plaza", more="".join(posts))


def _head(grid: str, seconds: float, strategy: str) -> str:
    lay = f'[tile]\nuse = "hardwood-600"\n[lay]\npitch = "{PITCH} mm"\ngrid = "{grid}"\n'
    return f'{lay}[cut]\nstrategy = "{strategy}"\nseconds = {seconds}\n'


def plaza_job(n: int, seed: int) -> Job:
    """The job of a plaza of any size: records are made here where a job file's limits are passed."""
    site, job = plaza(n, seed), job_of(plaza_text(SMALLEST, 60, seed))
    (area,) = job.areas
    posts = tuple(
        replace(area.posts[0], name=f"post {number}", outline=_square(*post))
        for number, post in enumerate(site.posts, 1)
    )
    corners = tuple((round(x * TICKS_PER_MM), round(y * TICKS_PER_MM)) for x, y in site.corners)
    return replace(job, areas=(replace(area, corners=corners, posts=posts),))


def _square(x: int, y: int, side: int) -> Ring:
    """In ticks, anticlockwise."""
    half, middle = side * TICKS_PER_MM // 2, (x * TICKS_PER_MM, y * TICKS_PER_MM)
    return tuple((middle[0] + i * half, middle[1] + j * half) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1)))


def balconies_text(grid: str, seconds: float, seed: int, strategy: str = "factory-edge") -> str:
    """A job file's text: 300 balconies of three kinds, walls on three sides, out of square by up to 12 mm."""
    dice = random.Random(seed)
    areas = []
    for kind in range(1, KINDS + 1):
        wide, deep = dice.randint(2900, 4600), dice.randint(1400, 2300)
        askew = [dice.randint(-12, 12) for _ in range(3)]
        corners = [
            (0.0, 0.0),
            (float(wide), 0.0),
            (float(wide + askew[0]), float(deep)),
            (float(askew[1]), float(deep + askew[2])),
        ]
        more = f"count = {ALIKE}\n"
        if kind > 1:
            more += post_text(dice.randint(900, wide - 900), dice.randint(500, deep - 500), 100, name=f"column {kind}")
        areas.append(area_text(corners, ["wall", "wall", "open", "wall"], name=f"Balcony {kind}", more=more))
    return _head(grid, seconds, strategy) + "".join(areas)
