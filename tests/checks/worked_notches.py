"""Good plans of pieces with notches: all round a post, around one in a corner, and round."""

from __future__ import annotations

import math

from shapely.geometry import Polygon, box

from tests.checks.hand_plan import Made, Work, X, Y, backer, hole, plan_of, post, rect, support
from tests.checks.small_plan import SLATS, Json
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
    ROOM,
    bench,
    ripped,
)


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
            steps=bench(
                OFF_3,
                REHANG,
                FENCE_420,
                {"do": "drill", "station": "drill", "face": "down", "cut": 2, "holes": [(135.0, 270.0)]},
                {"do": "cut", "station": "jigsaw", "cut": 2, "face": "down"},
            ),
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
            steps=bench(
                OFF_3, REHANG, FENCE_420, {"do": "cut", "station": "jigsaw", "cut": 2, "face": "down"},
                {"do": "drill", "station": "drill", "face": "down", "holes": drilled},
            ),
        )
    )  # fmt: skip


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
    It goes on to the post from the left, so it is laid before the whole tile there.
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
    plan = plan_of(
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
            steps=bench(OFF_3, REHANG, FENCE_420, {"do": "cut", "station": "jigsaw", "cut": 2, "face": "down"}),
        )
    )  # fmt: skip
    for cell in plan["areas"][0]["cells"]:
        cell["order"] = 3 - cell["order"]
    return ripped(plan)
