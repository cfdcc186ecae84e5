"""Ways to fill a cell, the preferred one first; the others are for where the carpentry refuses it.

A part of a cell is cut at the best mark within its gap; else next to the wall, far from it, or between two slats; else
slats that an oblique cut runs out thin are ended square before their tips (`cutopt.lay.tips`); else a slat fragment
too narrow for screws is dropped; else the first or last slat is. What that leaves open is listed. Where a post would be
enclosed, see `cutopt.lay.enclosed`; what a piece cannot be lifted over is taken for such a post.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from itertools import islice, product
from typing import Literal

import shapely

from cutopt.geometry import NEAR, NOTHING, polygon, polygons
from cutopt.lay.comings import stuck
from cutopt.lay.convex import roomy
from cutopt.lay.enclosed import around, elsewhere, led_out
from cutopt.lay.marking import beyond, shape_in
from cutopt.lay.marks import UNMARKED, Bench, Slide, Unmarked, mark_between
from cutopt.lay.pieces import BESIDE_POST, bare, joined, opened, piece_of, stout, together
from cutopt.lay.plots import Plot, shorn, squared
from cutopt.lay.records import Chord, Left, Shape, Way
from cutopt.lay.surveyed import Surveyed
from cutopt.lay.tips import untipped

MOST_WAYS = 16  # ways of a connected part of a cell
MOST_TOGETHER = 12  # ways of a cell of several parts
END_LEAST = 0.95  # of the rectangle around it: what is left of a shape's first or last slat, to be kept
HAIR = 96  # ticks: a narrower arm is none, but a step of a wall or post less than a saw can follow
BARRED = "its notch would be narrower where it opens than the post that it has to go on to"
Stage = Literal["slide", "tips", "within", "ends", "beyond"]
STAGES: tuple[Stage, ...] = ("slide", "tips", "within", "ends", "beyond")
SLIDES: tuple[Slide, ...] = ("widest", "narrowest", "between")


class Barred(Unmarked):
    """A piece could be marked out, but not laid."""


def ways(plots: list[Plot], area: Surveyed) -> Iterator[Way]:
    """Ways to fill all plots of a cell, fewest changes from the preferred one first. A plot with none stays open."""
    if len(plots) == 1:
        yield from _or_open(plots[0], area)
        return
    some = [_or_open(plot, area) for plot in plots]
    first = [next(others) for others in some]
    yield together(first)
    found = [[way, *others] for way, others in zip(first, some, strict=True)]
    choices = sorted(product(*(range(len(of_plot)) for of_plot in found)), key=lambda numbers: (sum(numbers), numbers))
    for numbers in choices[1:MOST_TOGETHER]:
        yield together([of_plot[k] for of_plot, k in zip(found, numbers, strict=True)])


def _or_open(plot: Plot, area: Surveyed) -> Iterator[Way]:
    """The plot's ways, or the one of leaving it open by the rule that refuses it."""
    found = 0
    try:
        for way in islice(ways_of(plot, area), MOST_WAYS):
            found += 1
            yield way
    except Unmarked as refusal:
        if not found:
            others = _slid_on(plot, area) if isinstance(refusal, Barred) else iter(())
            open_ = Way(pieces=(), left=opened(plot.needed, refusal.rule, str(refusal), plot.spot))
            first = next(others, open_)
            yield first
            yield from islice(others, MOST_WAYS - 1)


def _slid_on(plot: Plot, area: Surveyed) -> Iterator[Way]:
    """Ways for a plot whose own ones cannot be slid on to its posts: wider notches, then splits."""
    led, gone = led_out(plot, area) or (plot, NOTHING)
    some = [elsewhere(led, area, ways_of)] if led is plot else [ways_of(led, area), elsewhere(led, area, ways_of)]
    for ways_ in some:
        with suppress(Unmarked):
            for way in (way for way in ways_ if not _barred(way, plot)):
                bare_ = plot.needed.intersection(gone).difference(joined(way.pieces, area.strip))
                yield replace(way, left=(*way.left, *opened(bare_, "post_gap", BESIDE_POST, plot.spot)))


