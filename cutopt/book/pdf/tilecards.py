"""One card a tile: drawings, hardware, steps. As many to a page as fit; a long one goes on with its title repeated.

Three ways to lay a card out, the first that suits it is taken: narrow, two beside each other, where it is no higher
than half a page; in two columns with its one drawing at the head of the first; with two drawings, or a wide one, above
steps in two columns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cutopt.book.drawings.drawing import Drawing
from cutopt.book.drawings.styles import BLACK, Style
from cutopt.book.pdf import fonts
from cutopt.book.pdf.blocks import (
    BODY,
    KEY,
    NOTE,
    Block,
    Row,
    block,
    cells,
    column_width,
    figure,
    fill,
    parted,
    side_by_side,
    space,
    stack,
    text,
)
from cutopt.book.pdf.direction import isolated
from cutopt.book.pdf.fonts import POINT
from cutopt.book.pdf.ink import Ink
from cutopt.book.pdf.pages import Flow, Paper
from cutopt.book.pdf.rendering import size_of
from cutopt.book.pdf.stepblocks import step_blocks
from cutopt.book.pdf.typeset import BASELINE, Run, run
from cutopt.book.words import printed
from cutopt.book.words.contents import Card, PieceLine

FRAME = Style(stroke=BLACK, width=0.6)
PAD = 2.5  # mm between a card's frame and what is in it
APART = 3.0  # mm between drawings, columns and cards
SAVING = 0.12  # of a card's height, about, what smaller words can save
LEAST = 0.85  # of its own size, a drawing on a narrow card
TITLE = 18 * POINT
HEADS = ("Name", "Do", "Along the slats", "Across them")
HARDWARE = (0.38, 0.28, 0.34)  # what the table's columns after the first share


@dataclass(frozen=True, kw_only=True, slots=True)
class _Body:
    """What is still to be put on a card's pages."""

    hardware: tuple[Block, ...]
    steps: tuple[Block, ...]


def cards_pages(flow: Flow, cards: Sequence[Card], key: str) -> None:
    """All cards in the order of their first steps."""
    flow.begin("The tiles to cut", key)
    waiting: tuple[Card, Row] | None = None  # a narrow card whose neighbour is not known yet
    for card in cards:
        narrow = _narrow(card, flow.paper)
        if waiting and narrow:
            _pair(flow, (waiting[0], card), (waiting[1], narrow))
            waiting = None
            continue
        if waiting:
            _wide(flow, waiting[0])
        waiting = (card, narrow) if narrow else None
        if not narrow:
            _wide(flow, card)
    if waiting:
        _wide(flow, waiting[0])


def _wide(flow: Flow, card: Card) -> None:
    for n, panel in enumerate(_panels(card, flow.paper)):
        flow.put(panel)
        if n == 0:
            flow.mark(_title(card), f"card-{card.source.id}", 1, back=panel.height)
        flow.put(space(min(APART, flow.room)))


def _pair(flow: Flow, cards: tuple[Card, Card], panels: tuple[Row, Row]) -> None:
    half = column_width(flow.paper.wide, 2, APART)
    high = max(panel.height for panel in panels)
    flow.put(side_by_side([(0.0, _framed(panels[0], half, high)), (half + APART, _framed(panels[1], half, high))]))
    for card in cards:
        flow.mark(_title(card), f"card-{card.source.id}", 1, back=high)
    flow.put(space(min(APART, flow.room)))


def _title(card: Card) -> str:
    return f"{card.source.id}: {', '.join(line.piece.id for line in card.pieces)}"


# ways to lay a card out


def _narrow(card: Card, paper: Paper) -> Row | None:
    """The card in half the page's width, unframed; None where it would not go there."""
    width = column_width(paper.wide, 2, APART) - 2 * PAD
    most = (paper.high - APART) / 2
    if any(size_of(drawing)[0] * LEAST > width for drawing in card.drawings):
        return None
    # no letter is narrower than a quarter of its height: what needs more room even so is not laid out in vain
    written = sum(len(line.step.text) for line in card.steps) * BODY * BODY / 4 / width
    if sum(size_of(drawing)[1] * LEAST for drawing in card.drawings) + written > most:
        return None
    parts = [*_head(card, width), *(figure(drawing, width, most) for drawing in card.drawings), space(1.0)]
    blocks = [*_hardware(card, width), *step_blocks(card, width)]
    whole = stack([*parts, *(row for one in blocks for row in one.rows), space(PAD)])
    return whole if whole.height <= most else None


