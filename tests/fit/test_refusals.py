"""What is refused early, what a refusal says of how it was found, and what is remembered of mirror images."""

from __future__ import annotations

import dataclasses

import pytest

from cutopt.fit import Carpenter, Fit, Refusal, fit, fitting
from cutopt.fit.bearing import too_far_out
from cutopt.fit.fastening import Fastening
from cutopt.fit.places import Places
from cutopt.fit.probing import distances
from cutopt.fit.records import Fault, Seat
from cutopt.fit.searching import Bench, Search, hopeless
from cutopt.fit.seats import all_seats, kept_seats, usual_seats
from cutopt.fit.standing import Standing
from cutopt.fit.timber import Timber
from cutopt.geometry import Ring
from cutopt.tile import Tile
from tests.benchmarks.carpentry import drawn_pieces
from tests.fit.shapes import MM, NAMED, WORKED, Corners, across, placed, ring

# an ear of 33 x 51 mm beside a notch: its corner (0, 600) is 51.7 mm from the line through the nearest ends of backers,
# (10, 549) and (530, 594), and 30 are allowed
EAR: Corners = [(0, 0), (600, 0), (600, 600), (151, 600), (151, 549), (33, 549), (33, 600), (0, 600)]


def stopped(outline: Ring, tile: Tile) -> Fault | None:
    """What stops every way to hang a piece, before any of them is tried."""
    timber = Timber(tile=tile, rules=WORKED.job().rules, outline=outline)
    fastening = Fastening(timber=timber, limits=distances(timber.tile.design, timber.rules))
    seats = [*usual_seats(timber), *all_seats(timber, set_back=True), *all_seats(timber, set_back=False)]
    places = Places(fastening=fastening, seats=seats)
    return hopeless([places], Bench.of(places, kept_seats(timber)))


@pytest.mark.parametrize("seed", [5, 6])
def test_nothing_that_can_be_hung_is_hopeless(seed: int) -> None:
    rules, tiles = WORKED.job().rules, {name: anatomy.tile for name, anatomy in NAMED.items()}
    stops = 0
    for name, kind, outline in drawn_pieces(150, seed):
        fault = stopped(outline, tiles[name])
        stops += fault is not None
        if fault is not None:
            answer = fit(outline, tiles[name], rules)
            # slats that share lie elsewhere: such a piece is another one
            assert isinstance(answer, Refusal) or answer.share, (name, kind, outline, fault)
    assert stops > 10


def test_where_the_usual_places_are_hopeless_a_search_among_them_finds_nothing() -> None:
    rules, tiles, stops = WORKED.job().rules, {name: anatomy.tile for name, anatomy in NAMED.items()}, 0
    for name, kind, outline in drawn_pieces(150, 7):
        timber = Timber(tile=tiles[name], rules=rules, outline=outline)
        fastening = Fastening(timber=timber, limits=distances(timber.tile.design, rules))
        usual = Places(fastening=fastening, seats=usual_seats(timber))
        bench = Bench.of(usual, kept_seats(timber))
        if hopeless([usual], bench) is not None:
            stops += 1
            assert isinstance(Search(places=usual, bench=bench).least(), Fault), (name, kind, outline)
    assert stops > 10


def test_an_ear_that_nothing_can_bear_is_refused_at_once() -> None:
    fault = stopped(ring(EAR), WORKED.tile)
    assert fault is not None
    assert fault.rule == "face_past_bearing"
    answer = fit(ring(EAR), WORKED.tile, WORKED.job().rules)
    assert isinstance(answer, Refusal)
    assert answer.sure
    # without the ear there is nothing to bear
    assert stopped(ring([(0, 0), (600, 0), (600, 600), (151, 600), (151, 549), (0, 549)]), WORKED.tile) is None


def test_a_refusal_for_want_of_looks_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    rules, tiles = WORKED.job().rules, {name: anatomy.tile for name, anatomy in NAMED.items()}
    asked = [(tiles[name], outline) for name, _, outline in drawn_pieces(150, 5)]
    thorough = [fit(outline, tile, rules) for tile, outline in asked]
    monkeypatch.setattr(fitting, "LOOKS_ANEW", 1)
    lost = 0
    for (tile, outline), answer in zip(asked, thorough, strict=True):
        hasty = fit(outline, tile, rules)
        if isinstance(hasty, Refusal) and isinstance(answer, Fit):
            lost += 1
            assert not hasty.sure
            assert "looking ended before" in hasty.why
        elif isinstance(hasty, Refusal) and hasty.sure:
            assert "looking ended before" not in hasty.why
    assert lost


@pytest.mark.parametrize("name", NAMED)
def test_mirror_images_that_are_remembered_are_answered_as_if_worked_out(name: str) -> None:
    anatomy = NAMED[name]
    job = anatomy.job()
    carpenter = Carpenter(tile=job.tile, rules=job.rules)
    for _, _, outline in [one for one in drawn_pieces(120, 8) if one[0] == name]:
        for way in range(4):
            image = placed(outline, anatomy, way)
            assert carpenter.fit(image) == fit(image, job.tile, job.rules)


def test_a_ripped_backer_is_bored_where_a_wide_one_brings_its_holes() -> None:
    # holes of 22 mm want 11 + 10 = 21 mm of wood on both sides: 30 are there in a backer of 60, 20 in one ripped to 40
    tile = WORKED.tile
    tile = dataclasses.replace(tile, pin_holes=tuple(dataclasses.replace(h, diameter=22 * MM) for h in tile.pin_holes))
    standing = Standing(timber=Timber(tile=tile, rules=WORKED.job().rules, outline=across(WORKED, 420)))
    wide = Seat(u=380 * MM, width=60 * MM, span=(6 * MM, 594 * MM), reach=(0, 600 * MM), state="open", backer=None)
    assert standing.drilled_at_least(wide) == 0
    assert standing.drilled_at_least(dataclasses.replace(wide, width=40 * MM)) == 2


def test_a_piece_that_no_backer_could_hold_is_refused_by_what_its_face_rests_on() -> None:
    timber = Timber(
        tile=WORKED.job().tile, rules=WORKED.job().rules, outline=ring([(0, 0), (300, 0), (300, 600), (0, 600)])
    )
    fault = too_far_out(timber, ())
    assert fault is not None
    assert fault.rule in ("face_past_bearing", "wall_face_past_bearing")
