"""Good plans of backers hung along an oblique wall or ripped narrower, and of screws driven again."""

from __future__ import annotations

from tests.checks.hand_plan import Made, Work, X, Y, backer, hole, plan_of, rect, support
from tests.checks.small_plan import Json
from tests.checks.worked_bits import (
    ALL,
    CROSSCUT,
    FENCE_420,
    FIRST_HOLES,
    HOLES_3,
    KEPT_END,
    MOVED_3,
    NEW_3,
    OFF_3,
    OUT_3,
    REHANG,
    RIGHT,
    RING,
    ROOM,
    bench,
    ripped,
)
from tests.checks.worked_notches import lifted_over

SLOPE = 0.1  # of the oblique wall: u for v
LEAN = (1 + SLOPE**2) ** 0.5  # a length along it for one across


def oblique_spot(v: float, off: float = 0.0) -> tuple[float, float]:
    """A point `off` square to the left of the oblique cut, at v."""
    return (420 + SLOPE * v - off * LEAN, v)


def oblique() -> Json:
    """An oblique wall: the cut runs from (420, 0) to (480, 600), and backer 3 hangs parallel to it, 40 from it.

        ┌─────────────\\      its wood is as long as its line: 584 across are 586.9 along
        │          \\   \\
        │           \\   \\
        └────────────────\\    (upside down: the wall leans away from the whole tile)
    """
    first, last = oblique_spot(8, 40), oblique_spot(592, 40)
    length = 584 * LEAN
    spots = [oblique_spot(8 + run / LEAN, 40) for run in (34, 554)]  # the holes that it brings along
    at = [(X + u, Y + v) for u, v in spots]
    new = [(slat, "T1.b3", oblique_spot(v, 40)[0], v) for slat, vs in enumerate(RING, 1) for v in vs]
    edge = [oblique_spot(v, 0) for v in (0, 600)]
    wall = [oblique_spot(v, -8) for v in (-Y, 616 - Y)]

    def pad(pin: tuple[float, float], way: int) -> Json:
        """The quarter over a pin, cut along the piece's edge."""
        x, y = pin[0] + 42, pin[1] - 42 * way
        low, high = sorted((y, y + 70 * way))
        right = [[X + oblique_spot(b - Y)[0], b] for b in (low, high)]
        return support((x, y), "trimmed", [[x - 70, low], *right, [x - 70, high]], [list(pin)])

    return plan_of(
        Work(
            outline=[[0, 0], [X + wall[0][0], 0], [X + wall[1][0], 616], [0, 616]],
            pieces=[Made(id="P1", outline=[(0, 0), edge[0], edge[1], (0, 600)], chiral=True)],
            cuts=[
                {"part": "T1", "into": ["P1", "R1"], "saw": "guided_saw", "path": [edge[0], edge[1]]},
            ],
            backers=[
                backer(1, ALL, "kept"), backer(2, ALL, "kept"),
                backer(3, [6, 6 + length], "moved", line=[list(first), list(last)]),
            ],
            holes=[*FIRST_HOLES, *(hole(spot, "T1.b3", "moved") for spot in spots)],
            offcuts=[{"id": "R1", "keep": True, "outline": [
                [420 + 2.2 * LEAN, 0], [600, 0], [600, 600], [480 + 2.2 * LEAN, 600]]}],
            supports=[pad(at[0], 1), pad(at[1], -1)],
            out=OUT_3,
            new=new,
            sealed_backers=[("P1", _end(last))],
            steps=bench(
                OFF_3, REHANG, {"do": "cut", "station": "guided saw", "cut": 1}, {"do": "rack"},
            ),
        )
    )  # fmt: skip


def _end(spot: tuple[float, float]) -> list[tuple[float, float]]:
    """The end of the oblique backer, square to its line."""
    du, dv = 30 / LEAN, 30 * SLOPE / LEAN
    return [(spot[0] - du, spot[1] + dv), (spot[0] + du, spot[1] - dv)]


def ripped_backer() -> Json:
    """The small plan with its moved backer ripped to 40, equal strips off both edges."""
    return ripped(lifted_over())


def screws_back_in() -> Json:
    """Slat 4 comes off backers 1 and 2 and goes back before the cut: its screws are driven again in their places."""
    out = [f"4.{n}{letter}" for n in (1, 2) for letter in "ab"]
    back = [(4, f"T1.b{n}", u, v) for n, u in ((1, 40.0), (2, 300.0)) for v in RING[3]]
    drive = [{"do": "screw", "backer": f"T1.b{n}", "face": "down"} for n in (1, 2)]
    return plan_of(
        Work(
            outline=ROOM,
            pieces=[Made(id="P1", outline=rect(0, 0, 420, 600))],
            cuts=[{**CROSSCUT, "into": ["P1", "R1"]}],
            backers=[backer(1, ALL, "kept"), backer(2, ALL, "kept"), MOVED_3],
            holes=[*FIRST_HOLES, *HOLES_3],
            offcuts=[KEPT_END],
            supports=RIGHT,
            out=[*OUT_3, *out],
            new=[*NEW_3, *back],
            steps=bench({**OFF_3, "screws": [*OUT_3, *out]}, REHANG, *drive, FENCE_420, {"do": "rack"}),
        )
    )
