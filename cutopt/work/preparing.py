"""Before the saw: name the parts, mark the lines, take out the screws in the way, hang backers clear of the blade."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cutopt.cut import SawCut
from cutopt.lay.records import Side
from cutopt.tile import Point
from cutopt.work.names import SIDES, counted, listed
from cutopt.work.notches import mark_text, straight_legs
from cutopt.work.ripping import rip_slat
from cutopt.work.slate import Draft, Face, Slate, chiral, face_at


def name_parts(slate: Slate) -> Draft:
    tile = slate.source.tile
    names = listed([_part_name(slate, p) for p in range(len(tile.pieces))])
    alike = f" Make {tile.uses} alike." if tile.uses > 1 else ""
    flags = [slate.ids.piece(n) for n in tile.pieces if chiral(slate.pieces[n].shape)]
    flag = f" {listed(flags)} must not be made as in a mirror: heed the face named in every step." if flags else ""
    text = (
        f"Face up, slat ends left and right: {_home(slate)}. Write on each part its number and, as drawn, an arrow to "
        f"its wall or post: {names}.{alike}{flag}"
    )
    return slate.draft("mark", "bench", "up", text, slate.job.rules.rate_label * len(tile.pieces))


def _home(slate: Slate) -> str:
    """How the tile's home corner is found, or what an offcut from the rack has in its place."""
    offcut, edges = slate.source.tile.offcut, slate.say.edges
    if offcut is None:
        return "chalk H on both edges at the corner near you on the left, the home corner"
    towards: dict[Side, str] = {"u0": "left", "u1": "right", "v0": "near", "v1": "far"}
    own = [f"the {SIDES[side]} {towards[side]}" for side in edges]
    gone = [SIDES[side] for side in SIDES if side not in edges]
    text = f"lay offcut {offcut.id} from the rack as drawn"
    if own:
        text = f"{text} and chalk on its edges what they are: {listed(own)}"
    if gone:
        text = f"{text}; the {listed(gone)} {'is' if len(gone) == 1 else 'are'} gone: measure nothing from there"
    return text


def _part_name(slate: Slate, place: int) -> str:
    """A piece, where on the tile it is, and where it will lie."""
    where = slate.where(place)
    return (
        f"{slate.piece(place)}{f' at the {where}' if where else ''} ({slate.place_of(slate.source.tile.pieces[place])})"
    )


def marks(slate: Slate) -> list[Draft]:
    """Lines that no fence sets: their marks, all measured on the uncut tile, on the face that is up at the saw."""
    steps = []
    for n, cut in enumerate(slate.source.tile.tree.cuts):
        if cut.fence is not None:
            continue
        path, face = _marked_path(slate, cut), face_at(cut, slate.job.rules)
        if cut.radius is not None:
            how, lines = mark_text(slate, cut), 2 + len(straight_legs(cut))
        else:
            how, lines = _joined(slate, cut, path) + _no_further(slate, cut), len(path)
        text = f"Mark cut {n + 1} with the tile face {face}: {how}; the wood of {slate.piece(cut.place)} is kept."
        steps.append(slate.draft("mark", "bench", face, text, slate.job.rules.rate_mark * lines / 2, cut=n + 1))
    return steps


def _joined(slate: Slate, cut: SawCut, path: tuple[Point, ...]) -> str:
    """Marks and the line through them."""
    kind = "Join the two marks" if len(path) == 2 else "Join the marks in this order"
    return f"{'; '.join(slate.say.mark(p) for p in path)}. {kind}{', and the last to the first' if cut.closed else ''}"


def _no_further(slate: Slate, cut: SawCut) -> str:
    """Where a line that is drawn on the waste of a notch would run on over the piece that has the notch."""
    tree = slate.source.tile.tree
    notch = tree.out_of_notch(cut.part)
    if notch is None:
        return ""
    return f", but draw no line on {slate.piece(tree.cuts[notch].place)}"


