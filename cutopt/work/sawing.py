"""At the saw: fence, kept side, and a sum to check against."""

from __future__ import annotations

from cutopt.cut import SawCut
from cutopt.hang.hanging import screwed_while_sawn
from cutopt.lengths import mm
from cutopt.planfile.model import Setup
from cutopt.work.names import SIDES, STATIONS
from cutopt.work.slate import Draft, Face, Slate, Station


def cut(slate: Slate, n: int) -> Draft:
    cut = slate.source.tile.tree.cuts[n]
    rules = slate.job.rules
    station: Station = STATIONS[cut.saw]  # type: ignore[assignment]
    kept, away = slate.piece(cut.place), slate.ids.part(slate.number, cut.right)
    falls = _falls(slate, cut, away)
    if cut.fence is not None and cut.datum is not None and cut.size is not None:
        rest = cut.size - cut.fence - cut.kerf
        near, far = (kept, away) if cut.kept_at_fence else (away, kept)
        text = (
            f"Face up. Fence at {slate.say.length(cut.fence)}, the {SIDES[cut.datum]} along it: {near or 'waste'} runs "
            f"between fence and blade. Saw right through; {far or 'dust'} is free on the other side."
        )
        if not cut.kept_at_fence:
            text += f" {kept} must then measure {slate.say.length(rest)}."
        terms = [cut.fence, cut.kerf, rest] if rest > 0 else [cut.fence, cut.size - cut.fence]
        total = " + ".join(slate.say.length(x, unit=False) for x in terms)
        total = f"{total} = {slate.say.length(cut.size, unit=False)}"
        return slate.draft(
            "cut", station, "up", text, rules.rate_table_saw, cut=n + 1, places=(cut.place,),
            setup=Setup(fence=mm(cut.fence), datum=cut.datum), sum=total,
            falls_off=falls,
        )  # fmt: skip
    notch = len(cut.path) > 2
    face: Face = "down" if cut.saw == "jigsaw" else "up"
    how = "Saw along the marked line into each inside corner" if notch else "Clamp the guide along the marked line"
    text = f"Face {face}. Cut {n + 1}: {how}; the blade runs beside the line, in the waste, never in {kept}."
    rate = rules.rate_jigsaw if cut.saw == "jigsaw" else rules.rate_guided_saw
    return slate.draft(
        "cut", station, face, text, rate, cut=n + 1, places=(cut.place,), falls_off=falls,
    )  # fmt: skip


def _falls(slate: Slate, cut: SawCut, away: str) -> str:
    """What comes off: a part that stays whole, or loose slat ends that want clearing away."""
    if not away:
        return "only dust falls off"
    rest = next((rest for rest in slate.source.rests if rest.part == cut.right), None)
    if rest is not None and not screwed_while_sawn(rest, slate.source, slate.job.tile):
        return f"{away} falls off in loose slat ends: clear them with a stick, the blade stopped"
    return f"{away} falls off"
