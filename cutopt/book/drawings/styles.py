"""How each kind of mark looks. Line widths, dashes and hatch spacing are millimetres on the sheet.

Line types follow ISO 128-2: visible edges continuous and wide, hidden edges dashed and narrow, centre lines long-dashed
dotted and narrow, dimensions continuous and narrow; the cut is extra wide. (The standard's conventions from memory.)
Colours are the eight of Okabe and Ito, "Color Universal Design" (2008), and greys. No meaning hangs on colour alone:
marks differ in line type, width, shape or word as well.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

BLACK = "#000000"
ORANGE = "#E69F00"
SKY = "#56B4E9"
GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILLION = "#D55E00"
PURPLE = "#CC79A7"
OKABE_ITO = (BLACK, ORANGE, SKY, GREEN, YELLOW, BLUE, VERMILLION, PURPLE)
WHITE = "#ffffff"
GREY = "#666666"

StyleName = Literal[
    "arrowhead",
    "backer",
    "backer-added",
    "backer-hidden",
    "backer-loose",
    "backer-moved",
    "backer-old",
    "band-down",
    "band-up",
    "band-text-down",
    "band-text-up",
    "bubble",
    "bubble-text",
    "cell-cut",
    "cell-hole",
    "cell-liftable",
    "cell-whole",
    "centre",
    "cut",
    "cut-dimension",
    "cut-leader",
    "cut-text",
    "dimension",
    "drain",
    "edge-flush",
    "edge-open",
    "edge-stone",
    "edge-wall",
    "ground",
    "hatch",
    "hatch-left",
    "hidden",
    "hole-drilled",
    "hole-kept",
    "hole-old",
    "home",
    "kerf",
    "label",
    "left",
    "move",
    "move-halo",
    "move-head",
    "offcut",
    "outline",
    "piece",
    "piece-hole",
    "piece-text",
    "plain",
    "post",
    "screw-kept",
    "screw-new",
    "screw-out",
    "side-text",
    "slat",
    "slat-faint",
    "slat-shared",
    "small",
    "pin",
    "support",
    "support-half",
    "support-quarter",
    "support-trimmed",
    "text",
    "wall-arrow",
    "wall-block",
    "wall-head",
    "waste",
    "waste-text",
]


@dataclass(frozen=True, kw_only=True, slots=True)
class Style:
    """Stroke and fill of a mark; for text, `fill` is its colour, and `halo` a white rim that keeps it legible."""

    stroke: str = "none"
    width: float = 0.0
    dash: tuple[float, ...] = ()
    fill: str = "none"
    bold: bool = False
    halo: bool = False


WIDE, MIDDLE, NARROW = 0.5, 0.35, 0.18
EXTRA_WIDE = 0.9
DASHED = (1.6, 0.8)
CHAIN = (4.0, 0.7, 0.4, 0.7)


def _line(width: float, colour: str = BLACK, dash: tuple[float, ...] = (), fill: str = "none") -> Style:
    return Style(stroke=colour, width=width, dash=dash, fill=fill)


def _text(colour: str = BLACK, *, bold: bool = False, halo: bool = True) -> Style:
    return Style(fill=colour, bold=bold, halo=halo)


STYLES: Mapping[StyleName, Style] = MappingProxyType(
    {
        # a tile
        "outline": _line(WIDE),
        "slat": _line(NARROW, "#8a8a8a"),
        "slat-shared": _line(MIDDLE, BLUE, (), "#eaf4fa"),
        "slat-faint": _line(0.1, "#bdbdbd"),
        "hidden": _line(NARROW, "#8a8a8a", DASHED),
        "centre": _line(NARROW, GREY, CHAIN),
        "piece": Style(fill=WHITE),
        "piece-hole": Style(fill="#ececec"),
        "waste": Style(fill="#ececec"),
        "hatch": _line(NARROW, "#a6a6a6"),
        "offcut": _line(NARROW, GREEN, CHAIN, "#eef7f3"),
        # backers, screws, holes
        "backer": _line(MIDDLE, BLACK, (), "#f4e9d0"),
        "backer-moved": _line(WIDE, BLUE, (), "#dcebf6"),
        "backer-added": _line(WIDE, GREEN, (), "#d9efe8"),
        "backer-loose": _line(NARROW, GREY),
        "backer-old": _line(NARROW, BLACK, DASHED),
        "backer-hidden": _line(NARROW, GREY, DASHED),
        "screw-kept": _line(NARROW, BLACK, (), WHITE),
        "screw-out": _line(MIDDLE, VERMILLION),
        "screw-new": _line(NARROW, BLACK, (), BLACK),
        "hole-kept": _line(MIDDLE, BLACK, (), WHITE),
        "hole-drilled": _line(WIDE, BLUE, (), YELLOW),
        "hole-old": _line(NARROW, GREY, (0.7, 0.5)),
        "move": _line(WIDE, BLUE),
        "move-halo": _line(1.4, WHITE),
        "move-head": Style(fill=BLUE),
        # cuts
        "cut": _line(EXTRA_WIDE, VERMILLION),
        "cut-leader": _line(EXTRA_WIDE, VERMILLION),
        "kerf": _line(MIDDLE, VERMILLION),
        "cut-dimension": _line(NARROW),
        "dimension": _line(NARROW, GREY),
        "arrowhead": Style(fill=BLACK),
        "bubble": _line(MIDDLE, BLACK, (), WHITE),
        "wall-arrow": _line(WIDE),
        "wall-block": _line(MIDDLE, BLACK, (), WHITE),
        "wall-head": Style(fill=BLACK),
        "home": Style(fill=BLACK),
        "band-down": Style(stroke=BLACK, width=MIDDLE, fill=BLACK),
        "band-up": Style(stroke=BLACK, width=MIDDLE, fill=WHITE),
        # a site
        "ground": Style(fill="#fafafa"),
        "cell-whole": _line(NARROW, "#9a9a9a", (), WHITE),
        "cell-cut": _line(MIDDLE, BLACK, (), "#dcebf6"),
        "cell-hole": Style(fill="#fafafa"),
        "cell-liftable": _line(WIDE, PURPLE, (1.2, 0.8)),
        "left": _line(NARROW, BLACK, (), "#ececec"),
        "hatch-left": _line(NARROW, BLACK),
        "post": _line(MIDDLE, BLACK, (), "#9a9a9a"),
        "drain": _line(MIDDLE, PURPLE),
        "support": _line(NARROW, BLACK, (), "#dcebf6"),
        "support-half": _line(WIDE, BLACK, (), WHITE),
        "support-quarter": _line(MIDDLE, BLACK, (0.8, 0.5), WHITE),
        "support-trimmed": _line(MIDDLE, BLACK, CHAIN, YELLOW),
        "pin": Style(fill=BLACK),
        "edge-wall": _line(EXTRA_WIDE),
        "edge-open": _line(MIDDLE, BLACK, CHAIN),
        "edge-flush": _line(WIDE),
        "edge-stone": _line(WIDE, BLACK, (0.5, 0.8)),
        # text
        "band-text-down": _text(WHITE, bold=True, halo=False),
        "band-text-up": _text(BLACK, bold=True, halo=False),
        "bubble-text": _text(BLACK, bold=True, halo=False),
        "cut-text": _text(BLACK, bold=True),
        "label": _text(BLACK, bold=True),
        "piece-text": _text(BLACK, bold=True),
        "plain": _text(BLACK, halo=False),
        "small": _text("#444444"),
        "side-text": _text(BLACK, bold=True),
        "text": _text(),
        "waste-text": _text("#444444"),
    }
)