def _barred(way: Way, plot: Plot) -> bool:
    """Whether a piece cannot be slid on to the posts in its notches.

    It can where one post stands along the tiles or is round: its notch is as wide where it opens.
    """
    tall = [one for one in plot.uprights if not one.low]
    if not (len(tall) > 1 or any(one.turned and not one.round_cut for one in tall)):
        return False
    return any(stuck(piece.shape, [one.outline for one in tall]) for piece in way.pieces if piece.shape.notches)


def ways_of(plot: Plot, area: Surveyed) -> Iterator[Way]:
    """Ways to fill a plot. Raises `Unmarked` after the last one."""
    refusal: Unmarked | None = None
    barred: Barred | None = None
    variants = [*_trimmed(plot, area), *((tall, NOTHING) for tall in _not_lifted(plot))]
    seen: set[Shape] = set()
    for stage in STAGES:
        for variant, gone in variants:
            if stage != "slide" and variant.enclosed:
                continue  # its parts drop by themselves
            if stage != "slide" and not seen and refusal is not None and refusal.rule.startswith("thinnest"):
                continue  # what is too thin whole is so without a part
            some = around(variant, area, ways_of) if variant.enclosed else _cuts(variant, area, stage)
            try:
                for way in some:
                    shapes = {piece.shape for piece in way.pieces}
                    if not shapes <= seen and _barred(way, variant):
                        seen |= shapes
                        barred = Barred("mark", BARRED)
                    elif not shapes <= seen:
                        seen |= shapes
                        yield way if gone.is_empty else replace(way, left=(*way.left, *_arms(way, plot, gone, area)))
            except Unmarked as error:
                refusal = error if stage == "slide" and (refusal is None or variant is plot) else refusal
    raise barred or refusal or Unmarked("mark", UNMARKED)


def _not_lifted(plot: Plot) -> Iterator[Plot]:
    """The plot with what it could be lifted over taken for posts that it could not, where it has such."""
    if plot.region.interiors and any(one.low for one in plot.uprights) and not plot.enclosed:
        yield replace(plot, uprights=tuple(replace(one, low=False) for one in plot.uprights))


def _trimmed(plot: Plot, area: Surveyed) -> Iterator[tuple[Plot, shapely.Geometry]]:
    """The plot without arms too narrow to hold a screw, where it has such and the rest is one; then the plot itself.

    With each what is not to be covered for that: the arms, and what the gaps beside them would ask for.
    """
    least = area.job.rules.fragment_least
    if roomy(plot.base, least):
        yield plot, NOTHING
        return
    base = plot.base  # not beside round posts: there a notch's legs take what is too narrow
    firm = base.buffer(-least / 2, join_style="mitre").buffer(least / 2 + 1, join_style="mitre", mitre_limit=10)
    lost = polygons(base.difference(shapely.make_valid(firm)))  # mitres may cross where an arm is let go
    slivers = [part for part in lost if not part.buffer(-HAIR / 2).is_empty]
    if slivers:
        arms = shapely.union_all(slivers)
        rests, bases = (polygons(shorn(ground.difference(arms))) for ground in (plot.region, base))
        if len(rests) == 1 and bases:
            gone = arms.buffer(max((brink.slack for brink in plot.brinks), default=0.0) + NEAR, join_style="mitre")
            must = plot.needed.intersection(rests[0].buffer(NEAR)).difference(gone)
            rest = max(bases, key=lambda b: b.intersection(rests[0]).area)
            yield replace(plot, region=rests[0], base=rest, needed=must), gone
    yield plot, NOTHING


def _arms(way: Way, plot: Plot, gone: shapely.Geometry, area: Surveyed) -> tuple[Left, ...]:
    """What a piece without its plot's narrow arms leaves open there."""
    why = f"narrower than {area.job.rules.fragment_least / 320:g} mm, too narrow to hold a screw"
    wood = shapely.union_all([polygon(piece.shape.outline) for piece in way.pieces]).buffer(NEAR)
    if len(way.pieces) > 1:
        wood = wood.union(joined(way.pieces, area.strip))
    return opened(plot.needed.intersection(gone).difference(wood), "fragment_least", why, plot.spot)


