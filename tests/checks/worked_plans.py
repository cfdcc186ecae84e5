"""Good plans of what the small plan has not: each drawn and worked out by hand on the small plan's tile.

Slats at v 0-80, 86.7-166.7, 173.3-253.3, 260-340, 346.7-426.7, 433.3-513.3, 520-600; backers 60 wide at u 40, 300, 560.
"""

from __future__ import annotations

import math
from typing import Any

from shapely.geometry import Polygon, box

from tests.checks.hand_plan import Made, Work, X, Y, backer, hole, plan_of, post, rect, support, usual_supports
from tests.checks.small_plan import SLATS, Json

ALL = [6, 594]
OUT_3 = [f"{slat}.3{letter}" for slat in range(1, 8) for letter in "ab"]
RING = [(vs[0] + 20, vs[1] - 20) for vs in SLATS]  # where each slat has its screws


def _bench(*middle: Json, seal: bool = True) -> list[Json]:
    steps: list[Json] = [{"do": "mark"}, *middle]
    steps += [{"do": "seal", "station": "brush"}] if seal else []
    return [*steps, {"do": "label"}]


def _fence(cut: int, fence: float, datum: str, total: str) -> Json:
    setup = {"fence": fence, "datum": datum}
    return {"do": "cut", "station": "table saw", "cut": cut, "setup": setup, "sum": total}


CROSSCUT = {"part": "T1", "saw": "table_saw", "path": [[420, 0], [420, 600]], "waste_side": "right"}
FENCE_420 = _fence(1, 420, "u0", "420 + 3.2 + 176.8 = 600")
REHANG = {"do": "re-hang", "backer": "T1.b3", "face": "down"}
OFF_3 = {"do": "unscrew", "screws": OUT_3, "face": "down"}
NEW_3 = [(slat, "T1.b3", 380.0, v) for slat, vs in enumerate(RING, 1) for v in vs]
FIRST_HOLES = [hole((40, 40), "T1.b1"), hole((40, 560), "T1.b1")]
MOVED_3 = backer(3, ALL, "moved", line=[[380, 6], [380, 594]])
HOLES_3 = [hole((380, 40), "T1.b3", "moved"), hole((380, 560), "T1.b3", "moved")]
RIGHT = [
    support((1034, 6), "quarter", rect(964, 6, 1032, 76), [[992, 48]]),
    support((1034, 610), "quarter", rect(964, 540, 1032, 610), [[992, 568]]),
]
KEPT_END = {"id": "R1", "outline": rect(423.2, 0, 600, 600), "keep": True}
ROOM = rect(0, 0, 1040, 616)


def lifted_over() -> Json:
    """The piece of 420 with a hole all round a post of 50 x 70, 10 from it, its long sides in two slat gaps.

    ┌───────────────┐
    │    ┌──┐       │  slat 4 falls in two: 120 mm on backer 1, and the rest on backers 2 and 3
    │    └──┘       │
    └───────────────┘
    """
    ring = [[120, 255], [120, 345], [190, 345], [190, 255]]
    inside = {"part": "T1.1", "into": ["P1", "W1"], "saw": "jigsaw", "path": ring, "closed": True}
    return plan_of(
        Work(
            outline=ROOM,
            posts=[post(rect(X + 130, Y + 265, X + 180, Y + 335))],
            pieces=[Made(id="P1", outline=rect(0, 0, 420, 600), holes=[ring])],
            cuts=[{**CROSSCUT, "into": ["T1.1", "R1"]}, inside],
            backers=[backer(1, ALL, "kept"), backer(2, ALL, "kept"), MOVED_3],
            holes=[*FIRST_HOLES, *HOLES_3],
            offcuts=[KEPT_END, {"id": "W1", "outline": rect(121.5, 256.5, 188.5, 343.5)}],
            supports=RIGHT,
            out=OUT_3,
            new=NEW_3,
            steps=_bench(
                OFF_3,
                REHANG,
                FENCE_420,
                {"do": "drill", "station": "drill", "face": "down", "cut": 2},
                {"do": "cut", "station": "jigsaw", "cut": 2, "face": "down"},
            ),
        )
    )


LEFT = usual_supports()
HALVES = [backer(n, [6, 170], "cut") for n in (1, 2, 3)]
LONG_ROOM = rect(0, 0, 1220, 616)
SPLIT = {"part": "T1", "saw": "table_saw", "path": [[600, 170], [0, 170]], "waste_side": "right"}
FENCE_170 = _fence(1, 170, "v0", "170 + 3.2 + 426.8 = 600")


def _half(x: float, y: float, ways: tuple[int, ...], side: int, shape: str) -> Json:
    """A support between the halves, or along their edge: left of it the joint, or half of it sawn off at the wall."""
    low, high = y - 70 * (-1 in ways), y + 70 * (1 in ways)
    return support((x, y), shape, rect(min(x, x + 70 * side), low, max(x, x + 70 * side), high),
                   [[x + 42 * side, y + 42 * way] for way in ways])  # fmt: skip


