"""A drawing as SVG: y turned downwards, every text escaped.

On the page the unit is a millimetre of the sheet; in a file of its own it is a millimetre of the thing drawn.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from cutopt.book.drawings.drawing import Circle, Dimension, Drawing, Legend, Line, Point, Polygon, Shape, Strokes, Text
from cutopt.book.drawings.styles import STYLES, Style

FONT = "system-ui, 'Segoe UI', Roboto, 'Liberation Sans', Arial, sans-serif"


def svg(drawing: Drawing) -> str:
    """The drawing as an `svg` element that scales to the width it is given; the page must hold `style_sheet()` once."""
    left, bottom, right, top = drawing.box
    width, height = (right - left) / drawing.scale, (top - bottom) / drawing.scale
    own = f'style="--own:{_n(width)}mm"'  # how wide it is meant to be on paper
    head = f'<svg class="drawing" viewBox="0 0 {_n(width)} {_n(height)}" {own} role="img">'
    sheet = _Sheet(left=left, top=top, scale=drawing.scale)
    return head + _content(drawing, sheet) + "</svg>"


def svg_file(drawing: Drawing) -> str:
    """The drawing as a file of its own, in true coordinates: the point (x, y) of the drawing is (x, -y) in the file, to
    a hundredth of a millimetre. It prints at the drawing's scale, so that lines are as wide as on the page.
    """
    left, bottom, right, top = drawing.box
    wide, high = right - left, top - bottom
    size = f'width="{_n(wide / drawing.scale)}mm" height="{_n(high / drawing.scale)}mm"'
    box = f'viewBox="{_n(left)} {_n(-top)} {_n(wide)} {_n(high)}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" {size} {box} role="img">'
    styles = f"<style>{style_sheet(drawing.scale)}</style>"
    return head + styles + _content(drawing, _Sheet(left=0.0, top=0.0, scale=1.0)) + "</svg>\n"


def style_sheet(scale: float = 1.0) -> str:
    """The CSS of all styles, class `s-` and the style's name; `scale`: units for a millimetre of the sheet."""
    rules = [f".drawing text{{font-family:{FONT};unicode-bidi:plaintext;stroke-linejoin:round}}"]
    rules += [f".s-{name}{{{_css(style, scale)}}}" for name, style in STYLES.items()]
    return "\n".join(rules)


def _content(drawing: Drawing, sheet: _Sheet) -> str:
    shapes = "".join(sheet.element(shape) for shape in drawing.shapes)
    return f"<title>{text(drawing.title)}</title>{shapes}"


def text(words: str) -> str:
    """Text made safe for XML: escaped, and without the characters that XML forbids."""
    return escape("".join(sign for sign in words if _allowed(sign)), quote=False).replace('"', "&quot;")


def _allowed(sign: str) -> bool:
    code = ord(sign)
    return code in (9, 10, 13) or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code >= 0x10000


def _css(style: Style, scale: float) -> str:
    parts = [f"fill:{style.fill}"]
    if style.stroke != "none":
        parts += [f"stroke:{style.stroke}", f"stroke-width:{_n(style.width * scale)}"]
    if style.dash:
        parts.append("stroke-dasharray:" + " ".join(_n(length * scale) for length in style.dash))
    if style.bold:
        parts.append("font-weight:700")
    if style.halo:
        parts += ["stroke:#fff", f"stroke-width:{_n(0.7 * scale)}", "paint-order:stroke"]
    return ";".join(parts)


def _n(value: float) -> str:
    """A number with at most two decimals: a hundredth of a millimetre."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if abs(value) >= 0.005 else "0"


class _Sheet:
    """Where the drawing's coordinates land on the sheet, and how each shape is written there."""

    def __init__(self, *, left: float, top: float, scale: float) -> None:
        self._left, self._top, self._scale = left, top, scale

    def element(self, shape: Shape) -> str:
        match shape:
            case Dimension():
                return "".join(map(self.element, shape.parts))
            case Legend():
                return f'<g class="legend">{"".join(map(self.element, shape.parts))}</g>'
            case Line():
                return f'<path class="s-{shape.style}" style="fill:none" d="{self._path(shape.points)}"/>'
            case Strokes():
                return f'<path class="s-{shape.style}" d="{"".join(self._path(line) for line in shape.lines)}"/>'
            case Polygon():
                return f'<path class="s-{shape.style}" d="{self._path(shape.points)}Z"/>'
            case Circle():
                x, y = self._at(shape.centre)
                return f'<circle class="s-{shape.style}" cx="{x}" cy="{y}" r="{_n(shape.radius / self._scale)}"/>'
            case Text():
                return self._text(shape)

    def _text(self, shape: Text) -> str:
        x, y = self._at(shape.at)
        size = shape.height / self._scale
        turn = f' transform="rotate({_n(-shape.turn)} {x} {y})"' if shape.turn else ""
        anchor = "" if shape.anchor == "start" else f' text-anchor="{shape.anchor}"'
        where = f'x="{x}" y="{y}" dy="{_n(size * 0.36)}" font-size="{_n(size)}"'
        return f'<text class="s-{shape.style}" {where}{anchor}{turn}>{text(shape.text)}</text>'

    def _at(self, point: Point) -> tuple[str, str]:
        return _n((point[0] - self._left) / self._scale), _n((self._top - point[1]) / self._scale)

    def _path(self, points: Iterable[Point]) -> str:
        return "M" + "L".join(" ".join(self._at(point)) for point in points)
