"""The legend: each mark of the drawings, drawn with the same styles, and what it means."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from cutopt.book.drawings.drawing import Drawing, Point
from cutopt.book.drawings.pen import Pen
from cutopt.book.drawings.rings import hatching
from cutopt.book.drawings.styles import StyleName

Kind = Literal["all", "bench", "site", "supports"]

WIDE, TALL = 16.0, 8.0  # sheet mm of each sample
RECTANGLE: tuple[Point, ...] = ((1.0, 1.0), (WIDE - 1, 1.0), (WIDE - 1, TALL - 1), (1.0, TALL - 1))
MIDDLE: Point = (WIDE / 2, TALL / 2)


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """A sample of a mark and its meaning."""

    drawing: Drawing
    words: str


def legend(of: Kind = "all") -> tuple[Entry, ...]:
    """The marks of the bench drawings, then those of the plan drawings, then the supports; or those of some alone."""
    kinds = _ENTRIES if of == "all" else {of: _ENTRIES[of]}
    return tuple(_entry(draw, words) for entries in kinds.values() for draw, words in entries)


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


def _drilled(pen: Pen) -> None:
    _hole("hole-drilled", "move", 2.6)(pen)
    pen.text((MIDDLE[0] + 4.6, MIDDLE[1]), "h1", 2.8, "label")


def _new_screw(pen: Pen) -> None:
    pen.circle((5.0, TALL / 2), 0.75, "screw-new")
    pen.text((9.5, TALL / 2), "s1", 2.6, "label")


def _lettered(letter: str, style: StyleName) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        pen.polygon(((1.0, 2.0), (5.0, 2.0), (5.0, 6.0), (1.0, 6.0)), style)
        pen.text((10.0, TALL / 2), f"7 {letter}", 2.8, "label")

    return draw


def _edge_wall(pen: Pen) -> None:
    _line("edge-wall")(pen)
    pen.strokes([((x, TALL / 2), (x - 1.5, TALL / 2 - 1.5)) for x in range(3, 16, 2)], "hatch")


def _drain(pen: Pen) -> None:
    pen.polygon(RECTANGLE, "cell-liftable")
    pen.text(MIDDLE, "LIFT", 2.6, "label")


def _measured(pen: Pen) -> None:
    y = TALL / 2
    for x in (2.0, 14.0):
        pen.line(((x, 2.0), (x, 6.0)), "cut-dimension")
        pen.arrow((WIDE / 2, y - 1.0), (x, y - 1.0), "cut-dimension", "arrowhead")
    pen.text((WIDE / 2, y + 1.2), "420", 3.2, "cut-text")


def _slats(pen: Pen) -> None:
    pen.polygon(((5.0, 1.0), (11.0, 1.0), (11.0, 7.0), (5.0, 7.0)), "backer")
    for y in (3.6, 4.4):
        pen.line(((1.0, y), (5.0, y)), "slat")
        pen.line(((5.0, y), (11.0, y)), "hidden")
        pen.line(((11.0, y), (15.0, y)), "slat")


def _way(pen: Pen) -> None:
    pen.arrow((6.0, TALL / 2), (1.0, TALL / 2), "wall-arrow", "wall-head")
    pen.arrow((10.0, TALL / 2), (15.0, TALL / 2), "wall-arrow", "wall-head")


def _whole_tile(pen: Pen) -> None:
    pen.polygon(RECTANGLE, "cell-whole")
    pen.strokes([((1.0, y), (WIDE - 1, y)) for y in (2.5, 4.0, 5.5)], "slat-faint")


def _post(pen: Pen) -> None:
    x, y = MIDDLE
    pen.polygon(((x - 2, y - 2), (x + 2, y - 2), (x + 2, y + 2), (x - 2, y + 2)), "post")


def _water(pen: Pen) -> None:
    x, y = MIDDLE
    corners = ((x - 2, y - 2), (x + 2, y - 2), (x + 2, y + 2), (x - 2, y + 2))
    pen.polygon(corners, "drain")
    pen.strokes(((corners[0], corners[2]), (corners[1], corners[3])), "drain")


def _dot(style: StyleName, radius: float) -> Callable[[Pen], None]:
    return lambda pen: pen.circle(MIDDLE, radius, style)


_BENCH: tuple[tuple[Callable[[Pen], None], str], ...] = (
    (
        _band("FACE DOWN", "band-down", "band-text-down"),
        "The tile lies with its walking face down: backers and screws are up. It was turned over sideways, like the "
        "page of a book: left and right have changed places, the side nearest you has not. "
        "The home corner, H, is lower right.",
    ),
    (_band("FACE UP", "band-up", "band-text-up"), "The walking face is up. The home corner, H, is lower left."),
    (
        _home,
        "Home corner: chalk H on both of the tile's edges there first. The slats end at the home end and the far end; "
        "the home side and the far side run along them. The names hold whichever face is up.",
    ),
    (_cut, "Cut with its number. The short strokes are on the side that the blade takes."),
    (_measured, "Length to measure and to set the fence to, from one of the tile's ends or sides"),
    (_line("dimension"), "Line as it is marked, longer than the cut; centre of a round cut"),
    (_hatched("waste", "hatch", 45.0), "Waste"),
    (_board("offcut"), "Offcut to keep on the rack"),
    (_wall_arrow, "Piece and its arrow to the wall or post: write both on the tile before sawing"),
    (_board("slat-shared"), "Slat that is ripped and laid back: its new edges are in the table under the drawing"),
    (_slats, "Edges of slats, dashed behind a backer"),
    (_way, "Which way the slats run"),
    (_board("backer"), "Backer that stays, or is sawn with the cut"),
    (_board("backer-hidden"), "Backer behind the slats, face up"),
    (_board("backer-loose"), "Backer, or its end, that falls off with the rest"),
    (_moved, "Backer to move: old place dashed, new place solid"),
    (_board("backer-added"), "Backer to add: bought, or from another tile"),
    (_dot("screw-kept", 0.55), "Screw that stays"),
    (_screw_out, "Screw to take out, with its number: slat, backer, letter"),
    (
        _new_screw,
        "Screw to drive; one with a name has its place in the table under the drawing. Where the step says predrill, "
        "bit and stop collar are in it; what the bit's size goes by is under To buy",
    ),
    (_hole("hole-kept", "centre", 1.4), "Pin hole that stays, or comes with its backer"),
    (
        _drilled,
        "Hole to drill: h1 for a pin, start 1 for the jigsaw of cut 1; places are in the table under the drawing",
    ),
    (_dot("hole-old", 0.9), "Pin hole that is lost"),
)
_SITE: tuple[tuple[Callable[[Pen], None], str], ...] = (
    (_edge_wall, "Wall"),
    (_line("edge-open"), "Open edge: nothing overhangs"),
    (_line("edge-flush"), "Flush edge: cut to the line"),
    (_line("edge-stone"), "Stone border"),
    (_whole_tile, "Whole tile with the gaps between its slats; the number is its turn in the laying order"),
    (_board("cell-cut"), "Piece"),
    (_post, "Post"),
    (_water, "Drain"),
    (_drain, "Tile that can be lifted, over a drain"),
    (_hatched("left", "hatch-left", -45.0), "Stays open; the letter is in the list"),
)
_SUPPORTS: tuple[tuple[Callable[[Pen], None], str], ...] = (
    (_lettered("W", "support"), "Whole support, with its number in the list"),
    (_lettered("H", "support-half"), "Half support"),
    (_lettered("Q", "support-quarter"), "Quarter support"),
    (_lettered("T", "support-trimmed"), "Trimmed support: cut it as drawn"),
)
_ENTRIES: Mapping[str, tuple[tuple[Callable[[Pen], None], str], ...]] = MappingProxyType(
    {"bench": _BENCH, "site": _SITE, "supports": _SUPPORTS}
)
