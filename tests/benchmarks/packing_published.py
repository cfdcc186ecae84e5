"""Published values to hold packings against, typed in with their sources.

Two dimensions: 500 instances, ten for each class and number of items; items are not turned, the values are sums over
the ten. Classes 1-6: Berkey and Wang, J. Operational Research Society 38 (1987); 7-10: Martello and Vigo, Management
Science 44 (1998). Bounds hold with and without guillotine cuts: the better of the bounds published with the instances
by the operations research group in Bologna, and of pairs of dual feasible functions. The best known values are those of
free cutting (the cuts need not be guillotine), which is never harder than ours:

(Journals from memory.)

B  Goncalves and Resende, Int. J. Production Economics 145 (2013)
E  Blum and Schmid, Procedia Computer Science 18 (2013)
G  Parreno, Alvarez-Valdes, Oliveira and Tamarit, Annals of Operations Research 179 (2010)
P  Cid-Garcia and Rios-Solis, PLOS ONE 15 (2020)
"""

from __future__ import annotations

from dataclasses import dataclass

NUMBERS = (20, 40, 60, 80, 100)

# class: bounds by number of items, best known values, and who found those
_SUMS = {
    1: ((71, 134, 198, 275, 317), (71, 134, 200, 275, 317), ("BEGP", "BEGP", "BEGP", "BEGP", "BEGP")),
    2: ((10, 19, 25, 31, 39), (10, 19, 25, 31, 39), ("BEGP", "BEGP", "BEGP", "BEGP", "BEGP")),
    3: ((51, 92, 137, 188, 221), (51, 94, 139, 189, 223), ("BEGP", "BEG", "BEG", "BEG", "BG")),
    4: ((10, 19, 23, 30, 37), (10, 19, 23, 31, 37), ("BEG", "BEG", "E", "BEG", "BE")),
    5: ((60, 116, 177, 241, 279), (65, 119, 180, 247, 281), ("BEG", "BEG", "BEG", "BEG", "B")),
    6: ((10, 15, 21, 30, 32), (10, 16, 21, 30, 32), ("BEG", "B", "BEG", "BEG", "E")),
    7: ((53, 109, 156, 224, 269), (55, 111, 158, 232, 271), ("BEG", "BEG", "B", "BEG", "BEG")),
    8: ((55, 112, 159, 223, 274), (58, 113, 161, 224, 277), ("BEG", "BEG", "BEG", "BEG", "E")),
    9: ((143, 275, 435, 574, 693), (143, 278, 437, 577, 695), ("BEG", "BEG", "BEG", "BEG", "BEG")),
    10: ((40, 72, 97, 123, 153), (42, 74, 100, 128, 158), ("BEG", "BEG", "BG", "BE", "B")),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Published:
    """Sums over the ten instances of a group, and the letters of those who published the best value."""

    bound: int
    best: int
    found_by: str


def published(kind: int, items: int) -> Published:
    """What is known of the ten instances of that class and number of items."""
    bounds, values, letters = _SUMS[kind]
    place = NUMBERS.index(items)
    return Published(bound=bounds[place], best=values[place], found_by=letters[place])


@dataclass(frozen=True, kw_only=True, slots=True)
class Textbook:
    """A cutting stock problem from a textbook: lengths, how often each is wanted, the bar, and the fewest bars."""

    name: str
    stock: int
    lengths: tuple[int, ...]
    demand: tuple[int, ...]
    fewest: int
    source: str

    @property
    def items(self) -> list[int]:
        return [length for length, count in zip(self.lengths, self.demand, strict=True) for _ in range(count)]


TEXTBOOK = (
    Textbook(
        name="rolls of 100",
        stock=100,
        lengths=(45, 36, 31, 14),
        demand=(97, 610, 395, 211),
        fewest=453,
        source="V. Chvatal, Linear Programming (1983), ch. 13; linear programme 452.25",
    ),
    Textbook(
        name="rolls of 110",
        stock=110,
        lengths=(20, 45, 50, 55, 75),
        demand=(48, 35, 24, 10, 8),
        fewest=47,
        source="R. Fourer, D. Gay and B. Kernighan, AMPL (2003), cut.dat; linear programme 46.25",
    ),
    Textbook(
        name="rolls of 5600",
        stock=5600,
        lengths=(1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200),
        demand=(22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20),
        fewest=73,
        source="the encyclopaedia article 'Cutting stock problem'; 72.7 by length alone",
    ),
    Textbook(
        name="rolls of 100.0",  # lengths in tenths
        stock=1000,
        lengths=(750, 538, 530, 510, 502, 322, 308, 298, 201, 162, 145, 110, 86, 82, 66, 51),
        demand=(38 + 44 + 30 + 41 + 36, 33, 36, 41, 35, 37, 44, 49, 37, 36, 42, 33, 47, 35, 49, 42),
        fewest=334,
        source="column generation tutorial of the JuMP documentation: 334 found; optimal, since 189 pieces of 75.0 and "
        "145 longer than 50.0 share no roll",
    ),
    Textbook(
        name="rolls of 10",
        stock=10,
        lengths=(7, 5, 3),
        demand=(2, 2, 4),
        fewest=4,
        source="cutstock.mzn by J. Puchinger (2007), a MiniZinc example; by hand: 36 / 10, and 7+3, 7+3, 5+5, 3+3",
    ),
)
