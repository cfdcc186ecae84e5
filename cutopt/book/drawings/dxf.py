"""A drawing as DXF, a layer for each kind of thing, in true millimetres.

What is filled on paper is outlined here, but for small symbols; what only hides other lines is left out. Line types
follow ISO 128 as on the page (see `styles`); their dashes are given by $LTSCALE at the drawing's scale.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from types import MappingProxyType

import ezdxf
from ezdxf import units
from ezdxf.colors import RGB, rgb2int
from ezdxf.document import Drawing as Document
from ezdxf.entities import Hatch
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.layouts.blocklayout import BlockLayout
from ezdxf.layouts.layout import Modelspace

from cutopt.book.drawings.dimensions import AWAY, BEYOND
from cutopt.book.drawings.drawing import (
    Circle,
    Dimension,
    Drawing,
    Legend,
    Line,
    Mark,
    Point,
    Polygon,
    Strokes,
    Text,
    marks_of,
)
from cutopt.book.drawings.pen import text_box
from cutopt.book.drawings.styles import BLACK, CHAIN, DASHED, STYLES, Style, StyleName

LAYERS: Mapping[str, tuple[StyleName, ...]] = MappingProxyType(
    {
        "OUTLINE": ("outline", "ground"),
        "EDGES": ("edge-wall", "edge-open", "edge-flush", "edge-stone"),
        "POSTS": ("post", "drain"),
        "TILES": ("cell-whole",),
        "PIECES": ("piece", "piece-hole", "cell-cut", "cell-hole"),
        "OPEN": ("left",),
        "OFFCUTS": ("offcut",),
        "CUTS": ("cut",),
        "KERFS": ("kerf",),
        "HOLES": ("hole-drilled", "hole-kept", "hole-old"),
        "SLATS": ("slat", "slat-faint", "slat-shared", "hidden"),
        "BACKERS": ("backer", "backer-added", "backer-hidden", "backer-loose", "backer-moved", "backer-old"),
        "SCREWS": ("screw-kept", "screw-new", "screw-out"),
        "SUPPORTS": ("support", "support-half", "support-quarter", "support-trimmed", "pin"),
        "MARKS": (
            "band-down", "band-up", "bubble", "cell-liftable", "centre", "cut-leader", "home", "move", "move-head",
            "wall-arrow", "wall-block", "wall-head",
        ),
        "HATCH": ("hatch", "hatch-left"),
        "DIMENSIONS": ("arrowhead", "cut-dimension", "cut-text", "dimension"),
        "TEXT": (
            "band-text-down", "band-text-up", "bubble-text", "label", "piece-text", "plain", "side-text", "small",
            "text", "waste-text",
        ),
    }
)  # fmt: skip
LEFT_OUT: frozenset[StyleName] = frozenset({"move-halo", "waste"})  # a white rim, and the tint of what is hatched
SOLID: frozenset[StyleName] = frozenset({"arrowhead", "home", "move-head", "screw-new", "wall-head"})
LAYER_OF: Mapping[StyleName, str] = MappingProxyType({name: layer for layer, names in LAYERS.items() for name in names})

DOTTED = (0.5, 0.8)
LINE_TYPES: Mapping[str, tuple[float, ...]] = MappingProxyType({"DASHED": DASHED, "CHAIN": CHAIN, "DOTTED": DOTTED})
WIDTHS = (13, 18, 25, 35, 50, 70, 100)  # hundredths of a millimetre: line widths of ISO 128
FONT = "arial.ttf"
CAPITAL = 0.72  # of a text's size: DXF gives the height of its capitals; common practice, no source
ANCHORS = MappingProxyType(
    {
        "start": TextEntityAlignment.MIDDLE_LEFT,
        "middle": TextEntityAlignment.MIDDLE_CENTER,
        "end": TextEntityAlignment.MIDDLE_RIGHT,
    }
)
LEGEND = "LEGEND"
DIMENSION = "ISO-129"
ISO_129: Mapping[str, object] = MappingProxyType(
    {
        "dimtxsty": "SANS",
        "dimtxt": 2.3,  # sheet mm, as all that follows: height of the number's capitals
        "dimasz": 1.8,  # closed and filled arrows
        "dimexe": BEYOND,
        "dimexo": AWAY,
        "dimgap": 0.5,
        "dimtad": 1,  # the number stands above the line,
        "dimtih": 0,  # along it,
        "dimtoh": 0,  # also where it has no room between the extension lines
        "dimdec": 1,
        "dimzin": 8,  # 420 and not 420.0
        "dimdsep": ord("."),
        "dimlwd": 18,
        "dimlwe": 18,
    }
)  # ISO 129-1, from memory
BLACK_OR_WHITE = 7  # the colour that shows on any ground
PALE = 200  # of 255: what is brighter in all three colours is a tint of paper
FILLED = ("layer", "linetype", "true_color")
Sheet = Modelspace | BlockLayout
CODE = re.compile(r"\\(?=[UuMm]\+)")


def dxf(drawing: Drawing) -> bytes:
    """The drawing as a DXF file (R2010) in millimetres; the same drawing gives the same bytes."""
    with _no_clock():
        document = new("R2010", units=units.MM)
        _settings(document, drawing)
        space = document.modelspace()
        for shape in drawing.shapes:
            match shape:
                case Dimension():
                    _dimension(document, shape)
                case Legend():
                    for mark in marks_of(shape.parts):
                        _draw(space, mark, LEGEND)
                case _:
                    _draw(space, shape)
        stream = io.StringIO()
        document.write(stream)
    return stream.getvalue().encode("utf-8")


@contextmanager
def _no_clock() -> Iterator[None]:
    """Times and random ids of the file are constants meanwhile, so that the same plan gives the same bytes."""
    options = ezdxf.options  # type: ignore[attr-defined]  # documented, but not re-exported by name
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _settings(document: Document, drawing: Drawing) -> None:
    """Units, line types at the drawing's scale, layers, the font, and the window that it opens with."""
    left, bottom, right, top = drawing.box
    document.header["$MEASUREMENT"] = 1
    document.header["$LTSCALE"] = drawing.scale
    document.header["$EXTMIN"] = (left, bottom, 0.0)
    document.header["$EXTMAX"] = (right, top, 0.0)
    for name, dashes in LINE_TYPES.items():
        strokes = [length if n % 2 == 0 else -length for n, length in enumerate(dashes)]
        document.linetypes.add(name, [sum(dashes), *strokes])
    for layer in (*LAYERS, LEGEND):
        document.layers.add(layer, color=BLACK_OR_WHITE)
    document.styles.add("SANS", font=FONT)
    document.header["$DIMSTYLE"] = DIMENSION
    document.dimstyles.add(DIMENSION, dxfattribs={**ISO_129, "dimscale": drawing.scale})
    document.set_modelspace_vport(height=top - bottom, center=((left + right) / 2, (bottom + top) / 2))


