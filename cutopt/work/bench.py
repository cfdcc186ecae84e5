"""The steps of one source, in the order in which a person does them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from cutopt.cut import SawCut
from cutopt.fit import Stand
from cutopt.geometry import extent
from cutopt.hang import Board, HungSource, Screwed
from cutopt.job.records import Job
from cutopt.lay.records import Piece, Shape
from cutopt.lengths import mm
from cutopt.planfile.model import Setup
from cutopt.tile import Point
from cutopt.work.ids import Ids
from cutopt.work.names import SIDES, STATIONS, Wording, listed

Do = Literal["mark", "unscrew", "cut", "re-hang", "screw", "drill", "seal", "label", "rack"]
Station = Literal["bench", "table saw", "guided saw", "jigsaw", "drill", "brush"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Draft:
    """A step before it has a number. `late`: it waits for wood that another tile leaves.

    `frees` names what the step sets free, `(source, backer)` or `(source, None)` for all that its cuts free; `awaits`
    what it cannot do without.
    """

    source: int
    pieces: tuple[int, ...]
    station: Station
    face: Literal["up", "down"]
    do: Do
    text: str
    minutes: float
    cut: int | None = None
    screws: tuple[str, ...] = ()
    backer: str | None = None
    holes: tuple[Point, ...] = ()
    setup: Setup | None = None
    sum: str = ""
    falls_off: str = ""
    late: bool = False
    frees: tuple[int, int | None] | None = None
    awaits: tuple[int, int | None] | None = None


@dataclass(frozen=True, kw_only=True)
class BenchWork:
    """Writes the steps of one hung source."""

    job: Job
    number: int
    source: HungSource
    pieces: Sequence[Piece]
    ids: Ids
    say: Wording = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "say", Wording(job=self.job))

    def drafts(self) -> list[Draft]:
        """All steps: what can be done at once, then what waits for other tiles' wood."""
        early = [b for b in self.source.boards if self._hung_before_cuts(b)]
        after = [b for b in self.source.boards if b.state in ("moved", "added") and b not in early]
        after.sort(key=self._foreign)
        steps = [self._name_parts(), *self._marks(), *self._unscrew()]
        steps += self._share()
        steps += [self._rehang(board) for board in early]
        steps += self._new_screws()
        steps += [self._cut(n) for n in range(len(self.source.tile.tree.cuts))]
        late = False
        for board in after:
            late = late or self._foreign(board)
            steps.append(replace(self._rehang(board), late=late))
        closing = [*self._drill(), *self._seal(), *self._put_away()]
        return steps + [replace(step, late=late) for step in closing]

    # --- before the saw

    def _name_parts(self) -> Draft:
        tile = self.source.tile
        names = listed([f"{self.ids.piece(n)} ({self._place_of(n)})" for n in tile.pieces])
        alike = f" Make {tile.uses} alike." if tile.uses > 1 else ""
        flags = [self.ids.piece(n) for n in tile.pieces if chiral(self.pieces[n].shape)]
        flag = f" {listed(flags)} must not be made as in a mirror: heed the face named in every step." if flags else ""
        text = (
            f"Lay the tile face up, ends left and right. Chalk H on both edges at the corner near you on the left: the "
            f"home corner. Write the number on each part: {names}.{alike}{flag}"
        )
        return self._draft("mark", "bench", "up", text, self.job.rules.rate_label * len(tile.pieces))

    def _place_of(self, number: int) -> str:
        piece = self.pieces[number]
        area = f"{self.job.areas[piece.area].name}, " if len(self.job.areas) > 1 else ""
        return f"{area}row {piece.row + 1}, place {piece.col + 1}"

    def _marks(self) -> list[Draft]:
        """Lines that no fence sets: their marks, all measured on the uncut tile."""
        steps = []
        for n, cut in enumerate(self.source.tile.tree.cuts):
            if cut.fence is not None:
                continue
            path = self._marked_path(cut)
            marks = "; ".join(self.say.mark(p) for p in path)
            kind = "Join the two marks" if len(path) == 2 else "Join the marks in this order"
            face: Literal["up", "down"] = "down" if cut.saw == "jigsaw" else "up"
            text = f"Mark cut {n + 1} with the tile face {face}: {marks}. {kind}; the wood of {self._name(cut)} is kept."
            steps.append(self._draft("mark", "bench", face, text, self.job.rules.rate_mark * len(path) / 2, cut=n + 1))
        return steps

    def _marked_path(self, cut: SawCut) -> tuple[Point, ...]:
        """The line as it is marked on the uncut tile: for a through-cut from side to side of the tile."""
        shape = self.source.tile.pattern.places[cut.place].shape
        for a, b in shape.chords:
            ends = [_off_line(p, a, b) for p in cut.path]
            if len(cut.path) == 2 and max(ends) < 4:
                return a, b
        return cut.path

    def _unscrew(self) -> list[Draft]:
        """Screws out, backer by backer; a backer that loses all of them comes off."""
        steps = []
        for backer in self.job.tile.backers:
            own = [s.id for s in self.job.tile.screws if s.backer == backer.id]
            out = [s for s in own if s in self.source.screws_out]
            if not out:
                continue
            name = f"T{self.number + 1}.b{backer.id}"
            if len(out) == len(own):
                text = f"Take out all {len(out)} screws of backer {backer.id} and lift it off. Write {name} on it."
            else:
                text = f"Take out {len(out)} screws of backer {backer.id}: {listed(out)}."
            steps.append(
                self._draft(
                    "unscrew", "bench", "down", f"Tile face down. {text}",
                    self.job.rules.rate_screw_out * len(out), screws=tuple(out),
                    frees=(self.number, backer.id) if len(out) == len(own) else None,
                )
            )  # fmt: skip
        return steps

    def _hung_before_cuts(self, board: Board) -> bool:
        """Own wood that no cut has to free is hung first, so that nothing loose is sawn."""
        wood = board.wood
        return board.state == "moved" and wood is not None and wood.source == self.number and not wood.sawn_free

    def _foreign(self, board: Board) -> bool:
        return board.wood is not None and board.wood.source != self.number

    def _rehang(self, board: Board) -> Draft:
        seat, shape = board.seat, self._shape(board.place)
        driven = [s for s in self.source.screwed if self.source.boards[s.board] is board]
        wood = board.wood
        origin = "a bought backer" if wood is None else f"backer {board.name}"
        full = next((b.v for b in self.job.tile.backers if wood and b.id == wood.backer), self.job.tile.backers[0].v)
        cut_to = f", cut to {self.say.length(seat.length)}," if seat.length < full[1] - full[0] else ""
        low, high = sorted([self.say.from_side(v, shape) for v in seat.span], key=len)
        text = (
            f"Face down. Hang {origin}{cut_to} under {self._piece(board.place)}: its centre line "
            f"{self.say.from_end(seat.u, shape)}, its ends {low} and {high}. Drive {len(driven)} screws"
            f"{self._predrill(driven)}."
        )
        minutes = self.job.rules.rate_backer + self._driving(driven)
        awaits = None if wood is None else (wood.source, None if wood.sawn_free else wood.backer)
        return self._draft(
            "re-hang", "bench", "down", text, minutes, backer=board.name, pieces=(board.place,), awaits=awaits
        )

    def _predrill(self, driven: Sequence[Screwed]) -> str:
        narrow = sorted({f"{s.fragment.slat}" for s in driven if s.drive.predrilled})
        return f"; predrill those in the narrow slat {listed(narrow)}" if narrow else ""

    def _driving(self, driven: Sequence[Screwed]) -> float:
        rules = self.job.rules
        return sum(rules.rate_screw_new if s.drive.predrilled else rules.rate_screw_in for s in driven)

    def _share(self) -> list[Draft]:
        """The last two slats share what a rip leaves: off, the inner one ripped, and back before the cut."""
        steps = []
        for p, place in enumerate(self.source.tile.pattern.places):
            share = place.fit.share
            if share is None:
                continue
            gap = max(share.outer.v[0] - share.inner.v[1], share.inner.v[0] - share.outer.v[1])
            low = share.inner.v[0] < share.outer.v[0]
            edge = share.inner.v[0] if low else share.inner.v[1]
            text = (
                f"Slats {share.inner.id} and {share.outer.id} share what the cut leaves. Lift both off. Rip slat "
                f"{share.inner.id} to {self.say.length(share.width)}. Lay it back with its whole edge where it was, "
                f"{self.say.from_side(edge, place.shape)}, and slat {share.outer.id} beside it with the usual gap of "
                f"{self.say.length(gap)}. Their screws follow."
            )
            minutes = 2 * self.job.rules.rate_backer + self.job.rules.rate_table_saw + self.job.rules.rate_setup
            steps.append(self._draft("screw", "bench", "down", text, minutes, pieces=(p,)))
        return steps

    def _new_screws(self) -> list[Draft]:
        """Screws that go in anew through backers that stay."""
        steps = []
        for number, board in enumerate(self.source.boards):
            new = [s for s in self.source.screwed if s.board == number and s.drive.screw is None]
            if board.state in ("moved", "added") or not new:
                continue
            shape = self._shape(board.place)
            spots = listed(
                [f"{self.say.from_end(s.drive.at[0], shape)} and {self.say.from_side(s.drive.at[1], shape)}" for s in new]
            )
            text = (
                f"Face down. Through backer {board.name} under {self._piece(board.place)} drive {len(new)} screws anew "
                f"into slat {new[0].fragment.slat}{self._predrill(new)}: {spots}."
            )
            minutes = self._driving(new)
            steps.append(
                self._draft("screw", "bench", "down", text, minutes, backer=board.name, pieces=(board.place,))
            )
        return steps

    # --- at the saw

    def _cut(self, n: int) -> Draft:
        cut = self.source.tile.tree.cuts[n]
        rules = self.job.rules
        station: Station = STATIONS[cut.saw]  # type: ignore[assignment]
        kept, away = self._name(cut), self.ids.part(self.number, cut.right)
        falls = f"{away} falls off" if away else "only dust falls off"
        if cut.fence is not None and cut.datum is not None and cut.size is not None:
            rest = cut.size - cut.fence - cut.kerf
            near, far = (kept, away) if cut.kept_at_fence else (away, kept)
            text = (
                f"Face up. Fence at {self.say.length(cut.fence)}, the {SIDES[cut.datum]} along it: {near or 'waste'} runs "
                f"between fence and blade. Saw right through; {far or 'dust'} is free on the other side."
            )
            terms = [cut.fence, cut.kerf, rest] if rest > 0 else [cut.fence, cut.size - cut.fence]
            total = " + ".join(self.say.length(x, unit=False) for x in terms)
            return self._draft(
                "cut", station, "up", text, rules.rate_table_saw, cut=n + 1, pieces=(cut.place,),
                setup=Setup(fence=mm(cut.fence), datum=cut.datum), sum=f"{total} = {self.say.length(cut.size, unit=False)}",
                falls_off=falls, frees=self._frees_after(n),
            )  # fmt: skip
        notch = len(cut.path) > 2
        face: Literal["up", "down"] = "down" if cut.saw == "jigsaw" else "up"
        how = "Saw along the marked line into each inside corner" if notch else "Clamp the guide along the marked line"
        text = f"Face {face}. Cut {n + 1}: {how}; the blade runs beside the line, in the waste, never in {kept}."
        rate = rules.rate_jigsaw if cut.saw == "jigsaw" else rules.rate_guided_saw
        return self._draft(
            "cut", station, face, text, rate, cut=n + 1, pieces=(cut.place,), falls_off=falls,
            frees=self._frees_after(n),
        )  # fmt: skip

    def _frees_after(self, n: int) -> tuple[int, int | None] | None:
        """The last cut frees the stretches of backers that were sawn off."""
        return (self.number, None) if n == len(self.source.tile.tree.cuts) - 1 else None

    def _name(self, cut: SawCut) -> str:
        """The piece that a cut is for."""
        return self._piece(cut.place)

    # --- after the saw

    def _drill(self) -> list[Draft]:
        steps = []
        for p, stands in enumerate(self.source.stands):
            new = [stand for stand in stands if stand.state == "drilled"]
            if new:
                steps.append(self._holes(p, new))
        return steps

    def _holes(self, p: int, new: list[Stand]) -> Draft:
        shape, tile = self._shape(p), self.job.tile
        spots = listed([f"{self.say.from_end(s.hole[0], shape)} and {self.say.from_side(s.hole[1], shape)}" for s in new])
        diameter = self.say.length(tile.pin_holes[0].diameter)
        text = (
            f"Face down. Drill {len(new)} pin hole{'s' * (len(new) > 1)} of {diameter} right through the backer of "
            f"{self._piece(p)}, not the slat; a support is the guide: {spots}."
        )
        holes = tuple(stand.hole for stand in new)
        return self._draft("drill", "drill", "down", text, self.job.rules.rate_hole * len(new), pieces=(p,), holes=holes)

    def _seal(self) -> list[Draft]:
        steps = []
        slat = self.job.tile.slat_thickness
        for p in range(len(self.source.tile.pieces)):
            ends = [end for end in self.source.sealed if end.place == p]
            slats = sum(end.thickness == slat for end in ends)
            parts = [f"{slats} slat end{'s' * (slats > 1)}"] * bool(slats)
            backers = len(ends) - slats
            parts += [f"{backers} backer end{'s' * (backers > 1)}"] * bool(backers)
            if parts:
                text = f"Seal the sawn ends of {self._piece(p)} the same day: {listed(parts)}."
                steps.append(self._draft("seal", "brush", "down", text, self.job.rules.rate_seal, pieces=(p,)))
        return steps

    def _put_away(self) -> list[Draft]:
        steps = []
        for p, number in enumerate(self.source.tile.pieces):
            text = f"Check the number on {self.ids.piece(number)} and its arrow, stack it for {self._place_of(number)}."
            steps.append(self._draft("label", "bench", "up", text, self.job.rules.rate_label, pieces=(p,)))
        racked = [self.ids.part(self.number, rest.part) for rest in self.source.rests if rest.keep]
        if racked:
            text = f"Write {listed(racked)} on the offcut{'s' * (len(racked) > 1)} and put on the rack."
            steps.append(self._draft("rack", "bench", "up", text, self.job.rules.rate_label))
        return steps

    # --- names

    def _shape(self, place: int) -> Shape:
        return self.source.tile.pattern.places[place].shape

    def _piece(self, place: int) -> str:
        return self.ids.piece(self.source.tile.pieces[place])

    def _draft(
        self, do: Do, station: Station, face: Literal["up", "down"], text: str, minutes: float, **more: object
    ) -> Draft:
        places = more.pop("pieces", tuple(range(len(self.source.tile.pieces))))
        pieces = tuple(dict.fromkeys(self.source.tile.pieces[p] for p in places))  # type: ignore[attr-defined]
        return Draft(
            source=self.number, pieces=pieces, station=station, face=face, do=do, text=text, minutes=minutes, **more  # type: ignore[arg-type]
        )


def _off_line(p: Point, a: Point, b: Point) -> float:
    """Distance of a point from the line through two, ticks."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    return abs(dx * (p[1] - a[1]) - dy * (p[0] - a[0])) / max((dx * dx + dy * dy) ** 0.5, 1.0)


def chiral(shape: Shape) -> bool:
    """Whether a piece differs from its mirror image however it is turned on the spot by halves."""
    u0, v0, u1, v1 = extent(shape.outline)
    ring = {(u - u0, v - v0) for u, v in shape.outline}
    wide, high = u1 - u0, v1 - v0
    flipped = {(wide - u, v) for u, v in ring}
    upside = {(u, high - v) for u, v in ring}
    return ring not in (flipped, upside)
