"""How an area's drawing is divided where it would be too small on one page: sheets of whole cells, and their frames."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from cutopt.book.drawings.drawing import Box, Circle, Drawing, Line, Mark, Point, Polygon, Strokes
from cutopt.book.drawings.pen import LEGIBLE, Pen, text_box
from cutopt.book.drawings.rings import NEAR, box_of, overlap
from cutopt.planfile.model import Area

SHEET = 150.0  # sheet mm for the longer side of an area that goes on one sheet
CELL = 11.0  # sheet mm: a cell is drawn no smaller, so that its numbers stay legible on paper
ACROSS, UP = 14, 18  # cells on a sheet: with their margins they fill an A4 or Letter page
ROOMY = 14.0  # sheet mm: a cell from which on its numbers are written in full size
FRAME = 10.0  # sheet mm around a sheet of many for the numbers of rows and places
LAP = 0.5  # of a cell: what a sheet shows of its neighbours


@dataclass(frozen=True, kw_only=True, slots=True)
class Sheet:
    """A window on the area's layout frame; `number` counts from 1, row by row from the start wall."""

    number: int
    box: Box


def scale_of(area: Area) -> float:
    """Millimetres of the area for one of the sheet."""
    left, bottom, right, top = box_of(area.outline)
    return max(1.0, min(max(right - left, top - bottom) / SHEET, min(area.grid.pitch) / CELL))


def number_size(area: Area, scale: float) -> float:
    """The height of the small numbers in an area's cells, sheet mm."""
    return LEGIBLE if min(area.grid.pitch) / scale >= ROOMY else 2.2


def sheets_of(area: Area) -> tuple[Sheet, ...]:
    """The sheets of an area that is too large for one, none for one that fits."""
    left, bottom, right, top = box_of(area.outline)
    (pitch_x, pitch_y), (x, y) = area.grid.pitch, area.grid.origin
    # sheets begin on grid lines, so that no cell is cut in two
    first_x = x + math.floor((left - x) / pitch_x) * pitch_x
    first_y = y + math.floor((bottom - y) / pitch_y) * pitch_y
    across, up = math.ceil((right - first_x) / pitch_x), math.ceil((top - first_y) / pitch_y)
    if across <= ACROSS + 1 and up <= UP + 1:
        return ()
    columns, rows = math.ceil(across / ACROSS), math.ceil(up / UP)
    wide, high = math.ceil(across / columns) * pitch_x, math.ceil(up / rows) * pitch_y
    corners = [(x + cell.col * pitch_x, y + cell.row * pitch_y) for cell in area.cells]
    boxes: list[Box] = []
    for row, column in itertools.product(range(rows), range(columns)):
        start_x, start_y = first_x + column * wide, first_y + row * high
        over_x, over_y = LAP * pitch_x, LAP * pitch_y
        if any(-NEAR < cx - start_x < wide - NEAR and -NEAR < cy - start_y < high - NEAR for cx, cy in corners):
            boxes.append(
                (
                    max(start_x, left) - over_x,
                    max(start_y, bottom) - over_y,
                    min(start_x + wide, right) + over_x,
                    min(start_y + high, top) + over_y,
                )
            )
    return tuple(Sheet(number=n, box=box) for n, box in enumerate(boxes, 1))


def cut_out(whole: Drawing, area: Area, sheet: Sheet, title: str) -> Drawing:
    """What the sheet shows of the whole drawing, with row and place numbers in the frame around it."""
    left, bottom, right, top = sheet.box
    inside = [shape for shape in whole.marks if overlap(_box(shape), sheet.box)]
    pen = Pen(whole.scale)
    frame = pen.mm(FRAME)
    far = frame * 40  # covers whatever reaches past the sheet
    for band in (
        (left - far, bottom - far, left, top + far),
        (right, bottom - far, right + far, top + far),
        (left, bottom - far, right, bottom),
        (left, top, right, top + far),
    ):
        pen.polygon(((band[0], band[1]), (band[2], band[1]), (band[2], band[3]), (band[0], band[3])), "piece")
    pen.polygon(((left, bottom), (right, bottom), (right, top), (left, top)), "dimension")
    grid_numbers(pen, area, sheet.box)
    pen.text(((left + right) / 2, top + pen.mm(3.0)), f"sheet {sheet.number}", 4.0, "label")
    outer = (left - frame, bottom - pen.mm(4.5), right + pen.mm(1.0), top + pen.mm(6.0))
    shapes = (*inside, *pen.drawing(title).shapes)
    return Drawing(title=title, shapes=shapes, box=outer, scale=whole.scale)


def grid_numbers(pen: Pen, area: Area, box: Box) -> None:
    """Row numbers left of the box and place numbers below it, at the middle of what the box shows of each."""
    (x, y), (pitch_x, pitch_y) = area.grid.origin, area.grid.pitch
    left, bottom, right, top = box
    away = pen.mm(2.4)
    for row in sorted({cell.row for cell in area.cells}):
        low, high = max(y + row * pitch_y, bottom), min(y + (row + 1) * pitch_y, top)
        if high - low > pen.mm(3.0):
            pen.text((left - away, (low + high) / 2), str(row + 1), 2.4, "small")
    for place in sorted({cell.col for cell in area.cells}):
        low, high = max(x + place * pitch_x, left), min(x + (place + 1) * pitch_x, right)
        if high - low > pen.mm(3.0):
            pen.text(((low + high) / 2, bottom - away), str(place + 1), 2.4, "small")
    pen.text((left - away, top + pen.mm(1.4)), "row", 2.4, "small")
    out = pen.mm(0.6) + pen.width("place", 2.4) / 2
    pen.label([(left - out, bottom - away), (right + out, bottom - away)], "place", 2.4, "small")


def key_shapes(pen: Pen, sheets: tuple[Sheet, ...]) -> None:
    """The frames of the sheets with their numbers, on a small drawing of the whole."""
    for sheet in sheets:
        left, bottom, right, top = sheet.box
        pen.polygon(((left, bottom), (right, bottom), (right, top), (left, top)), "move")
        pen.text(((left + right) / 2, (bottom + top) / 2), f"sheet {sheet.number}", 4.0, "label")


def _box(shape: Mark) -> Box:
    match shape:
        case Line() | Polygon():
            return box_of(shape.points)
        case Strokes():
            points: list[Point] = [point for line in shape.lines for point in line]
            return box_of(points)
        case Circle():
            (x, y), r = shape.centre, shape.radius
            return (x - r, y - r, x + r, y + r)
        case _:
            return text_box(shape)
