"""The rules of the carpentry as plain functions, to judge a `Fit` by. Nothing here is taken from the fitting itself.

All in the source's tile frame, ticks. A judge gives each broken rule as a sentence; none means that the piece holds
together, stands and keeps every distance. Distances of screws: NDS Commentary Table C12.1.5.7 (prebored, advisory), by
way of the rules; all else is common practice, no source, and in the rules too.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import shapely

from cutopt.fit.records import Drive, Fit, Seat, Stand
from cutopt.tile import Point
from tests.fit.casing import PLAY, Case, board_of, centre_at, ring_edges, to_edge, width_at


def judge(case: Case, found: Fit) -> list[str]:
    """Every rule that a fit breaks."""
    shapes = [shapely.Polygon(f.outline, f.holes) for f in found.fragments]
    return [
        *case.necks,
        *_fragments(case, found, shapes),
        *_boards(case, found),
        *(text for n, seat in enumerate(found.seats) for text in _screws(case, found, n, seat, shapes)),
        *held(case, found.seats, found.drives, shapes),
        *_pins(case, found),
        *standing(case, found.seats, found.drives, found.stands),
    ]


def _fragments(case: Case, found: Fit, shapes: list[shapely.Polygon]) -> Iterator[str]:
    """The fragments are those that the cuts give, in the piece and side by side."""
    if not any(f.shared for f in found.fragments):
        mine = sorted((slat, round(part.area / 1e5)) for slat, part in case.fragments)
        theirs = sorted((f.slat, round(s.area / 1e5)) for f, s in zip(found.fragments, shapes, strict=True))
        if [m[0] for m in mine] != [t[0] for t in theirs] or any(
            abs(m[1] - t[1]) > 2 for m, t in zip(mine, theirs, strict=True)
        ):
            yield f"its fragments are {theirs}, the cuts give {mine}"
    for one, other in itertools.combinations(shapes, 2):
        if one.intersection(other).area > PLAY * 320:
            yield "fragments lie on one another"
    for shape in shapes:
        if not case.polygon.buffer(PLAY).covers(shape):
            yield "a fragment lies outside the piece"


def _boards(case: Case, found: Fit) -> Iterator[str]:
    """Each backer lies in the piece, is as wide as it must be, and lies on no other; one that stays is where it was."""
    own = {backer.id: backer for backer in case.tile.backers}
    widest = max(backer.width for backer in case.tile.backers)
    for number, seat in enumerate(found.seats):
        board = board_of(seat)
        if not case.polygon.buffer(PLAY, join_style="mitre").covers(board):
            yield f"backer at {seat.u / 320:.1f} reaches out of the piece"
        if seat.width < case.rules.shaved_least - PLAY or seat.width > widest:
            yield f"backer at {seat.u / 320:.1f} is {seat.width / 320:.1f} wide"
        for other in found.seats[:number]:
            if board.intersection(board_of(other)).area > PLAY * 320:
                yield f"backers at {seat.u / 320:.1f} and {other.u / 320:.1f} lie on one another"
        if seat.backer is None:
            continue
        was = own[seat.backer]
        if seat.span[0] < was.v[0] or seat.span[1] > was.v[1]:
            yield f"backer {was.id} stays and is longer than it was"
        low, high = seat.u - seat.width / 2, seat.u + seat.width / 2
        if seat.lean or low < was.u - was.width / 2 - 1 or high > was.u + was.width / 2 + 1:
            yield f"backer {was.id} stays and lies elsewhere"
        if seat.state != "shaved" and (seat.u, seat.width) != (was.u, was.width):
            yield f"backer {was.id} is {seat.state} and not where or as wide as it was"


def _screws(case: Case, found: Fit, number: int, seat: Seat, shapes: list[shapely.Polygon]) -> Iterator[str]:
    own = {screw.id: screw for screw in case.tile.screws}
    for drive in found.drives[number]:
        fragment = found.fragments[drive.fragment]
        where = f"screw at ({drive.at[0] / 320:.1f}, {drive.at[1] / 320:.1f})"
        if not shapes[drive.fragment].buffer(PLAY).covers(shapely.Point(drive.at)):
            yield f"{where} is not in its fragment"
        if width_at(shapes[drive.fragment], drive.at) < case.rules.fragment_least - PLAY:
            yield f"{where} is in wood narrower than fragment_least"
        if drive.screw is None:
            yield from (f"{where} {fault}" for fault in _new_screw(case, found, number, drive, shapes[drive.fragment]))
            continue
        screw = own[drive.screw]
        if (screw.at, screw.slat, screw.backer) != (drive.at, fragment.slat, seat.backer) or fragment.shared:
            yield f"{where} is said to stay and is not the tile's {drive.screw}"
        yield from (f"{where} {fault}" for fault in kept_screw(case, seat, drive.at))
    for one, other in itertools.combinations([d for ds in found.drives for d in ds], 2):
        if number == 0 and math.dist(one.at, other.at) < case.tile.screw_diameter:
            yield f"two screws at ({one.at[0] / 320:.1f}, {one.at[1] / 320:.1f})"
    yield from _off_holes(case, found, number, seat)


def kept_screw(case: Case, seat: Seat, at: Point) -> Iterator[str]:
    """12 mm from a new edge of its slat, and from a sawn end or edge of its backer."""
    near = case.rules.kept_screw_edge - PLAY
    if min((to_edge(at, edge) for edge in case.sawn), default=math.inf) < near:
        yield "stays nearer to a new edge than kept_screw_edge"
    was = next(b for b in case.tile.backers if b.id == seat.backer)
    sawn = [end for end, once in zip(seat.span, was.v, strict=True) if end != once]
    if any(abs(at[1] - end) < near for end in sawn) or not seat.span[0] <= at[1] <= seat.span[1]:
        yield "stays nearer to a sawn end of its backer than kept_screw_edge"
    if seat.state == "shaved" and seat.width / 2 - abs(at[0] - seat.u) < near:
        yield "stays nearer to a shaved edge of its backer than kept_screw_edge"


def _new_screw(case: Case, found: Fit, number: int, drive: Drive, shape: shapely.Polygon) -> Iterator[str]:
    """Edge and end distances in slat and backer; clear of the slat's old holes that it is not driven into again."""
    at, seat = drive.at, found.seats[number]
    for edge in ring_edges(shape):
        least, rule = (case.end, "screw_end") if case.is_end(edge) else (case.edge, "screw_edge")
        if to_edge(at, edge) < least - PLAY:
            yield f"is {to_edge(at, edge) / 320:.1f} from the slat's edge, {rule} wants {least / 320:.1f}"
    (u0, v0), (u1, v1) = seat.line
    size = math.hypot(u1 - u0, v1 - v0)
    run = ((at[0] - u0) * (u1 - u0) + (at[1] - v0) * (v1 - v0)) / size
    aside = abs((at[0] - u0) * (v1 - v0) - (at[1] - v0) * (u1 - u0)) / size
    if min(run, size - run) < case.backer_end - PLAY:
        yield f"is {min(run, size - run) / 320:.1f} from its backer's end"
    if seat.width / 2 - aside < case.backer_edge - PLAY:
        yield f"is {(seat.width / 2 - aside) / 320:.1f} from its backer's edge"
    fragment = found.fragments[drive.fragment]
    if fragment.shared:
        return  # its slat has moved: where its old holes lie now is the sharing's affair
    for old in case.tile.screws:
        gap = math.dist(old.at, at)
        if (
            old.slat == fragment.slat
            and PLAY < gap < case.rules.old_hole_clear - PLAY
            and case.polygon.covers(shapely.Point(old.at))
        ):
            yield f"is {gap / 320:.1f} from the hole of {old.id}, old_hole_clear"


