"""Right-to-left names on left-to-right lines: letters joined, then put in the order that the eye meets them.

A PDF shows letters in the order they are given. This is the part of the Unicode Bidirectional Algorithm (UAX #9) that
lines without explicit embeddings need: strong letters, numbers, neutrals, and isolates for names inside a sentence.
Arabic letters take the joined forms of the Arabic Presentation Forms, which Unicode derives from the plain ones.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from functools import cache
from itertools import groupby

OPEN, CLOSE = "\u2068", "\u2069"  # first strong isolate, pop directional isolate
_MIRRORED: Mapping[str, str] = dict(zip("()[]{}<>«»", ")(][}{><»«", strict=True))
_RIGHT = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]")  # Hebrew, Arabic and their neighbours
_ISOLATE = re.compile(f"{OPEN}([^{CLOSE}]*){CLOSE}?")


def plain(words: str) -> str:
    """On one line, without the signs that steer a terminal or turn a line around."""
    if words.isascii() and words.isprintable():
        return words
    kept = (" " if unicodedata.category(sign) in ("Cc", "Zl", "Zp") else sign for sign in words)
    return "".join("\ufffd" if "\ud800" <= sign <= "\udfff" else sign for sign in kept if not _steers(sign))


def isolated(name: str) -> str:
    """A name that leaves the order of the words around it alone, as `bdi` does on a page."""
    clean = unisolated(plain(name))
    return clean if clean.isascii() else f"{OPEN}{clean}{CLOSE}"


def joined(words: str) -> str:
    """Arabic letters in the forms that they take beside each other; all else as it is."""
    if words.isascii() or not any("\u0600" <= sign <= "\u06ff" for sign in words):
        return words
    shaped: list[str] = []
    before = ""  # the letter before, marks left out
    skip = False
    for n, sign in enumerate(words):
        if skip or unicodedata.combining(sign):
            shaped += [] if skip else [sign]
            skip = False
            continue
        after = next((other for other in words[n + 1 :] if not unicodedata.combining(other)), "")
        pair = sign + after if words[n + 1 : n + 2] == after else ""
        ligature = _form(pair, before, "")
        shaped.append(ligature or _form(sign, before, after) or sign)
        skip, before = bool(ligature), after if ligature else sign
    return "".join(shaped)


def unisolated(words: str) -> str:
    """Without the signs around names."""
    return words if words.isascii() else words.replace(OPEN, "").replace(CLOSE, "")


def visual(words: str) -> str:
    """A line in the order in which it is drawn from left to right; the line itself runs to the right."""
    if words.isascii() or not _RIGHT.search(words):
        return words
    shown, at = "", 0
    for found in _ISOLATE.finditer(words):
        shown += _ordered(words[at : found.start()], right=False)
        shown += _ordered(found[1], right=_first_strong(found[1]) == "R")
        at = found.end()
    return shown + _ordered(words[at:].replace(CLOSE, ""), right=False)


def _steers(sign: str) -> bool:
    return unicodedata.category(sign) == "Cf" and sign not in (OPEN, CLOSE, "\u200c", "\u200d")


@cache
def _forms() -> Mapping[str, Mapping[str, str]]:
    """For a letter, or a ligature's two: its isolated, final, initial and medial form, as far as it has them."""
    found: dict[str, dict[str, str]] = {}
    for code in (*range(0xFB50, 0xFC00), *range(0xFE70, 0xFEFD)):
        tag, *letters = unicodedata.decomposition(chr(code)).split() or [""]
        if tag in ("<isolated>", "<final>", "<initial>", "<medial>") and "0020" not in letters:
            found.setdefault("".join(chr(int(one, 16)) for one in letters), {})[tag[1:-1]] = chr(code)
    return found


def _form(letter: str, before: str, after: str) -> str:
    forms = _forms().get(letter, {})
    tied = "initial" in _forms().get(before, {}) and "final" in forms
    ties = "final" in _forms().get(after, {}) and "initial" in forms
    wanted = ("medial" if ties else "final") if tied else ("initial" if ties else "isolated")
    return forms.get(wanted, forms.get("isolated", ""))


def _first_strong(words: str) -> str:
    return next((kind for sign in words if (kind := _kind(sign)) in ("L", "R")), "L")


def _kind(sign: str) -> str:
    """L, R, a number N, what belongs to the numbers beside it C, or a neutral O."""
    kind = unicodedata.bidirectional(sign)
    return {"L": "L", "R": "R", "AL": "R", "EN": "N", "AN": "N", "ES": "C", "CS": "C", "ET": "C"}.get(kind, "O")


def _ordered(words: str, *, right: bool) -> str:
    """Levels as UAX #9 gives them, then each run from the highest level down turned around."""
    if words.isascii() and not right:
        return words
    clusters = _clusters(words)
    levels = _levels([_kind(cluster[0]) for cluster in clusters], right)
    turned = [(_mirror(one) if level % 2 else one, level) for one, level in zip(clusters, levels, strict=True)]
    for level in range(max(levels, default=0), 0, -1):
        runs = [(high, list(run)) for high, run in groupby(turned, key=lambda one: one[1] >= level)]
        turned = [one for high, run in runs for one in (reversed(run) if high else run)]
    return "".join(one for one, _ in turned)


def _clusters(words: str) -> list[str]:
    """Letters with the marks that stand on them."""
    found: list[str] = []
    for sign in words:
        if found and unicodedata.combining(sign):
            found[-1] += sign
        else:
            found.append(sign)
    return found


def _mirror(cluster: str) -> str:
    return _MIRRORED.get(cluster, cluster)


def _levels(kinds: list[str], right: bool) -> list[int]:
    base = "R" if right else "L"
    kinds = _numbers(kinds, base)
    sided = ["R" if kind == "N" else kind for kind in kinds]  # a number in a right-to-left text counts with it
    for n, kind in enumerate(sided):
        if kind == "O":
            before = next((other for other in reversed(sided[:n]) if other != "O"), base)
            after = next((other for other in sided[n + 1 :] if other != "O"), base)
            kinds[n] = before if before == after else base
    steps = {"L": 2, "R": 1, "N": 2} if right else {"L": 0, "R": 1, "N": 2}
    return [steps[kind] for kind in kinds]


def _numbers(kinds: list[str], base: str) -> list[str]:
    """Separators to the numbers they part, other ones to the neutrals; numbers after left-to-right text to that."""
    found = list(kinds)
    for n, kind in enumerate(kinds):
        if kind == "C":
            near = kinds[n - 1 : n] + kinds[n + 1 : n + 2]
            found[n] = "N" if near == ["N", "N"] else "O"
    strong = base
    for n, kind in enumerate(found):
        strong = kind if kind in ("L", "R") else strong
        if kind == "N" and strong == "L":
            found[n] = "L"
    return found
