"""A drawing as SVG: y turned downwards, millimetres of the sheet as the unit, every text escaped."""

from __future__ import annotations

from collections.abc import Iterable
from xml.sax.saxutils import escape

from cutopt.book.drawing import Circle, Drawing, Line, Point, Polygon, Shape, Strokes, Text
from cutopt.book.styles import STYLES, Style

FONT = "system-ui, 'Segoe UI', Roboto, 'Liberation Sans', Arial, sans-serif"


def svg(drawing: Drawing, *, alone: bool = False) -> str:
    """The drawing as an `svg` element that scales to the width it is given.

    `alone` makes a file of its own, with the style sheet inside; otherwise the page must hold `style_sheet()` once.
    """
    left, bottom, right, top = drawing.box
    width, height = (right - left) / drawing.scale, (top - bottom) / drawing.scale
    space = ' xmlns="http://www.w3.org/2000/svg"' if alone else ""
    head = f'<svg{space} class="drawing" viewBox="0 0 {_n(width)} {_n(height)}"'
    if alone:
        head += f' width="{_n(width)}mm" height="{_n(height)}mm"'
    title = f' role="img"><title>{text(drawing.title)}</title>'
    style = f"<style>{style_sheet()}</style>" if alone else ""
    sheet = _Sheet(left=left, top=top, scale=drawing.scale)
    return head + title + style + "".join(sheet.element(shape) for shape in drawing.shapes) + "</svg>"


def style_sheet() -> str:
    """The CSS of all styles, class `s-` and the style's name."""
    rules = [f".drawing text{{font-family:{FONT};unicode-bidi:plaintext;stroke-linejoin:round}}"]
    rules += [f".s-{name}{{{_css(style)}}}" for name, style in STYLES.items()]
    return "\n".join(rules)


def text(words: str) -> str:
    """Text made safe for XML: escaped, and without the characters that XML forbids."""
    return escape("".join(sign for sign in words if _allowed(sign)), {'"': "&quot;"})


def _allowed(sign: str) -> bool:
    code = ord(sign)
    return code in (9, 10, 13) or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code >= 0x10000


def _css(style: Style) -> str:
    parts = [f"fill:{style.fill}"]
    if style.stroke != "none":
        parts += [f"stroke:{style.stroke}", f"stroke-width:{_n(style.width)}"]
    if style.dash:
        parts.append("stroke-dasharray:" + " ".join(_n(length) for length in style.dash))
    if style.bold:
        parts.append("font-weight:700")
    if style.halo:
        parts += ["stroke:#fff", "stroke-width:.7", "paint-order:stroke"]
    return ";".join(parts)


def _n(value: float) -> str:
    """A number with at most two decimals: a hundredth of a millimetre on the sheet."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if abs(value) >= 0.005 else "0"


class _Sheet:
    """Where the drawing's coordinates land on the sheet, and how each shape is written there."""

    def __init__(self, *, left: float, top: float, scale: float) -> None:
        self._left, self._top, self._scale = left, top, scale

    def element(self, shape: Shape) -> str:
        match shape:
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
