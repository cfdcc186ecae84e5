"""After the saw: drill, seal the same day, label, and put away."""

from __future__ import annotations

from cutopt.fit import Stand
from cutopt.work.names import counted, listed
from cutopt.work.slate import Draft, Slate


def drill(slate: Slate, *, before: bool) -> list[Draft]:
    """Pin holes of each piece, those of split pieces `before` the cuts, all others after them."""
    steps = []
    for p, stands in enumerate(slate.source.stands):
        new = [stand for stand in stands if stand.state == "drilled" and _first(slate, p, stand) == before]
        if new:
            steps.append(_holes(slate, p, new, whole=before))
    return steps


def _first(slate: Slate, p: int, stand: Stand) -> bool:
    """Whether a hole is drilled while its tile is whole, so that both halves of a piece in two match one support: they
    lie on the tile as in their cell, and the backer hangs there by then.
    """
    tile, pieces = slate.source.tile, slate.pieces
    mine, place = pieces[tile.pieces[p]], tile.pattern.places[p]
    board = [board for board in slate.source.boards if board.place == p][stand.seat]
    return (board.seat.backer is not None or board.early) and any(
        (other.area, other.row, other.col) == (mine.area, mine.row, mine.col)
        and (beside.half_turn, beside.shift) == (place.half_turn, place.shift)
        for q, (number, beside) in enumerate(zip(tile.pieces, tile.pattern.places, strict=True))
        if q != p
        for other in [pieces[number]]
    )


def _holes(slate: Slate, p: int, new: list[Stand], *, whole: bool) -> Draft:
    shape, tile, say = slate.shape(p), slate.job.tile, slate.say
    spots = "; ".join(say.spot(stand.hole, shape) for stand in new)
    when = "before the tile is split, so that both halves match the support, drill" if whole else "drill"
    measured = " The lines of the cuts count as sawn edges." if whole and "sawn edge" in spots else ""
    text = (
        f"Face down. Bit of {say.length(tile.design.pin_holes[0].diameter)}, stop collar at "
        f"{say.length(tile.backer_thickness)}: "
        f"{when} {counted(len(new), 'pin hole')} in {slate.piece(p)}, through the backer, not the slat; a support is "
        f"the guide: {spots}.{measured}"
    )
    holes = tuple(stand.hole for stand in new)
    return slate.draft("drill", "drill", "down", text, slate.job.rules.rate_hole * len(new), places=(p,), holes=holes)


def seal(slate: Slate) -> list[Draft]:
    steps = []
    slat = slate.job.tile.slat_thickness
    for p in range(len(slate.source.tile.pieces)):
        ends = [end for end in slate.source.sealed if end.place == p]
        slats = sum(end.thickness == slat for end in ends)
        backers = len(ends) - slats
        parts = [counted(n, thing) for n, thing in ((slats, "slat end"), (backers, "backer end")) if n]
        if parts:
            text = f"Seal the sawn ends of {slate.piece(p)} the same day: {listed(parts)}."
            steps.append(slate.draft("seal", "brush", "down", text, slate.job.rules.rate_seal, places=(p,)))
    return steps


def put_away(slate: Slate) -> list[Draft]:
    steps = []
    for p, number in enumerate(slate.source.tile.pieces):
        text = f"Check the number on {slate.ids.piece(number)} and its arrow, stack it for {slate.place_of(number)}."
        steps.append(slate.draft("label", "bench", "up", text, slate.job.rules.rate_label, places=(p,)))
    racked = [slate.ids.part(slate.number, rest.part) for rest in slate.source.rests if rest.keep]
    if racked:
        text = f"Write {listed(racked)} on the offcut{'s' * (len(racked) > 1)} and put on the rack."
        steps.append(slate.draft("rack", "bench", "up", text, slate.job.rules.rate_label))
    return steps