def _panels(card: Card, paper: Paper) -> list[Row]:
    """The card in the page's width: one panel, or one for each page it takes."""
    inner = paper.wide - 2 * PAD
    room = paper.high - PAD
    first, body = _first(card, inner, room)
    panels = [_framed(first, paper.wide, first.height)]
    while body.steps or body.hardware:
        on, body = _continued(card, body, inner, room)
        panels.append(_framed(on, paper.wide, on.height))
    return panels


def _first(card: Card, width: float, room: float) -> tuple[Row, _Body]:
    """The card's first page, and what has no room on it: smaller words where they save a page or half of one."""
    lay_out = _above if len(card.drawings) > 1 or card.wide else _beside
    usual, rest = lay_out(card, width, room, BODY)
    half, over = (room + PAD - APART) / 2, sum(one.height for one in rest.steps) / 2
    if (0.0 < over < SAVING * room) or half < usual.height < half / (1 - SAVING):
        small, left = lay_out(card, width, room, NOTE)
        if not left.steps and (rest.steps or small.height <= half):
            return small, left
    return usual, rest


def _above(card: Card, width: float, room: float, size: float) -> tuple[Row, _Body]:
    """Drawings in a row, the hardware under them, then the steps in two columns."""
    top = [*_head(card, width), _figures(card.drawings, width, room * 0.6), space(1.0)]
    steps = parted(step_blocks(card, column_width(width, 2, APART), size), room - 40.0)
    return _filled(top, _Body(hardware=tuple(_hardware(card, width)), steps=tuple(steps)), width, room)


def _beside(card: Card, width: float, room: float, size: float) -> tuple[Row, _Body]:
    """Two columns: the drawing at the head of the first, its hardware, then the steps down both."""
    head = _head(card, width)
    column = column_width(width, 2, APART)
    fixed = [block(figure(drawing, column, room * 0.6), space(1.0)) for drawing in card.drawings]
    table = _hardware(card, column)
    if table:
        fixed.append(block(stack([row for line in table for row in line.rows]), space(1.5)))  # a table is not parted
    if sum(one.height for one in fixed) > room * 0.8:
        return _above(card, width, room, size)
    steps = parted(step_blocks(card, column, size), room - 40.0)
    filled = fill([*fixed, *steps], 2, room - sum(row.height for row in head) - PAD)
    beside = side_by_side([(0.0, _tower(filled.columns[0])), (column + APART, _tower(filled.columns[1]))])
    return stack([*head, beside, space(PAD)]), _Body(hardware=(), steps=filled.rest)


def _continued(card: Card, body: _Body, width: float, room: float) -> tuple[Row, _Body]:
    """What did not go on the pages before, under the card's title."""
    title = [run(card.source.id, bold=True), run("  continued")]
    return _filled([space(1.0), *text(title, width, TITLE), space(1.5)], body, width, room)


def _filled(top: Sequence[Row], body: _Body, width: float, room: float) -> tuple[Row, _Body]:
    """Hardware across, then steps in two columns, as much of both as has room under `top`."""
    left = room - sum(row.height for row in top)
    table = fill(body.hardware, 1, left)
    rows = [*top, *(row for one in table.columns[0] for row in one.rows)]
    if table.rest:  # it goes on under its heads
        return stack([*rows, space(PAD)]), _Body(hardware=(body.hardware[0], *table.rest), steps=body.steps)
    gap = 1.5 if body.hardware else 0.0
    steps = fill(body.steps, 2, left - table.height - gap)
    column = column_width(width, 2, APART)
    beside = side_by_side([(0.0, _tower(steps.columns[0])), (column + APART, _tower(steps.columns[1]))])
    return stack([*rows, space(gap), beside, space(PAD)]), _Body(hardware=(), steps=steps.rest)


