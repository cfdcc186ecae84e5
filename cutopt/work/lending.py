"""Wood that leaves a tile: which boards are made of it, and the steps that take it off once the cuts are made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cutopt.hang import Board, HungSource, Stretch, crosscut_saw
from cutopt.work.names import STATIONS, counted, listed
from cutopt.work.slate import Draft, Slate, stretch_of
from cutopt.work.stubs import held_stubs

Span = tuple[int, int]


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


def _by_stretch(lent: Sequence[Lent]) -> dict[Stretch, list[Lent]]:
    """The boards by the stretch that they are cut from: a tile cut several times alike gives it several times."""
    found: dict[Stretch, list[Lent]] = {}
    for one in lent:
        if one.board.wood is not None:
            found.setdefault(stretch_of(one.board.wood), []).append(one)
    return found


def set_aside(slate: Slate, lent: Sequence[Lent]) -> list[Draft]:
    """After the cuts: the screws that still hold lent wood come out; each board is named and put where it is wanted."""
    late = [
        s for s in slate.job.tile.screws if s.id in slate.source.screws_out and s.id not in slate.source.screws_early
    ]
    steps = []
    gone: set[str] = set()
    lent_stretches = list(_by_stretch(lent))
    for (backer, (low, high)), boards in _by_stretch(lent).items():
        parts = _parts(boards[0], lent_stretches)
        if len(parts) == 1 or parts[1:] == [(low, high)]:  # its other part is sawn off before
            steps.append(_other_part(slate, (backer, (low, high)), boards[0]))
            continue
        mine = parts or [(low, high)]
        beside = [span for other, span in lent_stretches if other == backer]
        screws = [s.id for s in late if s.backer == backer and _nearest(s.at[1], beside) in mine]
        held = f"take out {counted(len(screws), 'screw')} ({listed(screws)}) and lift off" if screws else "lift off"
        goes = listed([f"{one.board.name}{f' for T{one.to + 1}' if one.to != slate.number else ''}" for one in boards])
        copies = f", one of each copy: {goes}" if len(boards) > 1 else f" {goes}"
        text = f"Face down, after the cuts: {held} the free stretch of backer {backer}. "
        if parts:
            text += _apart(slate, parts)
            text += (
                f"Mark the home-side end of each with an H; write on the one at the home side{copies}; set it aside."
            )
        else:
            text += f"Mark its end toward the home side with an H; write on it{copies}; set it aside."
        minutes = slate.job.rules.rate_screw_out * len(screws)
        minutes += slate.rate(crosscut_saw(slate.job)) if parts else 0.0
        gone |= set(screws)
        steps.append(
            slate.draft(
                "unscrew",
                "bench",
                "down",
                text,
                minutes,
                screws=tuple(screws),
                frees=(slate.number, (backer, (low, high))),
            )
        )
    return steps + _held_till_sawn(slate, [s.id for s in late if s.id not in gone])


def _parts(one: Lent, stretches: Sequence[Stretch]) -> list[Span]:
    """What a stretch is sawn into, from the home side on; none where one board is made of it."""
    wood = one.board.wood
    if wood is None or wood.whole is None:
        return []
    low, high = wood.whole
    return sorted(span for backer, span in stretches if backer == wood.backer and low <= span[0] and span[1] <= high)


def _apart(slate: Slate, parts: Sequence[Span]) -> str:
    """How a stretch is sawn into its two parts."""
    (low, high), _ = parts
    saw = STATIONS[crosscut_saw(slate.job)]
    return f"Saw it in two with the {saw}, {slate.say.length(high - low)} from its home-side end. "


def _other_part(slate: Slate, stretch: Stretch, one: Lent) -> Draft:
    """The part of a stretch that is left when the other is sawn off, set aside for its own piece."""
    goes = f"{one.board.name}{f' for T{one.to + 1}' if one.to != slate.number else ''}"
    low, high = stretch[1]
    text = (
        f"Write {goes} on the part of backer {stretch[0]} that is {slate.say.length(high - low)} long, "
        f"and an H at its home-side end; set it aside."
    )
    return slate.draft("unscrew", "bench", "down", text, 0.0, frees=(slate.number, stretch))


def _nearest(v: int, spans: Sequence[tuple[int, int]]) -> tuple[int, int]:
    """The stretch that a screw comes off with: the one it is in, or whose end beyond a cut it is in."""
    return min(spans, key=lambda span: max(span[0] - v, v - span[1]))


def _held_till_sawn(slate: Slate, screws: list[str]) -> list[Draft]:
    """Screws of slats that nothing else held while they were sawn."""
    if not screws:
        return []
    text = (
        f"Face down, after the cuts: take out {counted(len(screws), 'screw')} that held slats at the saw: "
        f"{listed(screws)}."
    )
    stubs = [f"backer {backer}" for backer in held_stubs(slate, screws)]
    if stubs:
        text += f" What they held of {listed(stubs)} comes away: to the waste."
    minutes = slate.job.rules.rate_screw_out * len(screws)
    return [slate.draft("unscrew", "bench", "down", text, minutes, screws=tuple(screws))]
