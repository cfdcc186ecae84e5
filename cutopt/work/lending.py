"""Wood that leaves a tile: which boards are made of it, and the steps that take it off once the cuts are made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cutopt.hang import Board, HungSource
from cutopt.work.names import counted, listed
from cutopt.work.slate import Draft, Slate, stretch_of


@dataclass(frozen=True, kw_only=True, slots=True)
class Lent:
    """A board that is made of this source's wood after its cuts, and the source that it goes to."""

    board: Board
    to: int


def lent_by(number: int, sources: Sequence[HungSource]) -> tuple[Lent, ...]:
    """What a source lends, in the order of its backers. Boards hung before the cuts are not lent."""
    found = [
        Lent(board=board, to=to)
        for to, source in enumerate(sources)
        for board in source.boards
        if board.state == "moved" and board.wood is not None and board.wood.source == number
        if to != number or board.wood.sawn_free
    ]
    return tuple(sorted(found, key=lambda x: (x.board.wood.backer, x.board.wood.span) if x.board.wood else (0, (0, 0))))


def set_aside(slate: Slate, lent: Sequence[Lent]) -> list[Draft]:
    """After the cuts: the screws that still hold lent wood come out; each board is named and put where it is wanted."""
    late = [
        s for s in slate.job.tile.screws if s.id in slate.source.screws_out and s.id not in slate.source.screws_early
    ]
    steps = []
    for one in lent:
        wood = one.board.wood
        if wood is None:
            continue
        low, high = wood.stretch
        screws = [s.id for s in late if s.backer == wood.backer and low <= s.at[1] <= high]
        held = f"take out {counted(len(screws), 'screw')} ({listed(screws)}) and lift off" if screws else "lift off"
        goes = f" for T{one.to + 1}" if one.to != slate.number else ""
        text = (
            f"Face down, after the cuts: {held} the free stretch of backer {wood.backer}. Write {one.board.name} on it "
            f"and an H on its end toward the home side; keep it{goes}."
        )
        minutes = slate.job.rules.rate_screw_out * len(screws)
        steps.append(
            slate.draft(
                "unscrew", "bench", "down", text, minutes, screws=tuple(screws), frees=(wood.source, stretch_of(wood))
            )
        )
    return steps
