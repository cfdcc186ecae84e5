"""One card of the plan as text of 80 columns: a tile with its drawings and steps, a piece, or a cell."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator

from cutopt.book.drawings.rings import box_of
from cutopt.book.drawings.sides import SIDE_NAMES
from cutopt.book.drawings.tiledrawing import faces
from cutopt.book.terminal.textdrawing import LEGEND, text_drawing
from cutopt.book.words import printed
from cutopt.book.words.contents import Card, StepLine, card_of, cards
from cutopt.errors import BadInput, Mistake
from cutopt.planfile.model import Area, Cell, Piece, Plan, Source

WIDTH = 79
CELL = re.compile(r"(?:row\s*)?(\d+)\s*(?:,|/|\s)\s*(?:place\s*)?(\d+)", re.IGNORECASE)
BANDS = {"up": "FACE UP", "down": "FACE DOWN: left and right have changed places"}


def shown(plan: Plan, name: str, file: str) -> str:
    """The card of a tile (T3), a piece (P5) or a cell (3,2: row and place, counted from the start corner).

    Raises `BadInput` where the plan, read from `file`, has no such thing.
    """
    wanted = name.strip()
    for source in plan.sources:
        if source.id.lower() == wanted.lower():
            return _lines(_tile(plan, source))
    for piece in plan.pieces:
        if piece.id.lower() == wanted.lower():
            return _lines(_piece(plan, piece))
    found = CELL.fullmatch(wanted)
    cells = _cells(plan, int(found[1]), int(found[2])) if found else []
    if cells:
        return _lines(line for area, cell in cells for line in _cell(plan, area, cell))
    raise BadInput([Mistake(file=file, key="", value=printed.short(wanted, 40), rule=_rule(plan), remedy=REMEDY)])


REMEDY = "name one of these, or name none for a list of all tiles"


def contents(plan: Plan) -> str:
    """A line a tile: its pieces, where they go, its minutes."""
    where = {piece.id: piece for piece in plan.pieces}
    lines = []
    for card in cards(plan, drawn=False):
        alike = f" x {card.source.uses}" if card.source.uses > 1 else ""
        pieces = "; ".join(f"{line.piece.id} {_place(plan, where[line.piece.id])}" for line in card.pieces)
        lines += _filled(f"{card.source.id}{alike}  {card.origin}, {card.minutes}: {pieces}", 6, 0)
    return _lines(lines)


def _rule(plan: Plan) -> str:
    """What there is to name."""
    tiles, pieces = [source.id for source in plan.sources], [piece.id for piece in plan.pieces]
    some = [f"{kind} {names[0]} to {names[-1]}" for kind, names in (("tiles", tiles), ("pieces", pieces)) if names]
    return f"the plan has {', '.join([*some, 'and cells, such as 1,1 for row 1, place 1'])}"


def _tile(plan: Plan, source: Source) -> Iterator[str]:
    """A tile's card."""
    card = card_of(plan, source)
    alike = f", {source.uses} alike" if source.uses > 1 else ""
    yield from _filled(f"{source.id}: from {card.origin}{alike}, {card.minutes}", 2, 0)
    for line in card.pieces:
        yield from _filled(f"{line.piece.id}  {_place(plan, line.piece)}, {_turn(plan, line.piece)}", 6, 2)
    for face in faces(plan, source):
        yield ""
        yield BANDS[face]
        yield from text_drawing(plan, source, face)
    yield ""
    yield from _filled(LEGEND, 0, 0)
    yield ""
    yield from _steps(card)


def _steps(card: Card) -> Iterator[str]:
    """Its steps, each with a box to tick on paper."""
    for line in card.steps:
        step = line.step
        head = f"[ ] {step.n:>3}  {step.station}, face {step.face}: "
        yield from _filled(f"{head}{step.text}", 9, 0)
        for note in _notes(line):
            yield from _filled(note, 9, 9)


def _notes(line: StepLine) -> Iterator[str]:
    if line.step.sum:
        yield f"check: {line.step.sum}"
    if line.goes:
        yield f"falls off: {line.goes}"
    for wait in line.waits:
        yield f"wait for step {wait.step}, of {wait.source}"


def _piece(plan: Plan, piece: Piece) -> Iterator[str]:
    """A piece's facts, and the card of the tile that it is cut from."""
    left, bottom, right, top = box_of(piece.outline)
    unit = plan.job.show
    size = f"{printed.length(right - left, unit)} x {printed.length(top - bottom, unit)} {unit}"
    fixed = ", ".join(name for side, name in SIDE_NAMES.items() if side in piece.fixed_sides)
    fit = "scribed: cut after its neighbours lie" if piece.fit == "scribe" else "cut in the shop"
    yield from _filled(f"{piece.id}: {_place(plan, piece)}, {_turn(plan, piece)}", 2, 0)
    yield from _filled(f"about {size} in its box, {fit}", 2, 2)
    yield from _filled(f"against neighbours: {fixed}" if fixed else "no side against a neighbour", 2, 2)
    if piece.chiral:
        yield from _filled("differs from its mirror image: heed the face named in every step", 2, 2)
    yield ""
    for source in plan.sources:
        if any(placement.piece == piece.id for placement in source.placements):
            yield from _tile(plan, source)


def _cells(plan: Plan, row: int, place: int) -> list[tuple[Area, Cell]]:
    """The cells in a row and place, one an area, counted from 1."""
    return [(area, cell) for area in plan.areas for cell in area.cells if (cell.row + 1, cell.col + 1) == (row, place)]


def _cell(plan: Plan, area: Area, cell: Cell) -> Iterator[str]:
    """A cell: what lies in it, what stays open, and the card of each of its pieces."""
    kinds = {"whole": "a whole tile", "cut": " + ".join(cell.pieces), "left": "stays open"}
    order = f", {cell.order} in the laying order" if cell.kind != "left" else ""
    turned = ", a quarter turn" if cell.quarter_turn else ""
    lift = ", can be lifted over a drain" if cell.liftable else ""
    where = f"{printed.short(area.name, 40)}, row {cell.row + 1}, place {cell.col + 1}"
    yield from _filled(f"{where}: {kinds[cell.kind]}{turned}{order}{lift}", 2, 0)
    for left in cell.left:
        yield from _filled(f"a part stays open: {left.why} ({left.rule})", 4, 2)
    pieces = {piece.id: piece for piece in plan.pieces}
    for name in cell.pieces:
        yield ""
        yield from _piece(plan, pieces[name])


def _place(plan: Plan, piece: Piece) -> str:
    area = f"{printed.short(piece.area, 40)}, " if len(plan.areas) > 1 else ""
    return f"{area}row {piece.row + 1}, place {piece.col + 1}"


def _turn(plan: Plan, piece: Piece) -> str:
    """Its turn in the laying order."""
    orders = [
        cell.order
        for area in plan.areas
        if area.name == piece.area
        for cell in area.cells
        if (cell.row, cell.col) == (piece.row, piece.col)
    ]
    return f"{orders[0]} in the laying order" if orders else "not in the laying order"


def _filled(words: str, indent: int, first: int) -> list[str]:
    """The words in lines of at most 79 columns; control characters and markup stay texts."""
    clean = "".join(sign if sign.isprintable() else " " for sign in words)
    return textwrap.wrap(
        clean, WIDTH, initial_indent=" " * first, subsequent_indent=" " * indent, break_on_hyphens=False
    )


def _lines(lines: Iterator[str] | list[str]) -> str:
    return "\n".join(line.rstrip() for line in lines)
