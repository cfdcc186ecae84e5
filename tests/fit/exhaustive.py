"""Every way to hang a small piece on a coarse grid, to hold the carpentry's answers against.

Looked at: the tile's own backers as the cuts leave them, and boards hung anew every 10 mm along the slats, 60 mm wide
and ripped to 40, each over the whole free interval across less the tile's set-back; at most four in all. Screws: those
that may stay, and new ones on the centre line, in the slat's own places or, where these do not do, in the fragment's
middle. Supports: at the ends of the first and the last board, or of all boards that end some fragment, or of all.

What is found is judged by `tests.fit.judging`, whose rules are the only ones used here. It may find less than there is
(no backers short of their interval or oblique, no slats that share), never what breaks a rule.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import shapely

from cutopt.fit.records import Drive, Fit, Fragment, Seat, Stand
from cutopt.tile import Point
from tests.fit.casing import PLAY, Case, board_of, to_edge
from tests.fit.judging import held, kept_screw, standing
from tests.fit.working import missing_screws, work_of, worth_of

GRID = 10 * 320
MOST_BOARDS = 4
SHIFT = 2 * 320  # a new hole is tried every 2 mm
FARTHEST = 60 * 320

Span = tuple[int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Board:
    """A board with the screws that it would have.

    `costs`: minutes beside those to take out all of the piece's screws; below nothing where enough of them stay in it.
    """

    seat: Seat
    drives: tuple[Drive, ...]
    costs: float

    @property
    def low(self) -> int:
        return self.seat.u - self.seat.width // 2

    @property
    def high(self) -> int:
        return self.seat.u + self.seat.width // 2


def free_intervals(case: Case, low: int, high: int) -> list[Span]:
    """Where across the tile the piece lies over all of the strip from u = low to u = high."""
    _, v0, _, v1 = case.polygon.bounds
    strip = shapely.box(low, v0, high, v1)
    off = [part.bounds for part in shapely.get_parts(strip.difference(case.polygon)) if part.area > 100]
    found, at = [], v0
    for _, a, _, b in sorted(off, key=lambda bounds: bounds[1]):
        if a > at:
            found.append((math.ceil(at), math.floor(a)))
        at = max(at, b)
    if v1 > at:
        found.append((math.ceil(at), math.floor(v1)))
    return found


def boards_of(case: Case, *, set_back: bool = False) -> list[Board]:
    """All boards to choose from, those left out that hold less than two fragments of several.

    `set_back`: boards hung anew keep as far from a cut along the slats as they were from a factory end.
    """
    need = 2 if len(case.fragments) > 1 else 1
    found = []
    for seat in (*_staying(case), *_hung(case, set_back=set_back)):
        drives = _drives(case, seat)
        if len({d.fragment for d in drives}) >= need:
            found.append(Board(seat=seat, drives=drives, costs=_costs(case, seat, drives)))
    return found


def _staying(case: Case) -> Iterator[Seat]:
    """The tile's backers in place: whole, sawn off at an end, or shaved by a blade along them."""
    for backer in case.tile.backers:
        low, high = backer.u - backer.width // 2, backer.u + backer.width // 2
        spans = free_intervals(case, low, high)
        for reach in spans:
            a, b = max(reach[0], backer.v[0]), min(reach[1], backer.v[1])
            if b - a >= GRID:
                state = "kept" if (a, b) == backer.v else "cut"
                yield Seat(
                    u=backer.u, width=backer.width, span=(a, b), reach=reach, state=state, backer=backer.id  # type: ignore[arg-type]
                )  # fmt: skip
        if not spans:
            yield from _shaved(case, backer.id)


def _shaved(case: Case, number: int) -> Iterator[Seat]:
    backer = next(b for b in case.tile.backers if b.id == number)
    low, high = backer.u - backer.width // 2, backer.u + backer.width // 2
    cuts = [a[0] for a, b in case.sawn if a[0] == b[0] and low < a[0] < high]
    for at, (a, b) in itertools.product(cuts, ((low, 0), (0, high))):
        left, right = (a, int(at)) if a else (int(at), b)
        right -= (right - left) % 2
        wood = all(min(h.at[0] - left, right - h.at[0]) >= case.meat for h in case.tile.pin_holes if h.backer == number)
        for reach in free_intervals(case, left, right):
            if reach[0] <= backer.v[0] and reach[1] >= backer.v[1] and wood and right - left >= case.rules.shaved_least:
                yield Seat(
                    u=(left + right) // 2, width=right - left, span=backer.v, reach=reach, state="shaved", backer=number
                )