def _cuts(plot: Plot, area: Surveyed, stage: Stage) -> Iterator[Way]:
    """One piece: its cuts at different places within the gap, or with fragments dropped. Raises `Unmarked`."""
    refusal: Unmarked | None = None
    if stage in ("tips", "ends"):
        yield from _shortened(shape_in(plot, area.bench), plot, area, ends=stage == "ends")
        return
    marked, benches = plot, _slides(area.bench)
    if stage != "slide":
        marked, benches = squared(plot), [replace(area.bench, drop="within" if stage == "within" else "beyond")]
    for bench in benches:
        try:
            shape = shape_in(marked, bench)
            stout(shape, area)
        except Unmarked as error:
            refusal = refusal or error
            if error.rule.startswith("thinnest") and bench.slide == "widest":
                refusal = error
                break  # nothing makes it wider
            continue
        whole = stage == "slide" and not plot.uprights  # then it covers all that it must
        yield Way(pieces=(piece_of(shape, plot, area),), left=() if whole else bare(shape, plot, area))
    if refusal is not None:
        raise refusal


def _slides(bench: Bench) -> list[Bench]:
    return [bench, *(replace(bench, slide=slide) for slide in SLIDES)]


def _shortened(shape: Shape, plot: Plot, area: Surveyed, *, ends: bool) -> Iterator[Way]:
    """A piece with an oblique edge, its slats' thin tips cut off, or its first or last slat left out, or both."""
    if shape.holes or not any(a[0] != b[0] and a[1] != b[1] for a, b in shape.chords):
        return
    for whole in _without_ends(shape, area) if ends else [shape]:
        for rest in [*untipped(whole, area), *([whole] if ends else [])]:
            with suppress(Unmarked):
                stout(rest, area)
                yield Way(pieces=(piece_of(rest, plot, area),), left=bare(rest, plot, area))


def _without_ends(shape: Shape, area: Surveyed) -> Iterator[Shape]:
    """A shape without its first slat, its last, or both, where they are cut: they may be too small to be held.

    Then without the next one as well.
    """
    for more in (0, 1):
        low, high = (_past_end(shape, area, at_low=at_low, more=more) for at_low in (True, False))
        for chords in ((low,), (high,), (low, high)):
            rest: Shape | None = shape
            for chord in chords:
                rest = beyond(rest, chord) if rest is not None and chord is not None else None
            if rest is not None:
                yield rest


def _sound(band: tuple[int, int], end: shapely.Geometry, area: Surveyed) -> bool:
    """Whether what is left of a slat is as wide as the slat, hardly oblique, and long enough for two backers."""
    u0, v0, u1, v1 = end.bounds
    whole = v1 - v0 >= band[1] - band[0] - NEAR and end.area >= END_LEAST * (u1 - u0) * (v1 - v0)
    return bool(whole and u1 - u0 >= area.job.rules.short_fragment)


def _past_end(shape: Shape, area: Surveyed, *, at_low: bool, more: int) -> Chord | None:
    """The cut on a mark in the gap past a shape's first or last slat, if that slat is cut obliquely.

    Further slats that are too short for a screw, which keeps its distance from both ends, go as well, and `more`.
    """
    tile, piece = area.job.tile, polygon(shape.outline)
    bands = sorted(slat.v for slat in tile.slats)
    ends = [(band, piece.intersection(shapely.box(0, band[0], tile.length, band[1]))) for band in bands]
    ends = [(band, end) for band, end in (ends if at_low else ends[::-1]) if end.area > NEAR * NEAR]
    if not ends or _sound(*ends[0], area):
        return None
    least = 2 * area.job.rules.screw_end * tile.screw_diameter
    gone = 1
    while gone < len(ends) and ends[gone][1].area < least * (ends[gone][0][1] - ends[gone][0][0]):
        gone += 1
    gone += more
    if gone >= len(ends):
        return None
    low, high = sorted((ends[gone - 1][0][at_low], ends[gone][0][not at_low]))
    at = mark_between(low, high, area.bench, from_low=not at_low)  # measured on the kept side
    if at is None:
        return None
    return ((0, at), (tile.length, at)) if at_low else ((tile.length, at), (0, at))