def _draw(space: Sheet, shape: Mark, layer: str = "") -> None:
    """A mark on its own layer, or on another one."""
    if shape.style in LEFT_OUT:
        return
    look = _look(shape.style) | ({"layer": layer} if layer else {})
    match shape:
        case Line():
            _polyline(space, shape.points, look)
        case Strokes():
            for start, end in shape.lines:
                space.add_line(start, end, dxfattribs=look)
        case Polygon():
            space.add_lwpolyline(shape.points, close=True, dxfattribs=look)
            if shape.style in SOLID:
                _hatch(space, look).paths.add_polyline_path(shape.points, is_closed=True)
        case Circle():
            space.add_circle(shape.centre, shape.radius, dxfattribs=look)
            if shape.style in SOLID:
                _hatch(space, look).paths.add_edge_path().add_arc(shape.centre, shape.radius, 0.0, 360.0)
        case Text():
            _text(space, shape, look)


def _dimension(document: Document, shape: Dimension) -> None:
    """A dimension that measures by itself, with a block that shows it as it is drawn.

    The block is made of the same lines and letters as on paper: no font of the machine has a say in it.
    """
    dimension = (
        document.modelspace()
        .add_linear_dim(
            base=shape.at,
            p1=shape.start,
            p2=shape.end,
            angle=shape.turn,
            text=_number(shape),
            dimstyle=DIMENSION,
            dxfattribs={"layer": LAYER_OF["dimension"], "linetype": "CONTINUOUS", "color": BLACK_OR_WHITE},
        )
        .dimension
    )
    block = document.blocks.new_anonymous_block(type_char="D")
    for mark in marks_of(shape.parts):
        _draw(block, mark)
        if isinstance(mark, Text):
            dimension.dxf.text_midpoint = _middle(mark)
    dimension.dxf.defpoint = _on_line(shape)
    dimension.dxf.geometry = block.name