def _off_holes(case: Case, found: Fit, number: int, seat: Seat) -> Iterator[str]:
    """12 mm from every pin hole of its backer: those that pins use, and those that a backer in place has anyhow."""
    holes = [stand.hole for stand in found.stands if stand.seat == number]
    if seat.backer is not None:
        mine = [h.at for h in case.tile.pin_holes if h.backer == seat.backer]
        holes += [at for at in mine if seat.span[0] < at[1] < seat.span[1]]
    clear = min(
        case.rules.screw_hole_clear, min(math.dist(s.at, h.at) for s in case.tile.screws for h in case.tile.pin_holes)
    )
    for drive, hole in itertools.product(found.drives[number], holes):
        if math.dist(drive.at, hole) < clear - PLAY:
            yield f"screw at ({drive.at[0] / 320:.1f}, {drive.at[1] / 320:.1f}) is too near a pin hole"


def held(
    case: Case, seats: Sequence[Seat], drives: Sequence[Sequence[Drive]], shapes: Sequence[shapely.Polygon]
) -> Iterator[str]:
    """Each fragment by two screws on two backers, unless it is short; one whole; two backers; bays and overhangs."""
    need = 2 if len(shapes) > 1 else 1
    useful = [n for n, some in enumerate(drives) if len({d.fragment for d in some}) >= need]
    if len(useful) < 2:
        yield f"hangs on {len(useful)} backers that hold it together, 2 are meant"
    group = list(range(len(shapes)))
    for n in useful:
        for a, b in itertools.pairwise(sorted({d.fragment for d in drives[n]})):
            group = [group[b] if g == group[a] else g for g in group]
    if len(set(group)) > 1:
        yield "is not one whole"
    for number, shape in enumerate(shapes):
        at = [(n, [d for d in drives[n] if d.fragment == number]) for n in useful]
        yield from _hold(case, [(seats[n], some) for n, some in at if some], shape)


