"""Ids are unique, what is referred to exists, and each piece is cut as often as it is laid."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from cutopt.checks.evidence import hardware_of
from cutopt.checks.finding import Fault, fault
from cutopt.planfile import Plan
from cutopt.planfile.model import PinHole, Screw, Source


def names(plan: Plan) -> Iterator[Fault]:
    """All faults of ids and references."""
    yield from _unique("piece", [piece.id for piece in plan.pieces])
    yield from _unique("source", [source.id for source in plan.sources])
    yield from _unique("stock", [stock.id for stock in plan.stock])
    yield from _unique("area", [area.name for area in plan.areas])
    yield from _unique("backer", [backer.id for source in plan.sources for backer in source.backers])
    yield from _unique("offcut", [offcut.id for source in plan.sources for offcut in source.offcuts])
    yield from _cells_and_pieces(plan)
    for source in plan.sources:
        yield from _in_source(plan, source)
    yield from _demand(plan)
    yield from _stock_once(plan)
    known = {area.name for area in plan.areas}
    for support in plan.supports:
        if support.area not in known:
            yield fault("reference", f"support at {support.at}", f"stands in an unknown area {support.area!r}")


def _unique(kind: str, ids: list[str]) -> Iterator[Fault]:
    for name, count in Counter(ids).items():
        if count > 1:
            yield fault("unique-id", f"{kind} {name}", f"the id is used {count} times")


def _cells_and_pieces(plan: Plan) -> Iterator[Fault]:
    cells = {(area.name, cell.row, cell.col): cell for area in plan.areas for cell in area.cells}
    for area in plan.areas:
        yield from _unique(f"{area.name} cell", [f"({cell.row}, {cell.col})" for cell in area.cells])
        yield from _unique(f"{area.name} laying order", [str(c.order) for c in area.cells if c.kind != "left"])
    pieces = {piece.id: piece for piece in plan.pieces}
    for piece in plan.pieces:
        cell = cells.get((piece.area, piece.row, piece.col))
        if cell is None:
            yield fault(
                "reference", f"piece {piece.id}", f"its cell ({piece.row}, {piece.col}) is not in {piece.area!r}"
            )
        elif piece.id not in cell.pieces:
            yield fault("reference", f"piece {piece.id}", f"its cell ({piece.row}, {piece.col}) does not list it")
    for (name, row, col), cell in cells.items():
        for wanted in cell.pieces:
            found = pieces.get(wanted)
            if found is None or (found.area, found.row, found.col) != (name, row, col):
                yield fault("reference", f"{name} cell ({row}, {col})", f"lists {wanted}, which is no piece of it")


def _in_source(plan: Plan, source: Source) -> Iterator[Fault]:
    where = f"source {source.id}"
    hardware = hardware_of(plan, source)
    if hardware is None:
        yield fault("reference", where, f"comes from {source.from_!r}, which is neither new nor in the stock")
        return
    if source.uses < 1:
        yield fault("uses", where, f"is used {source.uses} times; at least once is meant")
    placed = {placement.piece for placement in source.placements}
    backers = {backer.id: backer.piece for backer in source.backers}
    slats = {slat.id for slat in hardware.slats}
    yield from _known(where, "piece", (b.piece for b in source.backers), placed)
    yield from _known(where, "piece", (s.piece for s in source.slats), placed)
    yield from _known(where, "piece", (s.piece for s in source.sealed), placed)
    yield from _known(where, "piece", (c.piece for c in source.cuts), placed)
    yield from _known(where, "slat", (str(s.slat) for s in source.slats), {str(slat) for slat in slats})
    yield from _known(where, "slat", (str(s.slat) for s in source.screws), {str(slat) for slat in slats})
    yield from _known(where, "screw", source.screws_out, {screw.id for screw in hardware.screws})
    yield from _unique(f"{where} screw out", list(source.screws_out))
    fittings: list[Screw | PinHole] = [*source.screws, *source.pin_holes]
    for fitting in fittings:
        if backers.get(fitting.backer) != fitting.piece:
            text = (
                f"a screw or hole at ({fitting.u}, {fitting.v}) sits in {fitting.backer}, no backer of {fitting.piece}"
            )
            yield fault("reference", where, text)


def _known(where: str, kind: str, used: Iterable[str], known: set[str]) -> Iterator[Fault]:
    for name in sorted(set(used) - known):
        yield fault("reference", where, f"refers to {kind} {name}, which it does not have")


def _demand(plan: Plan) -> Iterator[Fault]:
    made: Counter[str] = Counter()
    for source in plan.sources:
        yield from _unique(f"source {source.id} placement of piece", [p.piece for p in source.placements])
        if not source.placements:
            yield fault("demand", f"source {source.id}", "nothing is cut from it")
        for placement in source.placements:
            made[placement.piece] += source.uses
    counts = {area.name: area.count for area in plan.areas}
    for piece in plan.pieces:
        wanted = counts.get(piece.area, 1)
        if made[piece.id] != wanted:
            yield fault("demand", f"piece {piece.id}", f"is cut {made[piece.id]} times and laid {wanted} times")
    for name in sorted(set(made) - {piece.id for piece in plan.pieces}):
        yield fault("reference", f"piece {name}", "is placed on a source and not among the pieces")


def _stock_once(plan: Plan) -> Iterator[Fault]:
    used: Counter[str] = Counter()
    for source in plan.sources:
        if source.from_ != "new":
            used[source.from_] += source.uses
    for name, count in used.items():
        if count > 1:
            yield fault("stock-once", name, f"is cut {count} times; a racked offcut is there once")
