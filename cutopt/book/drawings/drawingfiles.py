"""The drawings as files for other programmes: the site and the tiles, as SVG and as DXF."""

from __future__ import annotations

import logging

from cutopt.book.drawings.sidebyside import site_drawing, tiles_drawing
from cutopt.book.drawings.svg import svg_file
from cutopt.planfile.model import Plan

# ezdxf warns on being loaded where it cannot keep its list of fonts, which nothing here needs
logging.getLogger("ezdxf").addHandler(logging.NullHandler())

NAMES = ("site.svg", "site.dxf", "tiles.svg", "tiles.dxf")


def drawing_files(plan: Plan) -> dict[str, bytes]:
    """The files by their `NAMES`. SVG has y downwards, DXF upwards; both are in millimetres of the thing drawn.

    site: all areas side by side, with the numbers of pieces; in DXF with the supports as well, on a layer of their own.
    tiles: every source as it lies on the bench, both faces where its card has both.
    """
    from cutopt.book.drawings.dxf import dxf  # slow to load

    site, tiles = site_drawing(plan), tiles_drawing(plan)
    supported = site_drawing(plan, supports=True)
    made = (svg_file(site).encode(), dxf(supported), svg_file(tiles).encode(), dxf(tiles))
    return dict(zip(NAMES, made, strict=True))