def split_in_two() -> Json:
    """A whole cell in two halves: ripped at v 170 in a slat gap, laid as it was sawn, a kerf of 3.2 apart.

    ┌───────────────┐
    │      P2       │  only backers are sawn; each half has holes of its own along the split, at 129.6 and 213.6
    ├───────────────┤
    │      P1       │
    └───────────────┘
    """
    upper = [backer(n, [173.2, 594], "cut", piece="P2", id=f"T1.b{n}b") for n in (1, 2, 3)]
    ends = [(p, [(u - 30, v), (u + 30, v)]) for u in (40, 300, 560) for p, v in (("P1", 170), ("P2", 173.2))]
    new = [(u, v) for u in (40, 560) for v in (129.6, 213.6)]
    names = {40: "T1.b1", 560: "T1.b3"}
    holes = [hole((u, 40), names[u]) for u in (40, 560)]
    holes += [hole((u, 560), f"{names[u]}b", piece="P2") for u in (40, 560)]
    holes += [hole((u, 129.6), names[u], "drilled") for u in (40, 560)]
    holes += [hole((u, 213.6), f"{names[u]}b", "drilled", "P2") for u in (40, 560)]
    return plan_of(
        Work(
            outline=LONG_ROOM,
            pieces=[
                Made(id="P1", outline=rect(0, 0, 600, 170)),
                Made(id="P2", outline=rect(0, 173.2, 600, 600)),
            ],
            cuts=[{**SPLIT, "into": ["P1", "P2"]}],
            backers=[*HALVES, *upper],
            holes=holes,
            offcuts=[],
            sealed_backers=ends,
            supports=[
                _half(610, Y + 171.6, (-1, 1), 1, "half"),
                _half(1214, 6, (1,), -1, "quarter"),
                _half(1214, Y + 171.6, (-1, 1), -1, "half"),
                _half(1214, 610, (-1,), -1, "quarter"),
            ],
            steps=_bench(FENCE_170, {"do": "drill", "station": "drill", "face": "down", "holes": new}),
        )
    )


def dropped() -> Json:
    """Half the width of a cell below a wall at v 200: 14.7 of slat 3 would be left up to the most gap, too narrow.

    ▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒  200
    .................  188 most gap
    ┌───────────────┐  170 the cut, in the gap between slats 2 and 3; the strip above it stays open
    │      P1       │
    └───────────────┘
    """
    ends = [("P1", [(u - 30, 170), (u + 30, 170)]) for u in (40, 300, 560)]
    new = [(u, 128.0) for u in (40, 560)]
    names = {40: "T1.b1", 560: "T1.b3"}
    strip = {"outline": rect(X, Y + 170, X + 600, Y + 188), "rule": "dropped_gap", "why": "14.7 mm of slat 3"}
    return plan_of(
        Work(
            outline=[[0, 0], [1220, 0], [1220, Y + 200], [618, Y + 200], [618, 616], [0, 616]],
            pieces=[Made(id="P1", outline=rect(0, 0, 600, 170))],
            cuts=[{**SPLIT, "into": ["P1", "R1"]}],
            backers=HALVES,
            holes=[hole((u, 40), names[u]) for u in (40, 560)] + [hole(at, names[at[0]], "drilled") for at in new],
            offcuts=[{"id": "R1", "outline": rect(0, 173.2, 600, 600), "keep": True}],
            sealed_backers=ends,
            left=[strip],
            on_the_left=[one if one["at"] != [610, 610] else _half(610, 610, (-1,), -1, "quarter") for one in LEFT],
            supports=[
                _half(1214, 6, (1,), -1, "quarter"),
                _half(1214, Y + 170, (-1,), -1, "quarter"),
                _half(610, Y + 170, (-1,), 1, "quarter"),
            ],
            steps=_bench(FENCE_170, {"do": "drill", "station": "drill", "face": "down", "holes": new}, {"do": "rack"}),
        )
    )


