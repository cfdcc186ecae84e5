"""What is painted on one page: lines, shapes and texts in millimetres of the paper, y upwards, as PDF operators."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache, lru_cache
from itertools import chain
from typing import Any

from cutopt.book.drawings.drawing import Point
from cutopt.book.drawings.styles import BLACK, Style
from cutopt.book.pdf import fonts
from cutopt.book.pdf.direction import joined, unisolated, visual

ROUND = 0.5522847498  # of a radius: the handles of a quarter circle drawn as a cubic curve
PER_MM = 72 / 25.4  # points
CIRCLE = f"%.3f %.3f m {' '.join(['%.3f %.3f %.3f %.3f %.3f %.3f c'] * 4)} h"  # at once: a book has 100,000 screws


class Letters:
    """Texts in the codes of the document's subset fonts."""

    def __init__(self, document: Any) -> None:
        self._document = document  # reportlab's
        self._known: dict[tuple[str, bool], tuple[tuple[str, str], ...]] = {}

    def coded(self, words: str, bold: bool) -> tuple[tuple[str, str], ...]:
        """The text as (font, string) parts, as the operators Tf and Tj want them."""
        key = (words, bold)
        if key not in self._known:
            face = fonts.face(bold)
            parts = face.splitString(words, self._document)
            self._known[key] = tuple(
                (face.getSubsetInternalName(subset, self._document), f"<{codes.hex()}>") for subset, codes in parts
            )
        return self._known[key]


class Ink:
    """One page in the making."""

    def __init__(self, letters: Letters) -> None:
        self._letters = letters
        self._operators = [f"{PER_MM:.6f} 0 0 {PER_MM:.6f} 0 0 cm"]
        self._set: dict[str, str] = {}  # operators in force, by what they set
        self.links: list[tuple[str, tuple[float, float, float, float]]] = []  # keys of marks, and boxes in mm

    def operators(self) -> str:
        """The page's content stream."""
        return "\n".join(self._operators)

    @contextmanager
    def window(self, left: float, bottom: float, wide: float, high: float, factor: float = 1.0) -> Iterator[None]:
        """Within: the origin at a window's lower left corner, enlarged by `factor`, nothing painted outside it."""
        before = dict(self._set)
        self._operators += ["q", f"{_n(left)} {_n(bottom)} {_n(wide)} {_n(high)} re W n"]
        self._operators.append(f"{factor:.5f} 0 0 {factor:.5f} {_n(left)} {_n(bottom)} cm")
        yield
        self._operators.append("Q")
        self._set = before

    # shapes

    def path(self, points: Sequence[Point], style: Style, *, closed: bool = False) -> None:
        """A polyline, or a ring with its fill."""
        if points:
            self._paint(f"{_path(points)}{' h' if closed else ''}", style, filled=closed)

    def strokes(self, lines: Sequence[tuple[Point, Point]], style: Style) -> None:
        """Separate straight lines."""
        self._paint(" ".join(map(_path, lines)), style, filled=False)

    def circle(self, centre: Point, radius: float, style: Style) -> None:
        (x, y), r, k = centre, radius, radius * ROUND
        corners = [(x + r, y)]
        corners += [(x + r, y + k), (x + k, y + r), (x, y + r), (x - k, y + r), (x - r, y + k), (x - r, y)]
        corners += [(x - r, y - k), (x - k, y - r), (x, y - r), (x + k, y - r), (x + r, y - k), (x + r, y)]
        self._paint(CIRCLE % tuple(chain.from_iterable(corners)), style, filled=True)

    def box(self, left: float, top: float, wide: float, high: float, style: Style) -> None:
        """A rectangle that hangs from its top."""
        self._paint(f"{_n(left)} {_n(top - high)} {_n(wide)} {_n(high)} re", style, filled=True)

    # texts

    def text(
        self, at: Point, words: str, size: float, *, bold: bool = False, colour: str = BLACK, turn: float = 0.0
    ) -> None:
        """A line of text that begins at `at` on its baseline; `size` in mm, `turn` in degrees anticlockwise."""
        seen = words if words.isascii() else unisolated(visual(joined(words)))
        shown = fonts.drawable(seen, bold)
        if not shown.strip():
            return
        self._fill(colour)
        x, y = at
        matrix = f"1 0 0 1 {x:.3f} {y:.3f} Tm"
        if turn:
            cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            matrix = f"{cos:.4f} {sin:.4f} {-sin:.4f} {cos:.4f} {x:.3f} {y:.3f} Tm"
        coded = " ".join([f"{name} {size:.3f} Tf {codes} Tj" for name, codes in self._letters.coded(shown, bold)])
        if shown != seen:  # boxes for those who look, the letters for those who copy, search or listen
            spelt = seen.encode("utf-16-be", "replace").hex()
            self._operators.append(f"/Span <</ActualText <feff{spelt}>>> BDC BT {matrix} {coded} ET EMC")
        else:
            self._operators.append(f"BT {matrix} {coded} ET")

    def link(self, key: str, left: float, top: float, wide: float, high: float) -> None:
        """A place to click that leads to a mark."""
        self.links.append((key, (left, top - high, left + wide, top)))

    # state

    def _paint(self, path: str, style: Style, *, filled: bool) -> None:
        fills, strokes = filled and style.fill != "none", style.stroke != "none"
        if fills:
            self._fill(style.fill)
        if strokes:
            self._say("stroke", _stroke(style))
        if fills or strokes:
            self._operators.append(f"{path} {'B' if fills and strokes else 'f' if fills else 'S'}")

    def _fill(self, colour: str) -> None:
        self._say("fill", f"{_colour(colour)} rg")

    def _say(self, what: str, operator: str) -> None:
        if self._set.get(what) != operator:
            self._set[what] = operator
            self._operators.append(operator)


@cache
def _colour(code: str) -> str:
    """`#rgb` or `#rrggbb` as three shares."""
    digits = code.removeprefix("#")
    pairs = [digit * 2 for digit in digits] if len(digits) == 3 else [digits[n : n + 2] for n in (0, 2, 4)]
    return " ".join(f"{int(pair, 16) / 255:.3g}" for pair in pairs)


@lru_cache(maxsize=4096)
def _stroke(style: Style) -> str:
    """Colour, width and dashes of a line."""
    return f"{_colour(style.stroke)} RG {_n(style.width)} w [{' '.join(map(_n, style.dash))}] 0 d"


def _path(points: Sequence[Point]) -> str:
    (x, y), *rest = points
    return f"{x:.3f} {y:.3f} m " + " ".join([f"{a:.3f} {b:.3f} l" for a, b in rest])


def _n(value: float) -> str:
    return f"{value:.3f}"