def _hold(case: Case, at: Sequence[tuple[Seat, Sequence[Drive]]], shape: shapely.Polygon) -> Iterator[str]:
    u0, v0, u1, v1 = shape.bounds
    name = f"fragment {u0 / 320:.0f}..{u1 / 320:.0f} x {v0 / 320:.0f}..{v1 / 320:.0f}"
    screws = sum(len(some) for _, some in at)
    if screws < 2 or (len(at) < 2 and u1 - u0 >= case.rules.short_fragment):
        yield f"{name} is held by {screws} screws on {len(at)} backers"
    if not at:
        return
    middle = (v0 + v1) / 2
    centres = sorted(centre_at(seat, middle) for seat, _ in at)
    if any(b - a > case.tile.longest_bay + 320 for a, b in itertools.pairwise(centres)):  # to a millimetre
        yield f"{name} has a bay longer than the tile's"
    under = [board_of(seat).intersection(shape).bounds for seat, _ in at]
    past = max(min(b[0] for b in under) - u0, u1 - max(b[2] for b in under))
    if past > case.overhang + PLAY:
        yield f"{name} ends {past / 320:.1f} past its last backer"


def _pins(case: Case, found: Fit) -> Iterator[str]:
    """Two at least; holes lie in the wood of their backer, with wood around them and between them."""
    if len(found.stands) < 2:
        yield f"has {len(found.stands)} pin holes, nothing keeps it in its place"
    own = {(h.backer, h.at) for h in case.tile.pin_holes}
    radius = case.meat - case.rules.hole_wood
    for number, stand in enumerate(found.stands):
        seat = found.seats[stand.seat]
        where = f"hole at ({stand.hole[0] / 320:.1f}, {stand.hole[1] / 320:.1f})"
        rim = min(to_edge(stand.hole, edge) for edge in ring_edges(board_of(seat)))
        if not board_of(seat).covers(shapely.Point(stand.hole)):
            yield f"{where} is not in its backer"
        as_made = seat.backer is not None and (seat.backer, stand.hole) in own and seat.state == "kept"
        if rim < case.meat - PLAY and not as_made:
            yield f"{where} has {(rim - radius) / 320:.1f} of wood"
        if stand.state == "kept" and (seat.backer, stand.hole) not in own:
            yield f"{where} is said to be kept, and the tile has none there"
        if any(s.seat == stand.seat and s.hole == stand.hole for s in found.stands[:number]):
            yield f"{where} takes two pins"