def corner_notch() -> Json:
    """The piece of 420 around a post in the corner of the walls: 90 x 83.3 cut out at the far end, in a slat gap.

    ┌───────────┐
    │           └──┐  slat 7 ends on backer 2, which takes supports of its own; backer 3 is shortened to v 510
    │              │
    └──────────────┘
    """
    gap = (SLATS[5][1] + SLATS[6][0]) / 2  # 516.67
    outline: list[list[float]] = [[0, 0], [420, 0], [420, gap], [330, gap], [330, 600], [0, 600]]
    notch = {"part": "T1.1", "into": ["P1", "W1"], "saw": "jigsaw", "path": [[420, gap], [330, gap], [330, 600]]}
    drilled = [(380.0, 470.0), (300.0, 560.0), (300.0, 40.0)]
    return plan_of(
        Work(
            outline=ROOM,
            posts=[post(rect(X + 338, Y + gap + 8, 1040, 616))],
            pieces=[Made(id="P1", outline=outline, chiral=True)],
            cuts=[{**CROSSCUT, "into": ["T1.1", "R1"]}, notch],
            backers=[
                backer(1, ALL, "kept"), backer(2, ALL, "kept"),
                backer(3, [6, 510], "moved", line=[[380, 6], [380, 510]]),
            ],
            holes=[
                *FIRST_HOLES, HOLES_3[0], hole(drilled[0], "T1.b3", "drilled"),
                *(hole(spot, "T1.b2", "drilled") for spot in drilled[1:]),
            ],
            offcuts=[KEPT_END, {"id": "W1", "outline": rect(331.5, gap + 1.5, 420, 600)}],
            supports=[
                RIGHT[0],
                support((1034, 520), "quarter", rect(964, 450, 1032, 520), [[992, 478]]),
                support((954, 6), "quarter", rect(884, 6, 954, 76), [[912, 48]]),
                support((954, 610), "trimmed", rect(884, 540, 942, 610), [[912, 568]]),
            ],
            out=OUT_3,
            new=[one for one in NEW_3 if one[0] < 7],
            sealed_backers=[("P1", [(350, 510), (410, 510)])],
            steps=_bench(
                OFF_3, REHANG, FENCE_420, {"do": "cut", "station": "jigsaw", "cut": 2, "face": "down"},
                {"do": "drill", "station": "drill", "face": "down", "holes": drilled},
            ),
        )
    )  # fmt: skip


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
            steps=_bench(
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
    return _with(lifted_over(), width=40)


def _with(plan: Json, **more: Any) -> Json:
    plan["sources"][0]["backers"][2] |= more
    return plan


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
            steps=_bench({**OFF_3, "screws": [*OUT_3, *out]}, REHANG, *drive, FENCE_420, {"do": "rack"}),
        )
    )


AROUND = (425.0, 300.0)  # the centre of a round post, radius 30, half in the right wall


def _arc(radius: float) -> list[tuple[float, float]]:
    """36 chords of a circle around the post, from where it meets u 420 below to where it meets it above."""
    first = math.acos(-5 / 40)
    turns = [2 * math.pi - first - (2 * math.pi - 2 * first) * n / 36 for n in range(37)]
    return [(AROUND[0] + radius * math.cos(t), AROUND[1] + radius * math.sin(t)) for t in turns]


def round_notch() -> Json:
    """The piece of 420 with a round bite of radius 40 at its far end, 10 from the post; backer 3 ripped to 40 at 360.

    ┌──────────────┐
    │             (    slat 4 loses 35 mm; the blade takes 1.5 within the bite
    └──────────────┘
    """
    bite, half = _arc(40), math.pi * (1 - math.acos(-5 / 40) / math.pi) / 36
    bite[0], bite[-1] = (420.0, bite[0][1]), (420.0, bite[-1][1])
    inner = _arc(40 - 1.5 / math.cos(half))
    arc = {"centre": list(AROUND), "radius": 40 * math.cos(half)}  # the chords' middles touch it
    waste = Polygon(inner).intersection(box(0, 0, 420, 600))
    pipe = [(X + AROUND[0] + 30 * math.cos(n * math.pi / 16), Y + AROUND[1] + 30 * math.sin(n * math.pi / 16))
            for n in range(32)]  # fmt: skip
    outline = [(0.0, 0.0), (420.0, 0.0), *bite, (420.0, 600.0), (0.0, 600.0)]
    notch = {"part": "T1.1", "into": ["P1", "W1"], "saw": "jigsaw", "path": bite, "arc": arc}
    ring = list(waste.normalize().exterior.coords)[:-1][::-1]
    return plan_of(
        Work(
            outline=ROOM,
            posts=[post(pipe, round=True)],
            pieces=[Made(id="P1", outline=outline)],
            cuts=[{**CROSSCUT, "into": ["T1.1", "R1"]}, notch],
            backers=[
                backer(1, ALL, "kept"), backer(2, ALL, "kept"),
                backer(3, ALL, "moved", line=[[360, 6], [360, 594]], width=40),
            ],
            holes=[*FIRST_HOLES, hole((360, 40), "T1.b3", "moved"), hole((360, 560), "T1.b3", "moved")],
            offcuts=[KEPT_END, {"id": "W1", "outline": ring}],
            supports=[
                support((1014, 6), "quarter", rect(944, 6, 1014, 76), [[972, 48]]),
                support((1014, 610), "quarter", rect(944, 540, 1014, 610), [[972, 568]]),
            ],
            out=OUT_3,
            new=[(slat, b, 360.0, v) for slat, b, _, v in NEW_3],
            steps=_bench(OFF_3, REHANG, FENCE_420, {"do": "cut", "station": "jigsaw", "cut": 2, "face": "down"}),
        )
    )  # fmt: skip


WORKED = (lifted_over, round_notch, split_in_two, dropped, corner_notch, oblique, ripped_backer, screws_back_in)