def _hung(case: Case, *, set_back: bool) -> Iterator[Seat]:
    first = case.tile.backers[0]
    back = (first.v[0], case.tile.width - first.v[1])
    far = first.u - first.width // 2 if set_back else 0
    u0, _, u1, _ = (int(x) for x in case.polygon.bounds)
    for width in (first.width, case.rules.shaved_least):
        for u in range(-(-u0 // GRID) * GRID, u1 + 1, GRID):
            low, high = u - width // 2 - far, u + width // 2 + far
            if low < u0 or high > u1:
                continue
            for reach in free_intervals(case, low, high):
                span = (reach[0] + back[0], reach[1] - back[1])
                if span[1] - span[0] >= width:
                    yield Seat(u=u, width=width, span=span, reach=reach, state="open", backer=None)


def _drives(case: Case, seat: Seat) -> tuple[Drive, ...]:
    found: list[Drive] = []
    for number, (slat, shape) in enumerate(case.fragments):
        cross = shape.intersection(shapely.LineString([(seat.u, seat.span[0]), (seat.u, seat.span[1])]))
        whole = shape.intersection(shapely.LineString([(seat.u, 0), (seat.u, case.tile.width)]))
        if cross.geom_type != "LineString" or whole.geom_type != "LineString":
            continue
        if cross.is_empty or whole.length < case.rules.fragment_least:
            continue
        stay = [
            screw
            for screw in case.tile.screws
            if (screw.backer, screw.slat) == (seat.backer, slat)
            and shape.covers(shapely.Point(screw.at))
            and not list(kept_screw(case, seat, screw.at))
        ]
        if stay:
            found += [Drive(fragment=number, at=s.at, screw=s.id) for s in stay]
            continue
        narrow = whole.length < case.rules.fragment_normal
        places = sorted({(seat.u, s.at[1]) for s in case.tile.screws if s.slat == slat})
        middle = (seat.u, round((whole.bounds[1] + whole.bounds[3]) / 2))
        good = [at for at in places if _sound(case, seat, at, slat, shape)]
        good = good or [at for at in [middle] if _sound(case, seat, at, slat, shape)]
        found += [Drive(fragment=number, at=at, screw=None, predrilled=narrow) for at in good[: 1 if narrow else None]]
    return tuple(found)


def _sound(case: Case, seat: Seat, at: Point, slat: int, shape: shapely.Polygon) -> bool:
    """Whether a new screw may go here; clear also of the holes that wood from elsewhere may bring along."""
    ring = list(itertools.pairwise(shape.exterior.coords))
    rules = case.rules
    return (
        shape.covers(shapely.Point(at))
        and all(to_edge(at, edge) >= (case.end if case.is_end(edge) else case.edge) for edge in ring)
        and min(at[1] - seat.span[0], seat.span[1] - at[1]) >= max(case.backer_end, rules.kept_screw_edge)
        and seat.width / 2 >= case.backer_edge
        and all(abs(at[1] - hole.at[1]) >= rules.screw_hole_clear for hole in case.tile.pin_holes)
        and not any(
            # one of the slat's old holes is used again where a board lies under it
            s.slat == slat and s.at != at and math.dist(s.at, at) < rules.old_hole_clear
            for s in case.tile.screws
        )
    )


def _costs(case: Case, seat: Seat, drives: Sequence[Drive]) -> float:
    rules = case.rules
    fresh = [d for d in drives if d.screw is None]
    driving = sum(rules.rate_screw_new if d.predrilled else rules.rate_screw_in for d in fresh)
    saved = (len(drives) - len(fresh)) * rules.rate_screw_out
    if seat.backer is not None:
        return driving - saved
    shapes = [shape for _, shape in case.fragments]
    missing = missing_screws(case, seat, drives, shapes)
    driving += missing * (rules.rate_screw_in + rules.rate_screw_out)
    driving += 2 * rules.rate_table_saw * (seat.width < min(backer.width for backer in case.tile.backers))
    return driving + rules.rate_backer + len(fresh) * rules.rate_screw_out


def cheapest(case: Case, below: float = math.inf) -> Fit | None:
    """The way of least worth that the search finds under `below`, None where it finds none.

    Its boards keep their set-back: one close behind a cut is for pieces that cannot be hung otherwise.
    """
    if case.necks:
        return None
    boards, out = boards_of(case, set_back=True), _all_out(case)
    sets = sorted(_sets(case, boards, below - out - 1e-6), key=lambda one: sum(b.costs for b in one))
    best = None
    for chosen in sets:
        if out + sum(b.costs for b in chosen) >= below - 1e-6:
            break
        for found in _on_supports(case, chosen):
            worth = worth_of(case, found)
            if worth < below - 1e-6:
                best, below = found, worth
    return best


def any_way(case: Case, sets_tried: int | None = None) -> Fit | None:
    """The first way that the search comes upon, None where it finds none, among the first sets where told so."""
    if case.necks:
        return None
    sets = itertools.islice(_sets(case, boards_of(case), math.inf), sets_tried)
    return next((found for chosen in sets for found in _on_supports(case, chosen)), None)


def _all_out(case: Case) -> float:
    """Minutes to take all screws of the piece out."""
    inside = sum(bool(case.polygon.covers(shapely.Point(s.at))) for s in case.tile.screws)
    return inside * case.rules.rate_screw_out


def _sets(case: Case, choice: Sequence[Board], most: float) -> Iterator[tuple[Board, ...]]:
    """Boards side by side that hold every fragment, with no bay too long and no end too far out."""
    boards = sorted(choice, key=lambda b: (b.low, b.high))
    ends = [(shape.bounds[0], shape.bounds[2]) for _, shape in case.fragments]
    holds = [{d.fragment for d in board.drives} for board in boards]
    bay = case.tile.longest_bay + 320
    save = sum(min(0.0, board.costs) for board in boards)
    u0, _, u1, _ = case.polygon.bounds
    far = max(case.rules.face_past_bearing, case.rules.wall_face_past_bearing) + 1

    def grow(chosen: tuple[int, ...], last: dict[int, int], spent: float) -> Iterator[tuple[Board, ...]]:
        if len(chosen) >= 2 and all(
            n in last and end - boards[last[n]].high <= case.overhang for n, (_, end) in enumerate(ends)
        ):
            some = tuple(boards[i] for i in chosen)
            if u1 - max(b.high for b in some) <= far and _tied(case, some) and _reach_out(case, some):
                yield some
        if len(chosen) == MOST_BOARDS:
            return
        for i in range(chosen[-1] + 1 if chosen else 0, len(boards)):
            board = boards[i]
            # boards come by their low edges: what this one leaves behind, no later one mends
            if not chosen and board.low - u0 > far:
                return
            if any(n not in last and board.low - start > case.overhang for n, (start, _) in enumerate(ends)):
                return
            if any(
                board.low - boards[k].high > bay and ends[n][1] - boards[k].high > case.overhang
                for n, k in last.items()
            ):
                return
            costs = spent + board.costs
            if costs + save >= most or any(_lie_over(board, boards[k]) for k in chosen):
                continue
            if any(board.seat.u - boards[last[n]].seat.u > bay for n in holds[i] if n in last):
                continue
            yield from grow((*chosen, i), {**last, **dict.fromkeys(holds[i], i)}, costs)

    yield from grow((), {}, 0.0)


def _tied(case: Case, chosen: Sequence[Board]) -> bool:
    """Two screws on two boards for each fragment, on one if it is short, and all one whole; before `held` judges it."""
    group = list(range(len(case.fragments)))
    for number, (_, shape) in enumerate(case.fragments):
        at = [sum(d.fragment == number for d in board.drives) for board in chosen]
        short = shape.bounds[2] - shape.bounds[0] < case.rules.short_fragment
        if sum(at) < 2 or (sum(n > 0 for n in at) < 2 and not short):
            return False
    for board in chosen:
        for a, b in itertools.pairwise(sorted({d.fragment for d in board.drives})):
            group = [group[b] if g == group[a] else g for g in group]
    return len(set(group)) == 1


def _reach_out(case: Case, chosen: Sequence[Board]) -> bool:
    """Whether the boards, were they to bear all over, lie near enough to the corners of the face."""
    points = [(u, v) for b in chosen for u in (b.low, b.high) for v in b.seat.span]
    hull = shapely.MultiPoint(points).convex_hull
    corners, sawn = case.corners
    limits = (case.rules.face_past_bearing, case.rules.wall_face_past_bearing)
    gaps = shapely.distance(shapely.points(corners), hull).tolist()
    return all(gap <= limits[wall] + PLAY for gap, wall in zip(gaps, sawn, strict=True))


def _lie_over(one: Board, other: Board) -> bool:
    a, b = one.seat, other.seat
    return one.low < other.high and other.low < one.high and a.span[0] < b.span[1] and b.span[0] < a.span[1]


def _on_supports(case: Case, chosen: Sequence[Board]) -> Iterator[Fit]:
    """The boards on their supports, each way that stands."""
    seats, drives = tuple(b.seat for b in chosen), tuple(b.drives for b in chosen)
    brings = len(case.tile.bored) - sum(s.backer in {b.id for b in case.tile.bored} for s in seats)
    bored = set([n for n, s in enumerate(seats) if s.backer is None][: max(0, brings)])
    holds = [{d.fragment for d in some} for some in drives]
    first = {
        min((n for n in range(len(seats)) if f in holds[n]), key=lambda n: seats[n].u) for f in set().union(*holds)
    }
    last = {max((n for n in range(len(seats)) if f in holds[n]), key=lambda n: seats[n].u) for f in set().union(*holds)}
    ways = [{0, len(seats) - 1}, first | last, set(range(len(seats)))]
    seen: list[set[int]] = []
    for way in ways:
        if way in seen:
            continue
        seen.append(way)
        stands = [
            stand
            for n in sorted(way)
            for stand in _stands(
                case, n, seats[n], drives[n], n in bored, 1 if n in first and n != len(seats) - 1 else -1
            )
        ]
        shapes = [shape for _, shape in case.fragments]
        if not list(standing(case, seats, drives, stands)) and not list(held(case, seats, drives, shapes)):
            fragments = tuple(
                Fragment(slat=slat, outline=tuple((round(u), round(v)) for u, v in shape.exterior.coords[:-1]))
                for slat, shape in case.fragments
            )
            found = Fit(fragments=fragments, seats=seats, drives=drives, stands=tuple(stands), minutes=0)
            yield replace(found, minutes=work_of(case, found))


def _stands(case: Case, number: int, seat: Seat, drives: Sequence[Drive], bored: bool, along: int) -> Iterator[Stand]:
    """A support at each end of a board, if a hole finds a place there; at one where two have no room."""
    apart = 2 * case.meat - case.rules.hole_wood
    taken: list[Point] = []
    own = [h.at for h in case.tile.pin_holes if h.backer == seat.backer]
    if bored:
        shift_free = seat.span == case.tile.backers[0].v
        vs = sorted({h.at[1] for h in case.tile.pin_holes})
        own = [(seat.u, v) for v in vs] if shift_free else []
    own = [at for at in own if seat.span[0] < at[1] < seat.span[1]]
    inset = min(h.at[1] for h in case.tile.pin_holes)
    for side in (1, -1):
        target = seat.reach[0] + inset if side > 0 else seat.reach[1] - inset
        tries = [(at, "moved" if bored else "kept") for at in own if abs(at[1] - target) <= inset - case.meat]
        tries += [
            ((seat.u, round(target / 320) * 320 + way * shift), "drilled")
            for shift in range(0, FARTHEST, SHIFT)
            for way in (side, -side)
        ]
        for at, state in tries:
            if at in taken or min(at[1] - seat.span[0], seat.span[1] - at[1]) < case.meat:
                continue
            others = [*taken, *(o for o in own if o != at)]
            if any(math.dist(at, other) < apart for other in others):
                continue
            if state == "drilled" and any(math.dist(at, d.at) < case.rules.screw_hole_clear for d in drives):
                continue
            taken.append(at)
            yield Stand(seat=number, hole=at, toward=(along, side), state=state)  # type: ignore[arg-type]
            break


def as_text(case: Case, found: Fit) -> str:
    """A way found, in millimetres, for a failing test to show."""
    seats = [
        f"{s.state} {s.width / 320:g} wide at {s.u / 320:g} from {s.span[0] / 320:.1f} to {s.span[1] / 320:.1f}"
        for s in found.seats
    ]
    holes = [f"({s.hole[0] / 320:g}, {s.hole[1] / 320:g}) {s.state}" for s in found.stands]
    assert all(board_of(seat).area > 0 for seat in found.seats)
    ring = [(round(u / 320, 2), round(v / 320, 2)) for u, v in case.outline]
    return f"{ring}: {found.minutes:.2f} min, {'; '.join(seats)}; holes {', '.join(holes)}"