def pad_of(case: Case, stand: Stand) -> shapely.Polygon:
    """The quarter of a support under a stand, trimmed to the piece and the half joint beside it."""
    support = case.tile.support
    centre = [stand.hole[axis] - stand.toward[axis] * support.pin_offset for axis in (0, 1)]
    far = [centre[axis] + stand.toward[axis] * support.pad[axis] // 2 for axis in (0, 1)]
    (u0, u1), (v0, v1) = sorted((centre[0], far[0])), sorted((centre[1], far[1]))
    return shapely.box(u0, v0, u1, v1).intersection(case.polygon)


def bearing(case: Case, seats: Sequence[Seat], stands: Sequence[Stand]) -> list[tuple[int, shapely.Geometry]]:
    """Where backers bear on pads for 30 mm at least, each with its seat's number, on any pad of the piece."""
    pads = [pad_of(case, stand) for stand in stands]
    found = []
    for number, seat in enumerate(seats):
        board = board_of(seat)
        for pad in pads:
            patch = board.intersection(pad)
            if patch.area > 0:
                u0, v0, u1, v1 = patch.bounds
                if min(u1 - u0, v1 - v0) >= case.rules.bearing_least - PLAY:
                    found.append((number, patch))
    return found


def standing(
    case: Case, seats: Sequence[Seat], drives: Sequence[Sequence[Drive]], stands: Sequence[Stand]
) -> Iterator[str]:
    """Centre of mass over the bearing; no face far outside it; no backer far past its last pad."""
    shapes = [shape for _, shape in case.fragments]
    need = 2 if len(shapes) > 1 else 1
    useful = {n for n, some in enumerate(drives) if len({d.fragment for d in some}) >= need}
    patches = [(n, patch) for n, patch in bearing(case, seats, stands) if n in useful]
    hull = shapely.convex_hull(shapely.union_all([patch for _, patch in patches]))
    if hull.geom_type != "Polygon" or hull.is_empty:
        yield "rests on nothing"
        return
    if not hull.buffer(PLAY).covers(_centre_of_mass(case, seats)):
        yield "tips: its centre of mass is outside its bearing"
    corners, sawn = case.corners
    walls = (case.rules.face_past_bearing, case.rules.wall_face_past_bearing)
    for at, wall, gap in zip(corners, sawn, shapely.distance(shapely.points(corners), hull).tolist(), strict=True):
        if gap > walls[wall] + PLAY:
            yield f"its face at ({at[0] / 320:.0f}, {at[1] / 320:.0f}) is {gap / 320:.1f} past its bearing"
    for n, seat in enumerate(seats):
        mine = shapely.union_all([patch for m, patch in patches if m == n])
        if not mine.is_empty:
            past = max(shapely.Point(end).distance(mine) for end in seat.line)
            if past > case.rules.backer_past_pad + PLAY:
                yield f"backer at {seat.u / 320:.0f} ends {past / 320:.1f} past its last pad"


def _centre_of_mass(case: Case, seats: Sequence[Seat]) -> shapely.Point:
    """Of slats and backers, which are of one density: each weighs as its area times its thickness."""
    wood = [(shape, case.tile.slat_thickness) for _, shape in case.fragments]
    wood += [(board_of(seat), case.tile.backer_thickness) for seat in seats]
    mass = sum(shape.area * thick for shape, thick in wood)
    return shapely.Point(
        sum(shape.centroid.x * shape.area * thick for shape, thick in wood) / mass,
        sum(shape.centroid.y * shape.area * thick for shape, thick in wood) / mass,
    )
