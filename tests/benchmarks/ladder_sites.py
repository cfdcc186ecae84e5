"""Sites of any size, invented by code: plazas with leaning walls and posts, and a block of balconies."""

from __future__ import annotations

import random

from tests.jobs import Corner, area_text, post_text

PITCH = 604.0  # mm
LEAN = 3.6  # mm a cell: more than the 1 mm to which is marked, so that neighbours along a wall differ
NEAR_WALL = 900.0  # mm: posts stand further in
POSTS_APART = 700.0  # mm, along the one axis or the other
KINDS, ALIKE = 3, 100  # of balconies


def plaza_text(n: int, seconds: float, seed: int) -> str:
    """A job file's text: n × n cells on a fixed grid, 2 n posts.

    Whole tiles lie along the start wall; all other walls lean against it, each by an angle of its own, and posts differ
    in place and size, so that no two pieces are equal.
    """
    head = (
        f'[tile]\nuse = "hardwood-600"\n[lay]\npitch = "{PITCH} mm"\ngrid = "full-first"\n[cut]\nseconds = {seconds}\n'
    )
    wide, deep = (n - 1) * PITCH + 220, (n - 1) * PITCH + 230
    lean = LEAN * n
    corners = [(0.0, 0.0), (wide, 0.0), (wide + 0.9 * lean, deep), (lean, deep + 0.8 * lean)]
    return head + area_text([_tenths(corner) for corner in corners], name="Plaza", more=_posts(2 * n, wide, deep, seed))


def _tenths(corner: Corner) -> Corner:
    return round(corner[0], 1), round(corner[1], 1)


def _posts(count: int, wide: float, deep: float, seed: int) -> str:
    dice = random.Random(seed)
    taken: dict[tuple[int, int], list[Corner]] = {}
    found: list[str] = []
    while len(found) < count:
        x, y = round(dice.uniform(NEAR_WALL, wide - NEAR_WALL)), round(dice.uniform(NEAR_WALL, deep - NEAR_WALL))
        at = (int(x // POSTS_APART), int(y // POSTS_APART))
        near = [p for i in (-1, 0, 1) for j in (-1, 0, 1) for p in taken.get((at[0] + i, at[1] + j), [])]
        if all(abs(x - p[0]) > POSTS_APART or abs(y - p[1]) > POSTS_APART for p in near):
            taken.setdefault(at, []).append((x, y))
            found.append(post_text(x, y, dice.randint(90, 160), name=f"post {len(found) + 1}"))
    return "".join(found)


def balconies_text(grid: str, seconds: float, seed: int) -> str:
    """A job file's text: 300 balconies of three kinds, walls on three sides, out of square by up to 12 mm."""
    head = f'[tile]\nuse = "hardwood-600"\n[lay]\npitch = "{PITCH} mm"\ngrid = "{grid}"\n[cut]\nseconds = {seconds}\n'
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
    return head + "".join(areas)
