"""What the page says, worked out of the plan: cards, steps, fence settings, laying order, open parts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from cutopt.book.drawings.drawing import Drawing
from cutopt.book.drawings.rings import box_of
from cutopt.book.drawings.sides import SIDE_NAMES
from cutopt.book.drawings.siteplan import OpenPart, open_parts
from cutopt.book.drawings.tiledrawing import bench_drawing, faces
from cutopt.book.words import printed
from cutopt.book.words.hardware import HardwareLine, hardware_lines
from cutopt.planfile.model import Area, Cell, Piece, Plan, Source, Step

WIDE_SHEET = 105.0  # sheet mm
MOST_BOXES = 12  # tick boxes of a step; the copies of more than that are counted in a field


@dataclass(frozen=True, kw_only=True, slots=True)
class Wait:
    """A step of another card that must be done first, and that card."""

    step: int
    source: str


@dataclass(frozen=True, kw_only=True, slots=True)
class StepLine:
    """A step as printed; `after` names only steps of its own card that are not simply the one above.

    `copies` are those that the line stands for, each with a box of its own. `goes` says what falls off and where it
    goes.
    """

    step: Step
    copies: tuple[int, ...]
    after: tuple[int, ...]
    waits: tuple[Wait, ...]
    goes: str

    @property
    def counted(self) -> bool:
        """Whether the copies are too many for boxes."""
        return len(self.copies) > MOST_BOXES


@dataclass(frozen=True, kw_only=True, slots=True)
class PieceLine:
    """A piece of a card: where it goes."""

    piece: Piece
    order: int | None
    area: str
    count: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Card:
    """One source: drawings beside steps."""

    source: Source
    origin: str
    drawings: tuple[Drawing, ...]
    pieces: tuple[PieceLine, ...]
    steps: tuple[StepLine, ...]
    hardware: tuple[HardwareLine, ...]
    minutes: str

    @property
    def boxes(self) -> int:
        """How many ticks finish it."""
        return sum(len(line.copies) for line in self.steps)

    @property
    def wide(self) -> bool:
        """Whether its drawings need the page's whole width."""
        return any((one.box[2] - one.box[0]) / one.scale > WIDE_SHEET for one in self.drawings)

    @property
    def waits_for(self) -> tuple[Wait, ...]:
        """What other cards must have done before this one can be finished, each card once."""
        return tuple({wait.source: wait for line in self.steps for wait in line.waits}.values())


@dataclass(frozen=True, kw_only=True, slots=True)
class Setting:
    """One fence setting and the cuts made at it, in the order of the steps; each with its side where these differ."""

    station: str
    face: str
    distance: str
    datum: str
    cuts: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Turn:
    """One line of the laying order: a piece, or a run of whole tiles. `first` is the turn of its first cell."""

    first: int
    orders: str
    words: str
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenLine:
    """A part that stays open: about how large, and why."""

    part: OpenPart
    size: str


def cards(plan: Plan, sources: Sequence[Source] | None = None, *, drawn: bool = True) -> tuple[Card, ...]:
    """A card for each of the `sources`, all in their order if not given; in words alone where it is not `drawn`."""
    whole = Whole(plan)
    return tuple(_card(whole, source, drawn=drawn) for source in (in_order(plan) if sources is None else sources))


def in_order(plan: Plan) -> tuple[Source, ...]:
    """The sources in the order of their first steps."""
    first = {step.source: step.n for step in reversed(plan.steps)}
    return tuple(sorted(plan.sources, key=lambda source: first.get(source.id, len(plan.steps) + 1)))


def card_of(plan: Plan, source: Source) -> Card:
    """The card of one source in words alone."""
    return _card(Whole(plan), source, drawn=False)


