"""Verdicts: met, not met, does not apply, unknown, as a tree whose every node says why and what to look at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from unfasten.evidence.parameter import Figure
from unfasten.rules.node import Fact, figure_json

Word = Literal["met", "not met", "does not apply", "unknown"]
WORDS: Final[tuple[Word, ...]] = ("met", "not met", "does not apply", "unknown")


@dataclass(frozen=True, slots=True)
class Look:
    """Something to look at, and its place in the record: the answer may settle a verdict. `about` names the part."""

    what: str
    where: str
    about: str = ""

    def __str__(self) -> str:
        """The question with what it is about."""
        return f"{self.about}: {self.what}" if self.about else self.what

    def as_json(self) -> dict[str, str]:
        """Give the JSON form."""
        return {"what": str(self), "where": self.where}


@dataclass(frozen=True, slots=True)
class Ruling:
    """One verdict with its reasons, the facts it rests on, and the verdicts it is made of."""

    id: str
    title: str
    verdict: Word
    reasons: tuple[str, ...] = ()
    children: tuple[Ruling, ...] = ()
    facts: tuple[Fact, ...] = ()
    look: tuple[Look, ...] = ()
    uses: tuple[Figure, ...] = ()

    def walk(self) -> Iterator[Ruling]:
        """This ruling and every one below it, parents first."""
        yield self
        for child in self.children:
            yield from child.walk()

    def look_at(self) -> tuple[Look, ...]:
        """What can settle an unknown verdict, each once; empty where the verdict is known."""
        if self.verdict != "unknown":
            return ()
        below = [look for child in self.children for look in child.look_at()]
        return tuple(dict.fromkeys([*self.look, *below]))

    def all_facts(self) -> tuple[Fact, ...]:
        """The facts of this ruling and of those below it, each once."""
        return tuple(dict.fromkeys(fact for ruling in self.walk() for fact in ruling.facts))

    def as_json(self) -> dict[str, object]:
        """Give the tree as JSON; empty lists are left out."""
        out: dict[str, object] = {"id": self.id, "title": self.title, "verdict": self.verdict}
        lists: dict[str, list[object]] = {
            "reasons": list(self.reasons),
            "look_at": [look.as_json() for look in self.look_at()],
            "facts": [fact.as_json() for fact in self.facts],
            "parameters": [figure_json(figure) for figure in self.uses],
            "made_of": [child.as_json() for child in self.children],
        }
        return out | {key: items for key, items in lists.items() if items}


def all_of(name: str, title: str, children: Sequence[Ruling], *reasons: str) -> Ruling:
    """Met if every child that applies is met; one that is not met decides, then one that is unknown."""
    words = {child.verdict for child in children}
    verdict: Word = next((word for word in ("not met", "unknown", "met") if word in words), "does not apply")
    return Ruling(name, title, verdict, reasons, tuple(children))


def any_of(name: str, title: str, children: Sequence[Ruling], *reasons: str) -> Ruling:
    """Met if one child is met; if none is, unknown as long as one may be."""
    words = {child.verdict for child in children}
    verdict: Word = next((word for word in ("met", "unknown", "not met") if word in words), "does not apply")
    return Ruling(name, title, verdict, reasons, tuple(children))


def not_coded(name: str, title: str, what: str, where: str) -> Ruling:
    """Unknown, because the figure was not found in a text that was read."""
    return Ruling(name, title, "unknown", (f"not coded: {what}",), look=(Look(f"read the law: {what}", where),))
