"""Which screws hold each fragment at each seat, with their distances in slat and backer."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from cutopt.fit.probing import Distances, Grip, Probe, Span, grips_of
from cutopt.fit.records import Drive, Seat
from cutopt.fit.timber import Timber
from cutopt.fit.widths import strands, widest
from cutopt.tile import Point


@dataclass(frozen=True, kw_only=True, slots=True)
class Crossing:
    """A fragment over a seat, and the screws that it has there (none where no place is good)."""

    grip: Grip
    drives: tuple[Drive, ...]


@dataclass(frozen=True, kw_only=True)
class Fastening:
    """The screws of one piece."""

    timber: Timber
    limits: Distances
    _steady: dict[tuple[int, Span], tuple[int, ...]] = field(default_factory=dict)
    _sound: dict[tuple[int, int, Span], list[Point]] = field(default_factory=dict)
    _drives: dict[tuple[int, Point, bool], Drive] = field(default_factory=dict)

    @cached_property
    def grips(self) -> tuple[Grip, ...]:
        """What each fragment offers to screws."""
        return grips_of(self.timber, self.limits)

    def at(self, seat: Seat) -> list[Crossing]:
        """The fragments over a seat that are wide enough there: screws that may stay, new ones where it has none.

        New screws of a seat keep `screw_row` from one another, in one crossing and from crossing to crossing.
        """
        probe = Probe(timber=self.timber, seat=seat, limits=self.limits)
        found = []
        for grip in self.grips:
            u0, _, u1, _ = grip.box
            if not seat.lean and not u0 <= seat.u <= u1:
                continue
            across = self._across(grip, seat)
            if across is None:
                continue
            drives = self._kept(seat, grip, across)
            if not drives:
                drives = self._new(probe, grip, across)
                probe.fresh.extend(drive.at for drive in drives)
            found.append(Crossing(grip=grip, drives=drives))
        return found

    def _across(self, grip: Grip, seat: Seat) -> Span | None:
        """The fragment's widest extent across over the seat, None where it is too narrow to be screwed."""
        if grip.square and not seat.lean:
            u0, v0, u1, v1 = grip.box
            across: Span | None = (v0, v1) if u0 <= seat.u < u1 else None
        elif seat.lean:
            low, high = seat.span
            across = widest(strands(grip.fragment, seat.u, seat.lean / (high - low), (low + high) / 2))
        else:
            across = widest(grip.strands(seat.u))
        if across is None or across[1] - across[0] < self.timber.rules.fragment_least:
            return None
        return across if max(across[0], seat.span[0]) < min(across[1], seat.span[1]) else None

    def _kept(self, seat: Seat, grip: Grip, across: Span) -> tuple[Drive, ...]:
        """The tile's own screws that stay."""
        if seat.backer is None or grip.fragment.shared:
            return ()
        near, least = self.timber.rules.kept_screw_edge, self.timber.rules.fragment_least
        return tuple(
            Drive(fragment=grip.number, at=screw.at, screw=screw.id)
            for screw in self.timber.screws_at.get((seat.backer, grip.fragment.slat), ())
            if across[0] <= screw.at[1] <= across[1]
            and (screw.at[0] == seat.u or grip.wide(screw.at, least))
            and self._off_sawn_ends(seat, screw.at[1])
            and self.timber.to_sawn(screw.at) >= near
        )

    def _off_sawn_ends(self, seat: Seat, v: int) -> bool:
        """Whether a kept screw is far enough from those ends of its backer that a cut makes."""
        full = self.timber.backer(seat.backer or 0).v
        near = self.timber.rules.kept_screw_edge
        low = near if seat.span[0] > full[0] else 0
        high = near if seat.span[1] < full[1] else 0
        return seat.span[0] + low <= v <= seat.span[1] - high

    def _new(self, probe: Probe, grip: Grip, across: Span) -> tuple[Drive, ...]:
        """New screws of a fragment: where the slat had them if that keeps the distances, else one that does."""
        narrow = across[1] - across[0] < self.timber.rules.fragment_normal
        good = self._own_places(probe, grip)
        if probe.elsewhere:
            good = [at for at in good if probe.in_row(at)]
        if good:
            return tuple(self._drive(grip.number, at, predrilled=narrow) for at in good[: 1 if narrow else None])
        spots = probe.spots(grip)
        # elsewhere it keeps the full end distance in the backer too, or what kept screws keep, predrilled
        sawn = self.timber.rules.kept_screw_edge if probe.seat.backer is None else 0
        for end in dict.fromkeys((self.limits.end, max(self.limits.backer_end, sawn))):
            first = probe.first(grip, spots, across, end)
            if first is not None:
                probe.elsewhere.append(first)
                predrilled = narrow or end < self.limits.end
                return (self._drive(grip.number, first, predrilled=predrilled),)
        return ()

    def _drive(self, number: int, at: Point, *, predrilled: bool) -> Drive:
        """A new screw, one for all seats of one place."""
        key = number, at, predrilled
        found = self._drives.get(key)
        if found is None:
            found = self._drives[key] = Drive(fragment=number, at=at, screw=None, predrilled=predrilled)
        return found

    def _own_places(self, probe: Probe, grip: Grip) -> list[Point]:
        """The slat's own places that keep all distances but those to other new screws, whatever the backer's width."""
        seat, limits = probe.seat, self.limits
        open_straight = seat.backer is None and not seat.lean
        key = grip.number, seat.u, seat.span
        if open_straight and key in self._sound:
            return self._sound[key]
        own = self._own(probe, grip)
        if not own:
            good = []
        elif probe.undisturbed(grip):
            good = [(seat.u, v) for v in own]
        else:
            spots = probe.spots(grip)
            places = [(round(seat.u_at(v)), v) for v in own]
            # where a backer is hung in an old row, the slat's holes are used again
            again = {at for at in places if at in grip.old} if seat.backer is None else set()
            free = {at: probe.spots(grip, at) if at in again else spots for at in places}
            good = [at for at in places if probe.sound(grip, free[at], at, limits.backer_end)]
        if seat.backer is None:  # its board may be sawn at both ends
            near = self.timber.rules.kept_screw_edge
            low, high = seat.span[0] + near, seat.span[1] - near
            good = [at for at in good if low <= at[1] <= high]
        if open_straight:
            self._sound[key] = good
        return good

    def _own(self, probe: Probe, grip: Grip) -> tuple[int, ...]:
        """Where across the slat's own places are, less those that are too near a backer's end or the pin holes of wood
        from elsewhere: these it brings along wherever along the slats it hangs.
        """
        seat = probe.seat
        if seat.lean or seat.backer is not None or not grip.square:
            return grip.own
        key = grip.number, seat.span
        if key not in self._steady:
            holes = probe.holes
            self._steady[key] = tuple(
                v for v in grip.own if probe.sound_across(grip, v) and probe.clear_of((seat.u, v), holes)
            )
        return self._steady[key]
