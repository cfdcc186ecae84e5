"""What a card is made of: its frame, its head, its drawings, the table of its hardware."""

from __future__ import annotations

from collections.abc import Sequence

from cutopt.book.drawings.drawing import Drawing
from cutopt.book.drawings.styles import BLACK, Style
from cutopt.book.pdf import fonts
from cutopt.book.pdf.blocks import KEY, NOTE, Block, Row, cells, figure, side_by_side, space, stack, text
from cutopt.book.pdf.direction import isolated
from cutopt.book.pdf.fonts import POINT
from cutopt.book.pdf.ink import Ink
from cutopt.book.pdf.rendering import size_of
from cutopt.book.pdf.typeset import Run, run
from cutopt.book.words import printed
from cutopt.book.words.contents import Card, PieceLine
from cutopt.book.words.hardware import HardwareLine

FRAME = Style(stroke=BLACK, width=0.6)
PAD = 2.0  # mm between a card's frame and what is in it
APART = 3.0  # mm between drawings, columns and cards
TITLE = 18 * POINT
RISE = 1.3  # mm: the first line beside the title stands on its baseline, about
HEADS = ("Name", "Do", "Along the slats", "Across them")
HARDWARE = (0.38, 0.28, 0.34)  # what the table's columns after the first share
LARGEST = 1.15  # of their own size: drawings that have a page's width
NARROW = 120.0  # mm: in less the table's numbers are in sentences


def framed(inner: Row, width: float, height: float) -> Row:
    def paint(ink: Ink, left: float, top: float) -> None:
        ink.box(left, top, width, height, FRAME)
        inner.paint(ink, left + PAD, top)

    return Row(height=height, paint=paint)


def tower(blocks: Sequence[Block]) -> Row:
    return stack([row for one in blocks for row in one.rows])


def figures(drawings: Sequence[Drawing], width: float, most: float) -> Row:
    """The drawings in a row at one scale, each in its share of the width."""
    sizes = [size_of(drawing) for drawing in drawings]
    room = width - APART * (len(drawings) - 1)
    factor = min(LARGEST, room / sum(wide for wide, _ in sizes), most / max(high for _, high in sizes))
    spare = (room - factor * sum(wide for wide, _ in sizes)) / len(drawings)
    parts, at = [], 0.0
    for drawing, (wide, _) in zip(drawings, sizes, strict=True):
        share = wide * factor + spare
        parts.append((at, figure(drawing, share, most, factor)))
        at += share + APART
    return side_by_side(parts)


def head(card: Card, width: float) -> list[Row]:
    """The tile's name, beside it its pieces and where they go, where it comes from, and what must be heeded first."""
    size = min(TITLE, TITLE * width / 3 / fonts.width(card.source.id, TITLE, True))
    start = fonts.width(card.source.id, size, True) + 3.5
    room = width - start
    rows: list[Row] = []
    if card.source.uses > 1:
        rows += _flag(f"MAKE {card.source.uses} ALIKE", room)
    for line in card.pieces:
        rows += text(_piece(line), room, KEY)
    rows += text([run(f"from {isolated(card.origin)}, {card.minutes}")], room, NOTE)
    if not card.source.least_work:
        words = "That this is the least bench work is not proven: another way of hanging it may take less."
        rows += text([run(words)], room, NOTE)
    for wait in card.waits_for:
        rows += _flag(f"WAITS for wood of {wait.source}, step {wait.step}", room)
    title = text([run(card.source.id, bold=True)], start, size)[:1]
    return [space(1.0), side_by_side([(0.0, stack(title)), (start, stack([space(RISE), *rows]))]), space(0.8)]


def _flag(words: str, width: float) -> list[Row]:
    return [*text([run(words, flag=True)], width - 1.0, KEY, indent=1.0), space(0.8)]


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


def hardware(card: Card, width: float, size: float) -> list[Block]:
    """The table under the drawings."""
    if not card.hardware:
        return []
    marks = [line.mark for line in card.hardware]
    if width < NARROW:
        name = max(fonts.width(words, size, True) for words in marks) + 2.5
        return [_sentence(line, name, width - name, size) for line in card.hardware]
    name = max(fonts.width(words, size, True) for words in [HEADS[0], *marks]) + 2.5
    wide = [name, *(share * (width - name) for share in HARDWARE)]
    found = [cells([(one, [run(words, bold=True)]) for one, words in zip(wide, HEADS, strict=True)], size, pad=0.4)]
    for line in card.hardware:
        runs = [[run(line.mark, bold=True)], [run(line.doing)], [run(line.end)], [run(line.side)]]
        found.append(cells(list(zip(wide, runs, strict=True)), size, pad=0.4))
    return found


def _sentence(line: HardwareLine, name: float, width: float, size: float) -> Block:
    words = f"{line.doing}: {line.end}, {line.side}"
    return cells([(name, [run(line.mark, bold=True)]), (width, [run(words)])], size, pad=0.4)
