"""The legend: each mark of the drawings, drawn with the same styles, and what it means."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from cutopt.book.drawing import Drawing, Point
from cutopt.book.pen import Pen
from cutopt.book.rings import hatching
from cutopt.book.styles import StyleName

WIDE, TALL = 16.0, 8.0  # sheet mm of each sample
RECTANGLE: tuple[Point, ...] = ((1.0, 1.0), (WIDE - 1, 1.0), (WIDE - 1, TALL - 1), (1.0, TALL - 1))
MIDDLE: Point = (WIDE / 2, TALL / 2)


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """A sample of a mark and its meaning."""

    drawing: Drawing
    words: str


def legend() -> tuple[Entry, ...]:
    """All marks of the bench drawings, then those of the plan drawings."""
    return tuple(_entry(draw, words) for draw, words in _ENTRIES)


def _entry(draw: Callable[[Pen], None], words: str) -> Entry:
    pen = Pen(1.0)
    draw(pen)
    made = pen.drawing(words)
    return Entry(drawing=Drawing(title=words, shapes=made.shapes, box=(0.0, 0.0, WIDE, TALL), scale=1.0), words=words)


def _line(style: StyleName) -> Callable[[Pen], None]:
    return lambda pen: pen.line(((1.0, TALL / 2), (WIDE - 1, TALL / 2)), style)


def _board(style: StyleName) -> Callable[[Pen], None]:
    return lambda pen: pen.polygon(RECTANGLE, style)


def _band(words: str, box: StyleName, text: StyleName) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        pen.polygon(RECTANGLE, box)
        pen.text(MIDDLE, words, 2.2, text)

    return draw


def _cut(pen: Pen) -> None:
    y = TALL / 2
    pen.line(((1.0, y), (WIDE - 5, y)), "cut")
    pen.strokes([((x, y), (x - 1.5, y - 1.5)) for x in (3.0, 6.0, 9.0)], "kerf")
    pen.circle((WIDE - 3.2, y), 2.5, "bubble")
    pen.text((WIDE - 3.2, y), "1", 3.2, "bubble-text")


def _hatched(fill: StyleName, hatch: StyleName, degrees: float) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        pen.polygon(RECTANGLE, fill)
        pen.strokes(hatching(RECTANGLE, 2.0, degrees), hatch)

    return draw


def _screw_out(pen: Pen) -> None:
    (x, y), r = (4.0, TALL / 2), 0.95
    pen.strokes((((x - r, y - r), (x + r, y + r)), ((x - r, y + r), (x + r, y - r))), "screw-out")
    pen.text((9.5, y), "3.2a", 2.6, "small")


def _hole(style: StyleName, cross: StyleName, reach: float) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        x, y = MIDDLE
        pen.circle(MIDDLE, 0.9, style)
        inner = 0.9 if style == "hole-drilled" else 0.0
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            pen.line(((x + dx * inner, y + dy * inner), (x + dx * reach, y + dy * reach)), cross)

    return draw


def _moved(pen: Pen) -> None:
    pen.polygon(((1.0, 1.0), (4.5, 1.0), (4.5, 7.0), (1.0, 7.0)), "backer-old")
    pen.polygon(((11.5, 1.0), (15.0, 1.0), (15.0, 7.0), (11.5, 7.0)), "backer-moved")
    pen.arrow((2.8, 4.0), (13.2, 4.0), "move", "move-head", 2.4)


def _home(pen: Pen) -> None:
    pen.polygon(((1.5, 1.5), (5.5, 1.5), (1.5, 5.5)), "home")
    pen.line(((1.5, 7.0), (1.5, 1.5), (15.0, 1.5)), "outline")


def _wall_arrow(pen: Pen) -> None:
    pen.text((4.0, 4.0), "P1", 4.0, "piece-text")
    pen.block_arrow((8.0, 4.0), (13.5, 4.0), "wall-block")


def _running(pen: Pen) -> None:
    pen.line(((2.0, 3.0), (13.0, 3.0)), "dimension")
    pen.circle((2.0, 3.0), 0.6, "bubble")
    pen.head((2.0, 3.0), (13.0, 3.0), "arrowhead", 1.4)
    pen.text((13.0, 5.6), "300", 2.2, "text")


def _edge_wall(pen: Pen) -> None:
    _line("edge-wall")(pen)
    pen.strokes([((x, TALL / 2), (x - 1.5, TALL / 2 - 1.5)) for x in range(3, 16, 2)], "hatch")


def _drain(pen: Pen) -> None:
    pen.polygon(RECTANGLE, "cell-liftable")
    pen.text(MIDDLE, "LIFT", 2.6, "label")


def _dot(style: StyleName, radius: float) -> Callable[[Pen], None]:
    return lambda pen: pen.circle(MIDDLE, radius, style)


_ENTRIES: tuple[tuple[Callable[[Pen], None], str], ...] = (
    (
        _band("FACE DOWN", "band-down", "band-text-down"),
        "The tile lies with its walking face down: backers and screws are up. It was turned over sideways, like the "
        "page of a book: left and right have changed places, the side nearest you has not. HOME is lower right.",
    ),
    (_band("FACE UP", "band-up", "band-text-up"), "The walking face is up. HOME is lower left."),
    (
        _home,
        "Home corner: chalk it on the tile's edges first. u0 is the end there, u1 the far end of the slats; v0 is the "
        "side there, v1 the side across.",
    ),
    (_cut, "Cut with its number. The short strokes are on the side that the blade takes."),
    (_hatched("waste", "hatch", 45.0), "Waste"),
    (_board("offcut"), "Offcut to keep on the rack"),
    (_wall_arrow, "Piece and its arrow to the wall or post: write both on the tile before sawing"),
    (_board("backer"), "Backer that stays, or is sawn with the cut (face up: dashed)"),
    (_moved, "Backer to move: old place dashed, new place solid"),
    (_board("backer-added"), "Backer to add: bought, or from another tile"),
    (_dot("screw-kept", 0.55), "Screw that stays"),
    (_screw_out, "Screw to take out, with its number: slat, backer, letter"),
    (_dot("screw-new", 0.75), "Screw to drive"),
    (_hole("hole-kept", "centre", 1.4), "Pin hole that stays, or comes with its backer"),
    (_hole("hole-drilled", "move", 2.6), "Pin hole to drill"),
    (_dot("hole-old", 0.9), "Pin hole that is lost"),
    (_running, "Centres of the backers, all from the end with the small circle: keep the tape hooked there"),
    (_edge_wall, "Wall"),
    (_line("edge-open"), "Open edge: nothing overhangs"),
    (_line("edge-flush"), "Flush edge: cut to the line"),
    (_line("edge-stone"), "Stone border"),
    (_board("cell-whole"), "Whole tile with its turn in the laying order"),
    (_board("cell-cut"), "Piece"),
    (_drain, "Tile that can be lifted, over a drain"),
    (_hatched("left", "hatch-left", -45.0), "Stays open; the letter is in the list"),
    (_board("support"), "Support"),
)