def offer_up(slate: Slate) -> list[Draft]:
    """Before any work on a piece that is scribed: its true lines are taken on site, once its neighbours lie."""
    steps = []
    low, high = slate.job.rules.scribe_spare
    spare = f"{slate.say.length(low, unit=False)} to {slate.say.length(high)}"
    for p, number in enumerate(slate.source.tile.pieces):
        mine = [(n, cut) for n, cut in enumerate(slate.source.tile.tree.cuts) if cut.place == p]
        if not mine or not slate.pieces[number].scribe:
            continue
        face = face_at(mine[0][1], slate.job.rules)
        text = (
            f"On site, once the neighbours of {slate.piece(p)} lie: offer the tile up and measure to the wall or post; "
            f"where it is in its own way, first saw in the waste, {spare} off the line. By what you measured correct, "
            f"face {face}, the marks, or the fence, of {_by_face(slate, mine, face)}."
        )
        minutes = slate.job.rules.rate_mark * len(mine)
        steps.append(slate.draft("mark", "bench", face, text, minutes, cut=mine[0][0] + 1, places=(p,)))
    return steps


def _by_face(slate: Slate, cuts: Sequence[tuple[int, SawCut]], face: Face) -> str:
    """Cuts by number, those first that are marked with this face up."""
    said = []
    for turned in (False, True):
        numbers = [str(n + 1) for n, cut in cuts if (face_at(cut, slate.job.rules) != face) == turned]
        if numbers:
            said.append(f"cut{'s' * (len(numbers) > 1)} {listed(numbers)}")
    return " and, turned over, of ".join(said)


def _marked_path(slate: Slate, cut: SawCut) -> tuple[Point, ...]:
    """The line as it is marked on the uncut tile: for a through-cut from side to side of the tile."""
    shape = slate.source.tile.pattern.places[cut.place].shape
    for a, b in shape.chords:
        ends = [_off_line(p, a, b) for p in cut.path]
        if len(cut.path) == 2 and max(ends) < 4:
            return a, b
    return cut.path


def _off_line(p: Point, a: Point, b: Point) -> float:
    """Distance of a point from the line through two, ticks."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    return abs(dx * (p[1] - a[1]) - dy * (p[0] - a[0])) / max(math.hypot(dx, dy), 1.0)


def unscrew(slate: Slate) -> list[Draft]:
    """Screws out before the cuts, backer by backer; a backer that no piece keeps in its place comes off."""
    steps = []
    for backer in slate.job.tile.backers:
        own = [s.id for s in slate.job.tile.screws if s.backer == backer.id]
        out = [s for s in own if s in slate.source.screws_early]
        if not out:
            continue
        name = f"T{slate.number + 1}.b{backer.id}"
        comes_off = len(out) == len(own) and backer.id not in slate.source.tile.pattern.kept
        if comes_off:
            text = f"Take out all {len(out)} screws of backer {backer.id} and lift it off. Write {name} on it."
        else:
            text = f"Take out {counted(len(out), 'screw')} of backer {backer.id}: {listed(out)}."
        steps.append(
            slate.draft(
                "unscrew", "bench", "down", f"Tile face down. {text}",
                slate.job.rules.rate_screw_out * len(out), screws=tuple(out),
                frees=(slate.number, (backer.id, backer.v)) if comes_off else None,
            )
        )  # fmt: skip
    return steps


def share(slate: Slate) -> list[Draft]:
    """The last two slats share what a rip leaves: off, the inner one ripped, and back before the cut."""
    steps = []
    for p, place in enumerate(slate.source.tile.pattern.places):
        share = place.fit.share
        if share is None:
            continue
        gap = max(share.outer.v[0] - share.inner.v[1], share.inner.v[0] - share.outer.v[1])
        low = share.inner.v[0] < share.outer.v[0]
        edge = share.inner.v[0] if low else share.inner.v[1]
        steps.append(rip_slat(slate, p, share))
        text = (
            f"Tile face down. Slats {share.inner.id} and {share.outer.id} share what the cut leaves. Lay slat "
            f"{share.inner.id} back, its whole edge where it was, {slate.say.from_side(edge, place.shape)}, and slat "
            f"{share.outer.id} beside it with the usual gap of {slate.say.length(gap)}. Their screws follow."
        )
        steps.append(slate.draft("screw", "bench", "down", text, slate.job.rules.rate_share, places=(p,)))
    return steps