def _number(shape: Dimension) -> str:
    """What the dimension says: "<>", the length that it measures itself, where that prints as the number does."""
    name, colon, number = one_line(shape.words).rpartition(": ")
    axis = 0 if shape.turn == 0.0 else 1
    own = abs(shape.end[axis] - shape.start[axis])
    return f"{name}{colon}{'<>' if f'{own:.1f}'.removesuffix('.0') == number else number}"


def _on_line(shape: Dimension) -> Point:
    """Where the dimension line meets its second extension line."""
    return (shape.end[0], shape.at[1]) if shape.turn == 0.0 else (shape.at[0], shape.end[1])


def _middle(text: Text) -> Point:
    left, bottom, right, top = text_box(text)
    return (left + right) / 2, (bottom + top) / 2


def _polyline(space: Sheet, points: tuple[Point, ...], look: dict[str, object]) -> None:
    """A line that comes back to its start is closed and has no point twice."""
    closed = len(points) > 3 and points[0] == points[-1]
    space.add_lwpolyline(points[:-1] if closed else points, close=closed, dxfattribs=look)


def _hatch(space: Sheet, look: dict[str, object]) -> Hatch:
    """An empty solid fill in the colour and on the layer of its outline."""
    return space.add_hatch(color=BLACK_OR_WHITE, dxfattribs={key: look[key] for key in FILLED if key in look})


def _text(space: Sheet, shape: Text, look: dict[str, object]) -> None:
    attributes = {**look, "height": shape.height * CAPITAL, "rotation": shape.turn, "style": "SANS"}
    added = space.add_text(one_line(shape.text), dxfattribs=attributes)
    added.set_placement(shape.at, align=ANCHORS[shape.anchor])


def one_line(words: str) -> str:
    """The words as a DXF text shows them letter by letter: what would begin one of its codes is escaped.

    Control characters and lone surrogates, which would break the file, become spaces.
    """
    clean = "".join(sign if sign.isprintable() else " " for sign in words)
    clean = clean.replace("^", "^ ")  # ^ begins a control character, and "^ " is the caret itself
    clean = CODE.sub("\\g<0>\N{WORD JOINER}", clean)  # a backslash before U+ or M+ begins the number of a letter
    return clean.replace("%%", "%%%%%%")  # %% begins a code, and %%% is a percent sign


def _look(name: StyleName) -> dict[str, object]:
    """Layer, line type, width and colour of a style."""
    style = STYLES[name]
    stroke = style.stroke if style.stroke != "none" else _ink(style)
    look: dict[str, object] = {"layer": LAYER_OF[name], "linetype": _line_type(style.dash), "color": BLACK_OR_WHITE}
    if style.width:
        look["lineweight"] = min(WIDTHS, key=lambda width: abs(width - style.width * 100))
    if stroke != BLACK:
        look["true_color"] = rgb2int(RGB.from_hex(stroke))
    return look


def _ink(style: Style) -> str:
    """The colour of a style that has no stroke: that of its fill, if it shows on white."""
    bright = style.fill == "none" or min(RGB.from_hex(style.fill)) > PALE
    return BLACK if bright else style.fill


def _line_type(dash: tuple[float, ...]) -> str:
    """Chain lines have four lengths; of those with two the one with short strokes is dotted, the others are dashed."""
    if not dash:
        return "CONTINUOUS"
    if len(dash) > 2:
        return "CHAIN"
    return "DOTTED" if dash[0] <= dash[1] else "DASHED"
