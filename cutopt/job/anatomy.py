"""The [tile] table → the tile: where its slats, backers, screws and pin holes lie."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from functools import cache
from typing import Any

from cutopt.job.ledger import Ledger
from cutopt.job.raw import Reading, TileTable
from cutopt.job.shape import read_table
from cutopt.job.soundness import check_tile, warnings_for
from cutopt.rules import Rules
from cutopt.shipped import shared_text
from cutopt.tile import Backer, PinHole, Point, Screw, Slat, Support, Tile
from cutopt.wording import nearest

_GAP_SLIP = 160  # ticks: 0.5 mm in all between slats, a gap that is given, and the tile's width


def read_tile(value: object, rules: Rules, ledger: Ledger, reading: Reading) -> Tile | None:
    """The job's tile, or None where its anatomy cannot be made out. Notes every mistake.

    A tile with mistakes is still handed on, so that what else depends on it is checked in the same run.
    """
    full = _with_shipped(value, ledger)
    table = read_table(TileTable, full, "tile", ledger, reading) if full is not None else None
    if table is None:
        return None
    if table.thickness not in (None, table.slats.thickness + table.backers.thickness):
        both = ledger.length(table.slats.thickness + table.backers.thickness)
        rule = f"slats and backers add up to {both}"
        ledger.add("tile.thickness", ledger.length(table.thickness), rule, "correct one of them, or leave it out")
    tile = _tile(table, _tile_name(table, value))
    if not _slats_add_up(table, ledger) or not check_tile(tile, ledger):
        return tile
    return replace(tile, warnings=warnings_for(tile, rules, ledger.length))


@cache
def shipped_tiles() -> dict[str, Any]:
    """The tables of the tiles that come with cutopt, by name, as they are written."""
    return tomllib.loads(shared_text("tiles.toml"))


def _with_shipped(value: object, ledger: Ledger) -> object:
    """The table over that of the tile that it uses; None where that one is not known."""
    if not isinstance(value, dict) or not isinstance(value.get("use"), str):
        return value
    use, tiles = value["use"], shipped_tiles()
    if use not in tiles:
        rule = f"is one of {', '.join(tiles)}"
        ledger.add("tile.use", use, rule, nearest(use, tiles) or "use one of these, or give the tile in full")
        return None
    full = dict(tiles[use])
    for key, own in value.items():
        both = isinstance(own, dict) and isinstance(full.get(key), dict)
        full[key] = {**full[key], **own} if both else own
    return full


def _tile_name(table: TileTable, value: object) -> str:
    if table.name or not table.use:
        return table.name or "own tile"
    return table.use if value == {"use": table.use} else f"{table.use}, changed"


def _slats_add_up(table: TileTable, ledger: Ledger) -> bool:
    """Whether slats and gaps fill the tile's width; notes why not."""
    count, width, gaps = table.slats.count, table.slats.width, table.slats.count - 1
    wood, free, given = count * width, table.width - count * width, table.slats.gap
    whole = ledger.length(table.width)
    wrong = ""
    if free < 0 or (gaps == 0 and free > 0):
        wrong = f", the tile is {whole} wide"
    elif free > gaps * width:
        wrong = f", which leaves gaps wider than a slat in {whole}"
    elif given is not None and abs(given * gaps - free) > _GAP_SLIP:
        wrong = f", with gaps of {ledger.length(given)} {ledger.length(wood + given * gaps)}, not {whole}"
    if wrong:
        what = f"{count} x {ledger.length(width)}"
        rule = f"slats and gaps do not add up: {count} slats of {ledger.length(width)} are {ledger.length(wood)}{wrong}"
        ledger.add("tile.slats", what, rule, "correct the count, the slats' width or the tile's")
    return not wrong


def _slats(table: TileTable) -> tuple[Slat, ...]:
    """Slats from side to side of the tile at equal gaps; ticks left over are spread evenly about the middle."""
    count, width = table.slats.count, table.slats.width
    free = table.width - count * width
    starts = [i * width + _spread(free, count - 1, i) for i in range(count)]
    return tuple(Slat(id=i, v=(start, start + width)) for i, start in enumerate(starts, start=1))


def _spread(total: int, gaps: int, upto: int) -> int:
    """The sum of the first `upto` of `gaps` nearly equal whole parts of `total`, the same seen from either end."""
    if not gaps:
        return 0
    if 2 * upto > gaps:
        return total - _spread(total, gaps, gaps - upto)
    return total * upto // gaps


def _tile(table: TileTable, name: str) -> Tile:
    slats = _slats(table)
    inset, width = table.backers.inset, table.width
    backers = tuple(
        Backer(id=i, u=u, width=table.backers.width, v=(inset, width - inset))
        for i, u in enumerate(table.backers.at, start=1)
    )
    return Tile(
        name=name,
        length=table.length,
        width=width,
        slat_thickness=table.slats.thickness,
        backer_thickness=table.backers.thickness,
        density=table.density,
        gauge=table.screws.gauge,
        support=Support(
            pad=(table.support.pad[0], table.support.pad[1]),
            pin_offset=table.support.pin_offset,
            pin=table.support.pin,
            height=table.support.height,
        ),
        slats=slats,
        backers=backers,
        screws=_screws(table, slats, backers),
        pin_holes=_pin_holes(table, backers),
    )


def _screws(table: TileTable, slats: tuple[Slat, ...], backers: tuple[Backer, ...]) -> tuple[Screw, ...]:
    inset = table.screws.inset if table.screws.a_crossing == 2 else None
    screws = []
    for slat in slats:
        low, high = slat.v
        places = ((low + high) // 2,) if inset is None else (low + inset, high - inset)
        screws += [
            Screw(id=f"{slat.id}.{backer.id}{letter}", slat=slat.id, backer=backer.id, at=(backer.u, v))
            for backer in backers
            for letter, v in zip("ab", places, strict=False)
        ]
    return tuple(screws)


def hole_insets(table: TileTable) -> Point:
    """The pin holes' distance from the tile's edges, along and across."""
    inset = table.pin_holes.inset
    return (inset[0], inset[1]) if isinstance(inset, list) else (inset, inset)


def _pin_holes(table: TileTable, backers: tuple[Backer, ...]) -> tuple[PinHole, ...]:
    """Four holes, one near each corner, in the first and the last backer."""
    along, across = hole_insets(table)
    us = ((along, min(backers, key=lambda b: b.u).id), (table.length - along, max(backers, key=lambda b: b.u).id))
    places = [(u, v, backer) for u, backer in us for v in (across, table.width - across)]
    return tuple(
        PinHole(id=i, backer=backer, at=(u, v), diameter=table.pin_holes.diameter)
        for i, (u, v, backer) in enumerate(places, start=1)
    )
