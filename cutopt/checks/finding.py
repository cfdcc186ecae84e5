"""What the check says: faults as they are found, findings once they are numbered."""

from __future__ import annotations

from dataclasses import dataclass

from cutopt.planfile.reading import escaped


@dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """One fault: the rule that is broken, where, and the values in words."""

    rule: str
    where: str
    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """A numbered fault of a plan: `rule` names what is broken, `where` the place, `text` says it with its values.

    Printed, it is one line: control characters of names are written out.
    """

    number: int
    rule: str
    where: str
    text: str

    def __str__(self) -> str:
        return escaped(f"{self.number}. {self.where}: {self.text} [{self.rule}]")


def fault(rule: str, where: str, text: str) -> Fault:
    """A fault, written short since every check says it often."""
    return Fault(rule=rule, where=where, text=text)
