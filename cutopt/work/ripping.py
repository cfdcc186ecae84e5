"""A board alone on the saw: a backer ripped narrower, and one of two slats that share.

┌──────────────┐ ─┬─ first pass: an edge as it is along the fence, the other loses its strip
│  strip, kerf │  │
├──────────────┤  │      ─┬─ second pass: the edge just sawn along the fence, the other loses as much
│              │  │ fence │
│    kept      │  │       │ fence
├──────────────┤  │      ─┴─
│  strip, kerf │  │
└──────────────┘ ─┴─     as much off each edge, so that screws and holes stay on the centre line
"""

from __future__ import annotations

from cutopt.fit.sharing import Share
from cutopt.hang import Board
from cutopt.job.records import SawName
from cutopt.lay.records import Side
from cutopt.lengths import mm
from cutopt.planfile.model import Setup
from cutopt.work.names import STATIONS
from cutopt.work.slate import Draft, Face, Slate, stretch_of

ALONE: tuple[SawName, ...] = ("table_saw", "guided_saw")  # what a board alone is ripped with, the first that is there


def wood_width(slate: Slate, board: Board) -> int:
    """How wide the wood is that a board is made of."""
    return board.wood.width if board.wood is not None else min(own.width for own in slate.job.tile.design.backers)


def rip_backer(slate: Slate, board: Board) -> list[Draft]:
    """Two passes, as much off each edge; none where the board is as wide as its wood."""
    full, width = wood_width(slate, board), board.seat.width
    if width >= full:
        return []
    saw, say = _saw(slate), slate.say
    off = (full - width) // 2
    awaits = None if board.wood is None else (board.wood.source, stretch_of(board.wood))
    first = f", off the tile: rip it to {say.length(width)}, {say.length(off)} off each edge."
    passes: tuple[tuple[str, int, Side], ...] = ((first, full - off, "u0"), (", its other edge.", width, "u1"))
    return [
        slate.draft(
            "cut", STATIONS[saw], "up", f"Backer {board.name}{what} {_led(slate, saw, left, off, sawn=edge == 'u1')}",
            slate.rate(saw), places=(board.place,), backer=board.name, awaits=awaits,
            setup=Setup(fence=mm(left), datum=edge) if saw == "table_saw" else None,
            sum=_sum(slate, left, saw, left + off), falls_off="strip to the waste",
        )
        for what, left, edge in passes
    ]  # fmt: skip


def _led(slate: Slate, saw: SawName, left: int, off: int, *, sawn: bool) -> str:
    """How a backer is led past the blade, an edge of it sawn before or none."""
    if saw == "table_saw":
        edge = "the edge just sawn" if sawn else "an edge"
        return f"Fence at {slate.say.length(left)}, {edge} along it; push sticks."
    line = f"a line {slate.say.length(off)} from {'the other edge' if sawn else 'an edge'}"
    if saw == "guided_saw":
        return f"Clamp it down between boards as high as it is, the guide along {line}, the blade outside the line."
    return f"Clamp it down and saw outside {line}."


def rip_slat(slate: Slate, p: int, share: Share) -> Draft:
    """The inner of two slats that share, alone on the saw."""
    saw, say = _saw(slate), slate.say
    width = say.length(share.width)
    face: Face = "up" if saw == "table_saw" else "down"
    how = {
        "table_saw": f"fence at {width}, its whole edge along it. A slat alone: push stick and riving knife",
        "guided_saw": "clamp it down, the guide along the line",
        "jigsaw": "clamp it down and saw beside the line",
    }[saw]
    text = (
        f"Slats {share.inner.id} and {share.outer.id} share what the cut leaves: lift both off the tile. Face {face}. "
        f"Rip slat {share.inner.id} to {width}: {how}."
    )
    whole = next(slat.v[1] - slat.v[0] for slat in slate.job.tile.slats if slat.id == share.inner.id)
    home = share.inner.v[0] < share.outer.v[0]  # its whole edge is the one nearer the home side
    return slate.draft(
        "cut", STATIONS[saw], face, text, slate.rate(saw), places=(p,),
        setup=Setup(fence=mm(share.width), datum="v0" if home else "v1") if saw == "table_saw" else None,
        sum=_sum(slate, share.width, saw, whole), falls_off="strip to the waste",
    )  # fmt: skip


def _saw(slate: Slate) -> SawName:
    saws = slate.job.cutting.saws
    return next((one for one in ALONE if one in saws), saws[0])


def _sum(slate: Slate, left: int, saw: SawName, whole: int) -> str:
    """What is left, the kerf and the strip that falls off: the board before."""
    say, kerf = slate.say, slate.job.cutting.kerf[saw]
    rest = whole - left - kerf
    terms = [left, kerf, rest] if rest > 0 else [left, whole - left]
    return f"{' + '.join(say.length(x, unit=False) for x in terms)} = {say.length(whole, unit=False)}"
