"""What can hurt, said once at the front of the book, each with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Caution:
    """One caution and its source."""

    words: str
    source: str


TRADE = "common practice"

CAUTIONS = (
    Caution(words="Guards, riving knife and push sticks stay on the table saw.", source="29 CFR 1910.213"),
    Caution(
        words="Eye protection at every cut; ear protection at the saws.", source="29 CFR 1910.133; ANSI/ISEA Z87.1"
    ),
    Caution(
        words="Hardwood dust harms the lungs and some of it the skin: extract it, wear a mask.",
        source="NIOSH limit 1 mg/m³; HSE EH40 and WIS30",
    ),
    Caution(words="No gloves, loose clothes or jewellery at a turning blade.", source=TRADE),
    Caution(words="Unplug before you change a blade or reach near it.", source=TRADE),
    Caution(
        words="Screws are steel: take out those that a card names before the cut, and look again before you saw.",
        source=TRADE,
    ),
    Caution(words="No loose wood between fence and blade; hold and clear offcuts with a stick.", source=TRADE),
    Caution(
        words="Rags with oil can take fire by themselves: a closed metal container, or spread out flat outdoors.",
        source="30 CFR 57.4104; 29 CFR 1926.252(e)",
    ),
    Caution(words="On a roof: fall protection at the edge from 6 ft (1.83 m) up.", source="29 CFR 1926.501(b)(1)"),
    Caution(
        words="Load on a roof, wind on loose tiles, guards at edges: a licensed engineer decides.",
        source="IBC chapters 15 and 16; ASCE 7; ANSI/SPRI RP-4",
    ),
    Caution(
        words="An edge or a narrow strip that stands proud trips people: see what the plan leaves open.", source=TRADE
    ),
)

DEFERS = (
    "The instructions of the makers of tile, support, saw and sealer, local codes and the advice of licensed people "
    "come before this book. It says how to cut and re-hang tiles. "
    "It claims no strength and no resistance to load or wind."
)