# parts of a card


def _framed(inner: Row, width: float, height: float) -> Row:
    def paint(ink: Ink, left: float, top: float) -> None:
        ink.box(left, top, width, height, FRAME)
        inner.paint(ink, left + PAD, top)

    return Row(height=height, paint=paint)


def _tower(blocks: Sequence[Block]) -> Row:
    return stack([row for one in blocks for row in one.rows])


def _figures(drawings: Sequence[Drawing], width: float, most: float) -> Row:
    """The drawings in a row at one scale, each in its share of the width."""
    sizes = [size_of(drawing) for drawing in drawings]
    room = width - APART * (len(drawings) - 1)
    factor = min(1.0, room / sum(wide for wide, _ in sizes), most / max(high for _, high in sizes))
    spare = (room - factor * sum(wide for wide, _ in sizes)) / len(drawings)
    parts, at = [], 0.0
    for drawing, (wide, _) in zip(drawings, sizes, strict=True):
        share = wide * factor + spare
        parts.append((at, figure(drawing, share, most, factor)))
        at += share + APART
    return side_by_side(parts)


def _head(card: Card, width: float) -> list[Row]:
    """The tile, where it comes from, its pieces and where they go, and what must be heeded before anything else."""
    rows: list[Row] = [space(1.2), *_title_rows(card, width)]
    if card.source.uses > 1:
        rows += text([run(f"MAKE {card.source.uses} ALIKE", flag=True)], width - 1.0, KEY, indent=1.0)
        rows.append(space(0.8))
    for line in card.pieces:
        rows += text(_piece(line), width, KEY)
    if not card.source.least_work:
        words = "That this is the least bench work is not proven: another way of hanging it may take less."
        rows += text([run(words)], width, NOTE)
    for wait in card.waits_for:
        rows += text(
            [run(f"WAITS for wood of {wait.source}, step {wait.step}", flag=True)], width - 1.0, KEY, indent=1.0
        )
        rows.append(space(0.8))
    return [*rows, space(1.2)]


def _title_rows(card: Card, width: float) -> list[Row]:
    """The tile's name, and on the same line, where it goes there, what it is made of and how long it takes."""
    (title,) = text([run(card.source.id, bold=True)], width, TITLE)[:1] or (space(TITLE),)
    start = fonts.width(card.source.id, TITLE, True) + 4.0
    about = f"from {isolated(card.origin)}, {card.minutes}"
    words = text([run(about)], width - start, BODY)
    if len(words) != 1:
        return [title, *text([run(about)], width, BODY)]
    lower = stack([space((TITLE - BODY) * BASELINE), *words])
    return [side_by_side([(0.0, title), (start, lower)])]


def _piece(line: PieceLine) -> list[Run]:
    piece = line.piece
    times = f" × {line.count}" if line.count > 1 else ""
    area = f"{isolated(printed.short(line.area, 40))}, " if line.area else ""
    laid = f", laid {line.order}" if line.order is not None else ""
    runs = [run(f"{piece.id}{times}", bold=True), run(f"  {area}row {piece.row + 1}, place {piece.col + 1}{laid}")]
    if piece.fit == "scribe":
        runs += [run(" · "), run("SCRIBE", bold=True), run(": cut after its neighbours lie")]
    if piece.chiral:
        runs += [run("   "), run("NOT THE SAME AS ITS MIRROR IMAGE", flag=True)]
    return runs


def _hardware(card: Card, width: float) -> list[Block]:
    """The table under the drawings."""
    if not card.hardware:
        return []
    name = max(fonts.width(words, NOTE, True) for words in [HEADS[0], *(line.mark for line in card.hardware)]) + 2.5
    wide = [name, *(share * (width - name) for share in HARDWARE)]
    found = [cells([(one, [run(words, bold=True)]) for one, words in zip(wide, HEADS, strict=True)], NOTE, pad=0.4)]
    for line in card.hardware:
        runs = [[run(line.mark, bold=True)], [run(line.doing)], [run(line.end)], [run(line.side)]]
        found.append(cells(list(zip(wide, runs, strict=True)), NOTE, pad=0.4))
    return found
