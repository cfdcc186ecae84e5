"""How a source lies at the saw: which screws are out by then, which backers hang, and cuts that saw nothing loose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from cutopt.cut import CutTile
from cutopt.cut.holding import Hold, Tie, board_of
from cutopt.cut.notching import legs
from cutopt.cut.records import Place, SawCut, SawTree
from cutopt.cut.sawing import saw_tree
from cutopt.cut.saws import Saws
from cutopt.geometry import NEAR, Rail, Ring, covered, polygon, polygons
from cutopt.hang.records import Board, Screwed, Wood
from cutopt.job.records import Job
from cutopt.tile import Screw, Tile

Laid = tuple[tuple[Place, ...], Ring, Hold]


@dataclass(frozen=True, kw_only=True, slots=True)
class Lying:
    """Source number `number` before its cuts: boards, their screws, and its wood that boards are made of.

    `known`: the cuts found for sources that lay just so, whatever the names of their boards.
    """

    number: int
    tile: CutTile
    boards: Sequence[Board]
    screwed: Sequence[Screwed]
    used: Sequence[Wood]
    job: Job
    known: dict[Laid, SawTree | None]


@dataclass(frozen=True, kw_only=True, slots=True)
class AtSaw:
    """The cuts, the tile's screws that come out, and of these the ones that come out before the first cut."""

    tree: SawTree
    out: tuple[str, ...]
    early: tuple[str, ...]


def early_boards(boards: Sequence[Board], number: int, tile: CutTile, anatomy: Tile) -> list[Board]:
    """The boards of source `number`, those marked that are hung before its cuts so that nothing loose is sawn.

    Own wood that no cut has to free, and bought boards where no blade goes and no backer lies that a piece keeps.
    """
    staying = [board_of(backer) for backer in anatomy.backers if backer.id in tile.pattern.kept]
    taken = shapely.union_all([_dust(tile.tree), *staying])

    def early(board: Board) -> bool:
        wood = board.wood
        if wood is None:
            return board.state == "added" and board.seat.board.intersection(taken).area <= NEAR * board.seat.width
        return board.state == "moved" and wood.source == number and not wood.sawn_free

    return [replace(board, early=early(board)) for board in boards]


def at_saw(lying: Lying) -> AtSaw:
    """The cuts again, now that it is known what holds the source together while it is sawn.

    Screws out early are those of `_out`. Where a blade would cross a slat that no screw holds, screws of that slat
    that are in nobody's way stay in until the cuts are made.
    """
    tree = lying.tile.tree
    out, early = _out(lying, tree)
    while True:
        tree = _sawn(lying, tree, early)
        more, sooner = _out(lying, tree)
        if more <= out and sooner <= early:
            break
        out, early = out | more, early | sooner  # another saw has another kerf, another order other ways
    loose = {slat for cut in tree.cuts for slat in cut.loose}
    if loose:
        spared = early - {s.id for s in _spare(lying, tree, early) if s.slat in loose}
        better = _sawn(lying, tree, spared)
        if spared != early and _loose(better) < _loose(tree) and not _in_the_way(lying, better, early - spared):
            tree, early = better, spared
    ordered = [s.id for s in lying.job.tile.screws]
    return AtSaw(
        tree=tree, out=tuple(s for s in ordered if s in out), early=tuple(s for s in ordered if s in out & early)
    )


def _in_the_way(lying: Lying, tree: SawTree, staying: set[str]) -> bool:
    """Whether any of these screws is near a blade, or in a backer that has to come off before the cuts."""
    lifted = _lifted(lying, tree)
    return bool(_near(lying, _dust(tree)) & staying) or any(
        screw.backer in lifted for screw in lying.job.tile.screws if screw.id in staying
    )


def _loose(tree: SawTree) -> int:
    return sum(len(cut.loose) for cut in tree.cuts)


def _sawn(lying: Lying, tree: SawTree, early: set[str]) -> SawTree:
    """The cuts with what holds then; as they were where nothing else is found."""
    job, known = lying.job, lying.known
    laid = lying.tile.pattern.places, lying.tile.outline(job.tile), _hold(lying, early)
    if laid not in known:
        saws = Saws(tile=job.tile, rules=job.rules, cutting=job.cutting)
        known[laid] = saw_tree(laid[0], laid[1], saws, laid[2])
    return known[laid] or tree


def _hold(lying: Lying, early: set[str]) -> Hold:
    """The slats as they lie, the tile's backers and those hung before the cuts, and the screws in them."""
    tile = lying.job.tile
    shared = lying.tile.pattern.shared
    own = [(str(backer.id), board_of(backer)) for backer in tile.backers]
    ties = [Tie(at=s.at, slat=s.slat, board=str(s.backer)) for s in tile.screws if s.id not in early]
    for screwed in lying.screwed:
        board, drive = lying.boards[screwed.board], screwed.drive
        if drive.screw is not None:
            continue
        if board.seat.backer is not None:
            ties.append(Tie(at=drive.at, slat=screwed.fragment.slat, board=str(board.seat.backer)))
        elif board.early:
            ties.append(Tie(at=drive.at, slat=screwed.fragment.slat, board=_new(screwed.board)))
    return Hold(
        slats=tuple(
            (slat.id, shapely.box(0, slat.v[0], tile.length, slat.v[1]))
            for slat in (shared.get(slat.id, slat) for slat in tile.slats)
        ),
        boards=(*own, *((_new(n), b.seat.board) for n, b in enumerate(lying.boards) if b.early)),
        ties=tuple(ties),
    )


