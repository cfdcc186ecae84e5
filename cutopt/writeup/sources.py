"""Sources of the plan file: placements, cuts, hardware and what is left over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely

from cutopt.cut import SawCut
from cutopt.geometry import polygon
from cutopt.hang import Board, HungSource, Rest, Screwed
from cutopt.hang.hanging import left_hardware
from cutopt.job.records import Job
from cutopt.planfile import model
from cutopt.planfile.model import Step
from cutopt.work import Ids
from cutopt.writeup.mm import outline, point

ScrewState = Literal["kept", "moved", "added"]


@dataclass(frozen=True, kw_only=True)
class SourceWriter:
    """Writes one hung source; `steps` are its own."""

    number: int
    source: HungSource
    ids: Ids
    job: Job
    steps: Sequence[Step]

    def record(self) -> model.Source:
        """The source with all its hardware in its tile frame."""
        source = self.source
        return model.Source(
            id=self.ids.source(self.number),
            from_="new" if source.tile.offcut is None else f"stock:{source.tile.offcut.id}",
            uses=source.tile.uses,
            outline=outline(source.tile.outline(self.job.tile)),
            placements=tuple(
                model.Placement(piece=self._piece(p), half_turn=place.half_turn, shift=point(place.shift))
                for p, place in enumerate(source.tile.pattern.places)
            ),
            cuts=tuple(self._cut(n, cut) for n, cut in enumerate(source.tile.tree.cuts, start=1)),
            backers=tuple(self._board(board) for board in source.boards),
            slats=tuple(
                model.Fragment(
                    piece=self._piece(p), slat=f.slat, outline=outline(f.outline),
                    state="shared" if f.shared else "kept",
                )
                for p, place in enumerate(source.tile.pattern.places)
                for f in place.fit.fragments
            ),
            screws=tuple(self._screw(screwed) for screwed in source.screwed),
            screws_out=source.screws_out,
            pin_holes=self._holes(),
            sealed=tuple(
                model.Sealed(piece=self._piece(end.place), path=outline(end.line), thickness=end.thickness / 320)
                for end in source.sealed
            ),
            offcuts=tuple(self._offcut(rest) for rest in source.rests),
            minutes=round(sum(step.minutes for step in self.steps), 3),
            least_work=all(place.fit.least for place in source.tile.pattern.places),
        )  # fmt: skip

    def _piece(self, place: int) -> str:
        return self.ids.piece(self.source.tile.pieces[place])

    def _cut(self, n: int, cut: SawCut) -> model.Cut:
        return model.Cut(
            n=n,
            part=self.ids.part(self.number, cut.part),
            into=(self.ids.part(self.number, cut.left), self.ids.part(self.number, cut.right)),
            piece=self._piece(cut.place),
            saw=cut.saw,
            kerf=cut.kerf / 320,
            path=outline(cut.path),
            closed=cut.closed,
            waste_side="right",
            arc=_arc(cut),
        )

    def _board(self, board: Board) -> model.Backer:
        seat, wood = board.seat, board.wood
        origin = None
        if wood is not None:
            origin = model.Wood(source=self.ids.source(wood.source), backer=wood.backer, span=point(wood.span))
        return model.Backer(
            id=board.name,
            piece=self._piece(board.place),
            from_=origin,
            line=outline(seat.line),
            width=seat.width / 320,
            state=board.state,
        )

    def _screw(self, screwed: Screwed) -> model.Screw:
        board, drive = self.source.boards[screwed.board], screwed.drive
        state: ScrewState = "kept" if drive.screw else "added" if board.wood is None else "moved"
        return model.Screw(
            piece=self._piece(board.place), slat=screwed.fragment.slat, backer=board.name,
            u=drive.at[0] / 320, v=drive.at[1] / 320, state=state,
        )  # fmt: skip

    def _holes(self) -> tuple[model.PinHole, ...]:
        found = []
        for p, stands in enumerate(self.source.stands):
            boards = [board for board in self.source.boards if board.place == p]
            found += [
                model.PinHole(
                    piece=self._piece(p),
                    backer=boards[s.seat].name,
                    u=s.hole[0] / 320,
                    v=s.hole[1] / 320,
                    state=s.state,
                )
                for s in stands
            ]
        return tuple(found)

    def _offcut(self, rest: Rest) -> model.Offcut:
        tile, ring = self.job.tile, polygon(rest.outline)
        seats, screws = left_hardware(rest, self.source, tile, self.job.rules)
        off = self.source.tile.pattern.shared
        slats = [
            (slat, ring.intersection(shapely.box(-1, slat.v[0], tile.length + 1, slat.v[1]))) for slat in tile.slats
        ]
        held = {(seat.backer, seat.span) for seat in seats}
        return model.Offcut(
            id=self.ids.part(self.number, rest.part),
            outline=outline(rest.outline),
            keep=rest.keep,
            slats=tuple(
                model.TileSlat(id=slat.id, v=(round(part.bounds[1]) / 320, round(part.bounds[3]) / 320))
                for slat, part in slats
                if part.area > 0 and slat.id not in off
            ),
            backers=tuple(
                model.TileBacker(id=s.backer or 0, u=s.u / 320, width=s.width / 320, v=point(s.span)) for s in seats
            ),
            screws=tuple(
                model.TileScrew(id=s.id, slat=s.slat, backer=s.backer, u=s.at[0] / 320, v=s.at[1] / 320)
                for s in tile.screws
                if s.id in screws
            ),
            pin_holes=tuple(
                model.TileHole(id=h.id, backer=h.backer, u=h.at[0] / 320, v=h.at[1] / 320, diameter=h.diameter / 320)
                for h in tile.pin_holes
                if any(b == h.backer and low <= h.at[1] <= high for b, (low, high) in held)
                and ring.covers(shapely.Point(h.at))
            ),
        )


def _arc(cut: SawCut) -> model.Arc | None:
    """The arc of a round notch."""
    if cut.centre is None or cut.radius is None:
        return None
    return model.Arc(centre=point(cut.centre), radius=cut.radius / 320)
