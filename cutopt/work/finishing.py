"""After the saw: drill, seal the same day, label, and put away."""

from __future__ import annotations

from cutopt.fit import Stand
from cutopt.work.names import counted, listed
from cutopt.work.slate import Draft, Slate


def drill(slate: Slate) -> list[Draft]:
    steps = []
    for p, stands in enumerate(slate.source.stands):
        new = [stand for stand in stands if stand.state == "drilled"]
        if new:
            steps.append(_holes(slate, p, new))
    return steps


def _holes(slate: Slate, p: int, new: list[Stand]) -> Draft:
    shape, tile = slate.shape(p), slate.job.tile
    spots = listed([f"{slate.say.from_end(s.hole[0], shape)} and {slate.say.from_side(s.hole[1], shape)}" for s in new])
    diameter = slate.say.length(tile.pin_holes[0].diameter)
    text = (
        f"Face down. Drill {len(new)} pin hole{'s' * (len(new) > 1)} of {diameter} right through the backer of "
        f"{slate.piece(p)}, not the slat; a support is the guide: {spots}."
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