def _new(number: int) -> str:
    """What board number so and so of a source is called there: not by its name, so that like sources lie alike."""
    return f"new {number}"


def _out(lying: Lying, tree: SawTree) -> tuple[set[str], set[str]]:
    """The tile's screws that come out, and those that come out before the first cut.

    Before it: those in a piece that do not stay; those of backers that are hung before it; all of a backer that no
    piece keeps but that lies under one, or that is hung elsewhere and a blade would go through; those of slats that
    share; and any within the clearance of a blade. After it: those of other wood that is hung elsewhere.
    """
    anatomy = lying.job.tile
    staying = {s.drive.screw for s in lying.screwed if s.drive.screw}
    pieces = _pieces(lying)
    off = _under(lying, pieces) | _lifted(lying, tree)
    slats, dust = lying.tile.pattern.shared, _dust(tree)
    near = _near(lying, dust)
    sticks = [_stick(lying, dust, wood) for wood in lying.used]
    out, early = set(), set()
    for screw, held in zip(anatomy.screws, covered([s.at for s in anatomy.screws], pieces), strict=True):
        soon = held or screw.backer in off or screw.slat in slats or screw.id in near
        taken = any(screw.backer == b and low <= screw.at[1] <= high for b, (low, high) in sticks)
        if screw.id not in staying and (soon or taken):
            out.add(screw.id)
            early |= {screw.id} if soon else set()
    return out, early


def _stick(lying: Lying, dust: shapely.Geometry, wood: Wood) -> tuple[int, tuple[float, float]]:
    """A stretch as it comes off: with what the blades leave at its ends beyond what is used."""
    number, (low, high) = wood.backer, wood.stretch
    backer = next(b for b in lying.job.tile.backers if b.id == number)
    middle = shapely.Point(backer.u, (low + high) / 2)
    for part in polygons(board_of(backer).difference(dust)):
        if part.covers(middle):
            return number, (min(low, part.bounds[1]), max(high, part.bounds[3]))
    return number, (low, high)


def _spare(lying: Lying, tree: SawTree, early: set[str]) -> list[Screw]:
    """Screws out early that might stay in while the source is sawn: clear of every blade, in a backer and a slat that
    nothing moves before, and that no board hung early takes the place of.
    """
    near, lifted = _near(lying, _dust(tree)), _lifted(lying, tree)
    new = shapely.union_all([b.seat.board for b in lying.boards if b.early])
    for backer in lying.job.tile.backers:
        if board_of(backer).intersection(new).area > NEAR * backer.width:
            lifted.add(backer.id)
    return [
        screw
        for screw in lying.job.tile.screws
        if screw.id in early - near and screw.backer not in lifted and screw.slat not in lying.tile.pattern.shared
    ]


def _pieces(lying: Lying) -> shapely.Geometry:
    return shapely.union_all([shapely.Polygon(p.shape.outline, p.shape.holes) for p in lying.tile.pattern.places])


def _near(lying: Lying, dust: shapely.Geometry) -> set[str]:
    """The screws within the clearance of a blade, whose way is `dust`; none where nothing is sawn."""
    screws, least = lying.job.tile.screws, lying.job.rules.screw_clearance
    if dust.is_empty or not screws:
        return set()
    far = shapely.distance(dust, shapely.points([s.at for s in screws])).tolist()
    return {screw.id for screw, off in zip(screws, far, strict=True) if off < least}


def _lifted(lying: Lying, tree: SawTree) -> set[int]:
    """Backers that come off before the cuts: hung again before them, or hung elsewhere and in the way of a blade."""
    found = {b.wood.backer for b in lying.boards if b.wood and b.early}
    blades = [_blade(cut) for cut in tree.cuts]
    for wood in lying.used:
        number = wood.backer
        board = board_of(next(b for b in lying.job.tile.backers if b.id == number), wood.span)
        if number not in lying.tile.pattern.kept and any(board.intersection(b).area > NEAR * NEAR for b in blades):
            found.add(number)
    return found


def _under(lying: Lying, pieces: shapely.Geometry) -> set[int]:
    """Backers that lie under a piece and that no piece keeps."""
    kept = lying.tile.pattern.kept
    return {b.id for b in lying.job.tile.backers if b.id not in kept and board_of(b).intersection(pieces).area > 0}


def _dust(tree: SawTree) -> shapely.Geometry:
    """The ways of all blades."""
    return shapely.union_all([_blade(cut) for cut in tree.cuts])


def _blade(cut: SawCut) -> shapely.Geometry:
    """What the saw turns to dust: a kerf to the right of the path."""
    strips = []
    for a, b in legs(cut):
        far = Rail(a=b, b=a, slack=0).slid(cut.kerf)
        strips.append(polygon([a, b, far.a, far.b]))
    return shapely.union_all(strips)