class Whole:
    """What a card wants to know of the whole plan, looked up once for all cards."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._pieces = {piece.id: piece for piece in plan.pieces}
        self._steps: dict[str, list[Step]] = {}
        for step in plan.steps:
            self._steps.setdefault(step.source, []).append(step)
        self.of_step = {step.n: step.source for step in plan.steps}
        self.orders = {name: cell.order for area in plan.areas for cell in area.cells for name in cell.pieces}
        self.several = len(plan.areas) > 1

    def about(self, source: Source) -> Plan:
        """The plan with the steps and pieces of one source alone: a card needs no others, and walks over all it has."""
        names = dict.fromkeys(placement.piece for placement in source.placements)
        return self._plan.model_copy(
            update={
                "sources": (source,),
                "steps": tuple(self._steps.get(source.id, ())),
                "pieces": tuple(self._pieces[name] for name in names if name in self._pieces),
            }
        )


def settings(plan: Plan) -> tuple[Setting, ...]:
    """Steps that set a fence, those in a row at which it stays as it stands together: home and far side alike."""
    steps = [(step, step.setup) for step in plan.steps if step.setup is not None and step.do == "cut"]
    found = []
    for _, group in groupby(steps, key=lambda pair: (pair[0].station, pair[0].face, pair[1].fence, pair[1].datum[0])):
        run = list(group)
        (first, setup), datums = run[0], dict.fromkeys(SIDE_NAMES[setup.datum] for _, setup in run)
        several = len(datums) > 1
        cuts = (f"{_what(step)} ({SIDE_NAMES[at.datum]})" if several else _what(step) for step, at in run)
        found.append(
            Setting(
                station=first.station,
                face=first.face,
                distance=printed.with_unit(setup.fence, plan.job.show),
                datum=" or the ".join(datums),
                cuts=tuple(dict.fromkeys(cuts)),
            )
        )
    return tuple(found)


def _what(step: Step) -> str:
    """What is sawn at a setting: a cut of a tile, or a board alone."""
    if step.cut is not None:
        return f"{step.source} cut {step.cut}"
    return f"backer {step.backer}" if step.backer is not None else f"{step.source} slat alone"


def laying(plan: Plan, area: Area) -> tuple[Turn, ...]:
    """The cells in their order; whole tiles that follow each other on one line."""
    fits = {piece.id: piece.fit for piece in plan.pieces}
    cells = sorted((cell for cell in area.cells if cell.kind != "left"), key=lambda cell: cell.order)
    turns = []
    for plain, group in groupby(cells, key=lambda cell: cell.kind == "whole" and not cell.liftable):
        run = list(group)
        turns += [_run(run)] if plain else [_turn(cell, fits) for cell in run]
    return tuple(turns)


def open_lines(plan: Plan) -> tuple[OpenLine, ...]:
    """Every part that stays open, with its letter and size."""
    found = []
    for part in open_parts(plan):
        left, bottom, right, top = box_of(part.left.outline)
        unit = plan.job.show
        size = f"{printed.length(right - left, unit)} × {printed.length(top - bottom, unit)} {unit}"
        found.append(OpenLine(part=part, size=size))
    return tuple(found)


def _card(whole: Whole, source: Source, *, drawn: bool) -> Card:
    plan = whole.about(source)
    pieces = {piece.id: piece for piece in plan.pieces}
    names = [placement.piece for placement in source.placements if placement.piece in pieces]
    made_of = source.from_.removeprefix("stock:")
    return Card(
        source=source,
        origin="a new tile" if source.from_ == "new" else f"offcut {made_of} from the rack",
        drawings=tuple(bench_drawing(plan, source, face) for face in faces(plan, source)) if drawn else (),
        pieces=tuple(
            PieceLine(
                piece=pieces[name],
                order=whole.orders.get(name),
                area=pieces[name].area if whole.several else "",
                count=count,
            )
            for name, count in Counter(names).items()
        ),
        steps=_steps(plan.steps, source, whole.of_step),
        hardware=hardware_lines(plan, source),
        minutes=printed.minutes(source.minutes),
    )


def _steps(steps: Sequence[Step], source: Source, of_step: Mapping[int, str]) -> tuple[StepLine, ...]:
    """The first copy's steps with a box for each copy where all copies read alike, else every copy's."""
    copies = sorted({step.copy_ for step in steps})
    by_copy = [[step for step in steps if step.copy_ == copy] for copy in copies]
    alike = all([step.text for step in run] == [step.text for step in by_copy[0]] for run in by_copy)
    shown = by_copy[0] if by_copy and alike else list(steps)
    lines, above = [], 0
    for step in shown:
        others = [n for n in step.after if of_step.get(n, source.id) != source.id]
        lines.append(
            StepLine(
                step=step,
                copies=tuple(range(1, source.uses + 1)) if alike else (step.copy_,),
                after=tuple(n for n in step.after if n != above and n not in others),
                waits=tuple(Wait(step=n, source=of_step[n]) for n in others),
                goes=_goes(source, step),
            )
        )
        above = step.n
    return tuple(lines)


def _goes(source: Source, step: Step) -> str:
    """What falls off at a cut and where each part goes, the step's own words first."""
    cut = next((cut for cut in source.cuts if step.do == "cut" and cut.n == step.cut), None)
    if cut is None:
        return step.falls_off
    offcuts = {offcut.id: offcut for offcut in source.offcuts}
    later = {other.part: other.n for other in source.cuts}
    said, others = step.falls_off, ""
    for part in cut.into:
        where = ""
        if part in offcuts:
            where = "to the rack" if offcuts[part].keep else "to the waste"
        elif part in later:
            where = f"on to cut {later[part]}"
        told = part in offcuts and where.split()[-1] in step.falls_off
        if where and step.falls_off.startswith(f"{part} ") and not told:
            said += f", {where}"
        elif where and not told:
            others += f"; {part} {where}"
    return (said + others).removeprefix("; ")


def _run(cells: Sequence[Cell]) -> Turn:
    first, last = cells[0].order, cells[-1].order
    orders = str(first) if first == last else f"{first}–{last}"
    return Turn(
        first=first, orders=orders, words="whole tile" if len(cells) == 1 else f"{len(cells)} whole tiles", notes=()
    )


def _turn(cell: Cell, fits: Mapping[str, str]) -> Turn:
    words = " + ".join(cell.pieces) if cell.kind == "cut" else "whole tile"
    return Turn(first=cell.order, orders=str(cell.order), words=words, notes=tuple(_notes(cell, fits)))


def _notes(cell: Cell, fits: Mapping[str, str]) -> Iterable[str]:
    if any(fits.get(name) == "scribe" for name in cell.pieces):
        yield "scribe: cut after its neighbours lie"
    if cell.liftable:
        yield "can be lifted, over a drain"
    if cell.quarter_turn:
        yield "a quarter turn"
