"""Good plans of a cell in two halves, and of a strip whose slat is left out: both ripped in a slat gap."""

from __future__ import annotations

from tests.checks.hand_plan import Made, Work, X, Y, backer, hole, plan_of, rect, support, usual_supports
from tests.checks.small_plan import Json
from tests.checks.worked_bits import bench, fence

LEFT = usual_supports()
HALVES = [backer(n, [6, 170], "cut") for n in (1, 2, 3)]
LONG_ROOM = rect(0, 0, 1220, 616)
SPLIT = {"part": "T1", "saw": "table_saw", "path": [[600, 170], [0, 170]], "waste_side": "right"}
FENCE_170 = fence(1, 170, "v0", "170 + 3.2 + 426.8 = 600")


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
            steps=bench(FENCE_170, {"do": "drill", "station": "drill", "face": "down", "holes": new}),
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
            steps=bench(FENCE_170, {"do": "drill", "station": "drill", "face": "down", "holes": new}, {"do": "rack"}),
        )
    )
