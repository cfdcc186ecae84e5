"""What a page is made of: rows that are never cut, and blocks of rows that stay together where a page has room."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from cutopt.book.drawings.drawing import Drawing
from cutopt.book.drawings.styles import BLACK, Style
from cutopt.book.pdf.fonts import POINT
from cutopt.book.pdf.ink import Ink
from cutopt.book.pdf.rendering import draw, size_of
from cutopt.book.pdf.typeset import LEADING, Line, Run, lines, paint_line

BODY = 9.5 * POINT
KEY = 11 * POINT
NOTE = 9 * POINT
HAIR = Style(stroke="#999999", width=0.15)
BOX = Style(stroke=BLACK, width=0.3, fill="#ffffff")
TICK = 4.0  # mm, the side of a box to tick

Paint = Callable[[Ink, float, float], None]  # of the left edge and the top, in mm


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """Something of a height, in mm, that knows how to paint itself below a point."""

    height: float
    paint: Paint


@dataclass(frozen=True, kw_only=True, slots=True)
class Block:
    """Rows below each other."""

    rows: tuple[Row, ...]

    @property
    def height(self) -> float:
        return sum(row.height for row in self.rows)


def nothing(_ink: Ink, _left: float, _top: float) -> None:
    """What a space paints."""


def space(height: float) -> Row:
    return Row(height=height, paint=nothing)


def text(runs: Iterable[Run], width: float, size: float = BODY, *, indent: float = 0.0) -> tuple[Row, ...]:
    """A row a line."""
    return tuple(
        Row(height=size * LEADING, paint=_line_painter(line, size, indent))
        for line in lines(runs, size, width - indent)
    )


def _line_painter(line: Line, size: float, indent: float) -> Paint:
    return lambda ink, left, top: paint_line(ink, line, left + indent, top, size)


def rule(style: Style, width: float, height: float) -> Row:
    """A line across at the top of some space."""
    return Row(height=height, paint=lambda ink, left, top: ink.path([(left, top), (left + width, top)], style))


def block(*rows: Row | Sequence[Row]) -> Block:
    return Block(rows=tuple(row for one in rows for row in ([one] if isinstance(one, Row) else one)))


def figure(drawing: Drawing, width: float, most: float, largest: float = 1.0) -> Row:
    """A drawing in the middle of a column, as large as `width` and the height `most` let it be, its own size or, at
    most, `largest` times that.
    """
    wide, high = size_of(drawing)
    factor = min(largest, width / wide, most / high)
    aside = (width - wide * factor) / 2
    return Row(height=high * factor, paint=lambda ink, left, top: draw(ink, drawing, left + aside, top, factor))


def cells(
    columns: Sequence[tuple[float, Sequence[Run]]], size: float = BODY, *, gap: float = 1.5, pad: float = 0.7
) -> Block:
    """A line of a table: (width in mm, words) each, with a thin rule under it; long cells take several rows."""
    made = [text(words, width - gap, size) for width, words in columns]
    lefts = [sum(width for width, _ in columns[:n]) for n in range(len(columns))]
    total = sum(width for width, _ in columns)
    rows = []
    for n in range(max((len(one) for one in made), default=0)):
        parts = [(left, one[n]) for left, one in zip(lefts, made, strict=True) if n < len(one)]
        rows.append(Row(height=size * LEADING, paint=_cells_painter(parts)))
    return block(space(pad), rows, rule_below(total, pad))


def _cells_painter(parts: Sequence[tuple[float, Row]]) -> Paint:
    def paint(ink: Ink, left: float, top: float) -> None:
        for x, row in parts:
            row.paint(ink, left + x, top)

    return paint


def rule_below(width: float, pad: float) -> Row:
    """A thin line at the bottom of some space."""
    return Row(height=pad, paint=lambda ink, left, top: ink.path([(left, top - pad), (left + width, top - pad)], HAIR))


def ticked(inner: Block, indent: float = TICK + 1.5) -> Block:
    """The block moved to the right of a box to tick on its first row."""
    rows = [moved(row, indent) for row in inner.rows]
    first = next((n for n, row in enumerate(rows) if row.paint is not nothing and row.height > 2.0), 0)
    return Block(rows=tuple(_with_box(row) if n == first else row for n, row in enumerate(rows)))


def moved(row: Row, indent: float) -> Row:
    """The row further to the right."""
    return Row(height=row.height, paint=lambda ink, left, top: row.paint(ink, left + indent, top))


def _with_box(row: Row) -> Row:
    def paint(ink: Ink, left: float, top: float) -> None:
        row.paint(ink, left, top)
        ink.box(left, top + 0.1, TICK, TICK, BOX)

    return Row(height=max(row.height, TICK), paint=paint)


def stack(rows: Sequence[Row]) -> Row:
    """Rows as one that is not parted."""

    def paint(ink: Ink, left: float, top: float) -> None:
        for row in rows:
            row.paint(ink, left, top)
            top -= row.height

    return Row(height=sum(row.height for row in rows), paint=paint)


def side_by_side(parts: Sequence[tuple[float, Row]]) -> Row:
    """Rows beside each other, each at its distance from the left edge."""
    return Row(height=max((row.height for _, row in parts), default=0.0), paint=_cells_painter(parts))


def parted(blocks: Iterable[Block], most: float) -> list[Block]:
    """The blocks, those higher than `most` cut between rows."""
    found = []
    for one in blocks:
        rows: list[Row] = []
        for row in one.rows:
            if rows and sum(r.height for r in rows) + row.height > most:
                found.append(block(rows))
                rows = []
            rows.append(row)
        if rows:
            found.append(block(rows))
    return found


@dataclass(frozen=True, kw_only=True, slots=True)
class Filled:
    """Columns of blocks, their height, and what did not go in."""

    columns: tuple[tuple[Block, ...], ...]
    height: float
    rest: tuple[Block, ...]


def fill(blocks: Sequence[Block], columns: int, height: float) -> Filled:
    """As many blocks as go into the columns, one column after the other; columns of like height where all go in."""
    heights = [one.height for one in blocks]
    low, high = sum(heights) / columns, height
    if _into(heights, columns, height)[-1] == len(blocks):
        while high - low > 0.5:
            middle = (low + high) / 2
            low, high = (low, middle) if _into(heights, columns, middle)[-1] == len(blocks) else (middle, high)
    ends = _into(heights, columns, high)
    made = tuple(tuple(blocks[start:end]) for start, end in zip([0, *ends], ends, strict=False))
    used = max((sum(one.height for one in column) for column in made), default=0.0)
    return Filled(columns=made, height=used, rest=tuple(blocks[ends[-1] :]))


def _into(heights: Sequence[float], columns: int, height: float) -> list[int]:
    """For each column, the number of blocks that are in it and those before it."""
    ends, at = [], 0
    for _ in range(columns):
        used = 0.0
        while at < len(heights) and used + heights[at] <= height + 1e-6:
            used += heights[at]
            at += 1
        ends.append(at)
    return ends


def column_width(width: float, columns: int, gap: float) -> float:
    return (width - gap * (columns - 1)) / columns
