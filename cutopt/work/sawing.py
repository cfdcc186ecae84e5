"""At the saw: fence or guide, kept side, which face up, what is clamped, and a sum to check against."""

from __future__ import annotations

from cutopt.cut import SawCut
from cutopt.hang.hanging import screwed_while_sawn
from cutopt.lengths import mm
from cutopt.planfile.model import Setup
from cutopt.work.names import SIDES, STATIONS, listed
from cutopt.work.notches import finish_text, prepare, starter
from cutopt.work.slate import Draft, Face, Slate, face_at
from cutopt.work.stubs import fallen, stubs_text

STICK = 150 * 320  # ticks between fence and blade: less is no room for a hand; common practice, no source


def cut(slate: Slate, n: int) -> list[Draft]:
    """The steps of cut number `n` from 0: a starter hole, the guided saw's share of a long notch, then the cut."""
    one = slate.source.tile.tree.cuts[n]
    steps = [*starter(slate, n), *prepare(slate, n)]
    steps.append(_fenced(slate, n, one) if one.fence is not None else _followed(slate, n, one))
    return steps


def _fenced(slate: Slate, n: int, cut: SawCut) -> Draft:
    """Along the table saw's fence."""
    assert cut.fence is not None
    assert cut.datum is not None
    assert cut.size is not None
    kept, away = slate.piece(cut.place), slate.ids.part(slate.number, cut.right)
    rest = cut.size - cut.fence - cut.kerf
    near, far = (kept, away) if cut.kept_at_fence else (away, kept)
    text = (
        f"Face up. Fence at {slate.say.length(cut.fence)}, the {SIDES[cut.datum]} along it: {near or 'waste'} runs "
        f"between fence and blade. Saw right through; {far or 'dust'} is free on the other side."
    )
    if not cut.kept_at_fence:
        text += f" {kept} must then measure {slate.say.length(rest)}."
    if cut.fence < STICK:
        text += " So little runs between fence and blade that no hand goes there: push sticks."
    if cut.loose_at_fence:
        text += " Not all of it is screwed together now: clamp a batten across it first."
    text += _clamped(cut) + stubs_text(slate, n)
    terms = [cut.fence, cut.kerf, rest] if rest > 0 else [cut.fence, cut.size - cut.fence]
    total = " + ".join(slate.say.length(x, unit=False) for x in terms)
    total = f"{total} = {slate.say.length(cut.size, unit=False)}"
    return slate.draft(
        "cut", "table saw", "up", text, slate.job.rules.rate_table_saw, cut=n + 1, places=(cut.place,),
        setup=Setup(fence=mm(cut.fence), datum=cut.datum), sum=total,
        falls_off=_falls(slate, cut, away) + fallen(slate, n),
    )  # fmt: skip


def _followed(slate: Slate, n: int, cut: SawCut) -> Draft:
    """Along a marked line, with the guided saw or the jigsaw."""
    kept, away = slate.piece(cut.place), slate.ids.part(slate.number, cut.right)
    face = face_at(cut, slate.job.rules)
    text = (
        f"Face {face}. Cut {n + 1}: {_how(cut, face)}; the blade runs beside the line, in the waste, never in {kept}."
    )
    text += _supported(slate, n, cut) + _clamped(cut) + stubs_text(slate, n)
    return slate.draft(
        "cut", STATIONS[cut.saw], face, text, slate.rate(cut.saw), cut=n + 1, places=(cut.place,),
        falls_off=_falls(slate, cut, away) + fallen(slate, n),
    )  # fmt: skip


def _how(cut: SawCut, face: Face) -> str:
    """How the blade is led along the line."""
    if cut.bent:
        return finish_text(cut)
    if cut.saw == "jigsaw":
        return "clamp the part down and saw along the marked line"
    packed = "pack the part up off its backers, wood under the slats on both sides of the line; "
    return f"{packed if face == 'up' else ''}clamp the part down and the guide along the marked line"


def _supported(slate: Slate, n: int, cut: SawCut) -> str:
    """A caution where what a notch saws out is wanted for other pieces."""
    tree = slate.source.tile.tree
    wanted = [slate.piece(p) for p, part in enumerate(tree.finished) if tree.out_of_notch(part) == n]
    if not wanted:
        return ""
    away = slate.ids.part(slate.number, cut.right)
    if wanted == [away]:
        return f" Keep {away} from dropping: it is wanted."
    return f" Keep {away} from dropping: {listed(wanted)} {'is' if len(wanted) == 1 else 'are'} cut out of it."


def _clamped(cut: SawCut) -> str:
    """A caution where the blade crosses slats that no screw holds at that moment."""
    if not cut.loose:
        return ""
    slats = f"slat{'s' * (len(cut.loose) > 1)} {listed([str(slat) for slat in cut.loose])}"
    return f" No screw holds {slats} in this part now: clamp a batten across before you saw."


def _falls(slate: Slate, cut: SawCut, away: str) -> str:
    """What comes off: a part that stays whole, or loose slat ends that want clearing away."""
    if not away:
        return "only dust falls off"
    rest = next((rest for rest in slate.source.rests if rest.part == cut.right), None)
    if rest is not None and not screwed_while_sawn(rest, slate.source, slate.job.tile):
        return f"{away} falls off in loose slat ends: clear them with a stick, the blade stopped"
    return f"{away} falls {'out' if cut.closed else 'off'}"
