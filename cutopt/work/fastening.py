"""Backers hung and screws driven."""

from __future__ import annotations

from collections.abc import Sequence

from cutopt.fit.rates import hanging
from cutopt.geometry import NEAR
from cutopt.hang import Board, Screwed, Wood, crosscut_saw
from cutopt.work.names import STATIONS, counted, listed
from cutopt.work.pilot import bit, collar
from cutopt.work.ripping import wood_width
from cutopt.work.slate import Draft, Slate, stretch_of


def foreign(slate: Slate, board: Board) -> bool:
    return board.wood is not None and board.wood.source != slate.number


def rehang(slate: Slate, board: Board) -> Draft:
    driven = [s for s in slate.source.screwed if slate.source.boards[s.board] is board]
    wood = board.wood
    origin = f"a bought backer, {board.name}" if wood is None else f"backer {board.name}"
    text = (
        f"Face down. Hang {origin}{_made_of(slate, board)} under {slate.piece(board.place)}: {_lies(slate, board)}. "
        f"{_drive(slate, board, driven)}"
    )
    minutes = hanging(slate.job.rules, leaning=board.seat.lean != 0) + _driving(slate, driven)
    minutes += len(_crosscuts(slate, board)) * slate.rate(crosscut_saw(slate.job))
    awaits = None if wood is None else (wood.source, stretch_of(wood))
    return slate.draft(
        "re-hang", "bench", "down", text, minutes, backer=board.name, places=(board.place,), awaits=awaits
    )


def _lies(slate: Slate, board: Board) -> str:
    """Where a board lies: by its centre line and ends, an oblique one by both ends of its centre line."""
    seat, shape, say = board.seat, slate.shape(board.place), slate.say
    if seat.lean:
        ends = [say.spot(end, shape) for end in seat.line]
        return f"it lies oblique, its centre line from a mark {ends[0]} to a mark {ends[1]}, its ends sawn square to it"
    return f"its centre line {say.from_end(seat.u, shape)}, its ends {say.ends(seat.span, shape)}"


def _made_of(slate: Slate, board: Board) -> str:
    """What is done to a board's wood first: between commas, empty for nothing."""
    width = slate.say.length(board.seat.width)
    ripped = f"ripped to {width}" if board.seat.width < wood_width(slate, board) else ""
    parts = [part for part in (_cut_to(slate, board), ripped) if part]
    return f", {', '.join(parts)}," if parts else ""


def _cut_to(slate: Slate, board: Board) -> str:
    """How a board is cut out of its wood: measured from the end that was toward the home side."""
    places, wood = _crosscuts(slate, board), board.wood
    saw = f"with the {STATIONS[crosscut_saw(slate.job)]}"
    if wood is None:
        return f"cut to {slate.say.length(board.seat.length)} {saw}" if places else ""
    if not places:
        return "with its home-side end toward the home side"
    where = listed([f"at {slate.say.length(place)}" for place in places])
    if _whole_far_end(slate, wood):
        return f"sawn {where} from its whole end {saw}, the home-side end toward the home side"
    return f"sawn {where} from its home-side end {saw}, that end toward the home side"


def _crosscuts(slate: Slate, board: Board) -> list[int]:
    """Where a board's wood is sawn to length: from its far end if that was not sawn before, else from its home one."""
    wood = board.wood
    if wood is None:
        full = slate.job.tile.design.backers[0].v
        return [board.seat.length] if board.seat.length < full[1] - full[0] else []
    (start, end), (low, high) = wood.stretch, wood.span
    if _whole_far_end(slate, wood):
        places = [end - high, end - low if low > start else 0]
    else:
        places = [low - start, high - start if high < end else 0]
    return [place for place in places if place > 0]


def _whole_far_end(slate: Slate, wood: Wood) -> bool:
    """Whether the far end of a stretch is the tile's own."""
    return wood.stretch[1] == next(b.v[1] for b in slate.job.tile.design.backers if b.id == wood.backer)


def _drive(slate: Slate, board: Board, driven: Sequence[Screwed]) -> str:
    """How its screws go in: where each slat had them, or at places of their own, which are listed."""
    odd = [s for s in driven if not _usual(slate, board, s)]
    text = f"Drive {counted(len(driven), 'screw')}{_predrill(slate, driven)}"
    if not odd:
        return f"{text}, on its centre line, across where each slat had its screws."
    spots = "; ".join(_spot(slate, board, s) for s in odd)
    rest = (
        "" if len(odd) == len(driven) else " The others go on its centre line, across where each slat had its screws."
    )
    return f"{text}: {spots}.{rest}"


def _usual(slate: Slate, board: Board, screwed: Screwed) -> bool:
    """Whether a screw goes on the centre line, as far across as its slat had one."""
    at = screwed.drive.at
    own = {s.at[1] for s in slate.job.tile.screws if s.slat == screwed.fragment.slat}
    centred = abs(at[0] - board.seat.u_at(at[1])) <= NEAR
    return centred and at[1] in own and not screwed.fragment.shared


def _spot(slate: Slate, board: Board, screwed: Screwed) -> str:
    return f"slat {screwed.fragment.slat}, {slate.say.spot(screwed.drive.at, slate.shape(board.place))}"


def _predrill(slate: Slate, driven: Sequence[Screwed]) -> str:
    """Which screws are predrilled, near an edge or an end, and how."""
    slats = sorted({s.fragment.slat for s in driven if s.drive.predrilled})
    if not slats:
        return ""
    tile, say = slate.job.tile, slate.say
    how = f"bit of {say.length(bit(slate.job))}, stop collar at {say.length(collar(tile))}"
    if all(s.drive.predrilled for s in driven):
        return f", predrilled ({how})"
    which = f"in slat{'s' * (len(slats) > 1)} {listed([str(slat) for slat in slats])}"
    return f", those {which} predrilled ({how})"


def _driving(slate: Slate, driven: Sequence[Screwed]) -> float:
    rules = slate.job.rules
    return sum(rules.rate_screw_new if s.drive.predrilled else rules.rate_screw_in for s in driven)


def new_screws(slate: Slate) -> list[Draft]:
    """Screws that go in anew through backers that stay."""
    steps = []
    for number, board in enumerate(slate.source.boards):
        new = [s for s in slate.source.screwed if s.board == number and s.drive.screw is None]
        if board.state in ("moved", "added") or not new:
            continue
        spots = "; ".join(_spot(slate, board, s) for s in new)
        text = (
            f"Face down. Through backer {board.name} under {slate.piece(board.place)} drive "
            f"{counted(len(new), 'new screw')}{_predrill(slate, new)}: {spots}."
        )
        minutes = _driving(slate, new)
        steps.append(slate.draft("screw", "bench", "down", text, minutes, backer=board.name, places=(board.place,)))
    return steps
