"""Building blocks of requirements: one known figure against a limit, one word among those allowed, one part by name."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import Protocol

from unfasten.evidence.interval import Interval, short_text
from unfasten.evidence.parameter import Content, Figure
from unfasten.rules.case import Case, Subject
from unfasten.rules.node import Fact, Origin
from unfasten.rules.verdict import Look, Ruling, Word, all_of


class Offer(Protocol):
    """What is offered to whom: names, `all`, or None (not known)."""

    @property
    def public(self) -> tuple[str, ...] | str | None:
        """Offered to end users."""

    @property
    def professional(self) -> tuple[str, ...] | str | None:
        """Offered to professional repairers."""


def at_least(name: str, title: str, found: Interval | None, limit: Fraction, fact: Fact, look: Look) -> Ruling:
    """Met where the figure reaches the limit, both ends of the interval alike; None: nothing is known of it."""
    asked = f"at least {short_text(limit)} asked for"
    if found is None:
        return Ruling(name, title, "unknown", (f"not known; {asked}",), look=(look,))
    verdict: Word = "met" if found.low >= limit else "not met" if found.high < limit else "unknown"
    return Ruling(name, title, verdict, (f"{fact.says}; {asked}",), facts=(fact,), look=(look,))


def at_most(name: str, title: str, found: Fraction | int | None, limit: Fraction, fact: Fact, look: Look) -> Ruling:
    """Met where the figure does not pass the limit; None: not known."""
    asked = f"at most {short_text(limit)} asked for"
    if found is None:
        return Ruling(name, title, "unknown", (f"not known; {asked}",), look=(look,))
    return Ruling(name, title, "met" if found <= limit else "not met", (f"{fact.says}; {asked}",), facts=(fact,))


def among(name: str, title: str, word: str | None, allowed: Iterable[str], origin: Origin, look: Look) -> Ruling:
    """Met where the word is one of those allowed; None: not known."""
    words = ", ".join(allowed)
    if word is None:
        return Ruling(name, title, "unknown", (f"not known; asked for: {words}",), look=(look,))
    fact = Fact(look.where, word, origin)
    verdict: Word = "met" if word in words.split(", ") else "not met"
    return Ruling(name, title, verdict, (f"{word}; asked for: {words}",), facts=(fact,))


def offered(name: str, title: str, part: str, roles: object, look: Look) -> Ruling:
    """Met where a list of names (or `all`, or None: not known) holds the part."""
    if roles is None:
        return Ruling(name, title, "unknown", ("not known",), look=(look,))
    listed = is_among(part, roles)
    says = "all" if roles == "all" else ", ".join(map(str, roles)) or "none" if isinstance(roles, tuple) else str(roles)
    return Ruling(name, title, "met" if listed else "not met", (f"{'' if listed else 'not '}offered",),
                  facts=(Fact(look.where, says, "claimed"),))  # fmt: skip


def offered_to_professionals(part: Subject, title: str, said: Offer, look: Look) -> Ruling:
    """Met where one of the two lists holds the part: what end users get, professionals get; unknown while one may."""
    lists = (said.professional, said.public)
    if is_among(part.name, said.public):
        fact = Fact(look.where.replace("professional", "public"), part.name, "claimed")
        return Ruling(part.id, title, "met", ("offered to all",), facts=(fact,))
    if None in lists and not is_among(part.name, said.professional):
        return Ruling(part.id, title, "unknown", ("not known",), look=(look,))
    return offered(part.id, title, part.name, said.professional, look)


def counted(number: int | None, noun: str) -> str:
    """`5 working days`; one without the s."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def is_among(part: str, roles: object) -> bool:
    """Tell whether a list of names, or `all`, holds the part."""
    return roles == "all" or (isinstance(roles, tuple) and part in roles)


def each_part(name: str, names: Iterable[str], case: Case, judge: Callable[[Subject], Ruling]) -> Ruling:
    """All parts of these roles and kinds; one that the record does not hold is passed over, with a remark."""
    found = [judge(subject) for part in names for subject in case.named(part)]
    missing = [part for part in names if not case.named(part)]
    why = (f"absent from the record: {', '.join(missing)}",) if missing else ()
    return all_of(name, name, found, *why)


def words_of(figure: Figure, key: str | None = None) -> tuple[str, ...]:
    """The words of a parameter, or those under a key of it; `TypeError` if it holds something else."""
    value: Content = figure.value
    if key is not None:
        if not isinstance(value, dict):
            raise TypeError(f"{figure.id} has no key {key}")
        value = value[key]
    if not isinstance(value, tuple):
        raise TypeError(f"{figure.id} is no list of words")
    return tuple(str(word) for word in value)


def groups_of(figure: Figure) -> tuple[tuple[str, ...], ...]:
    """The groups of words of a parameter; `TypeError` if it holds something else."""
    if not isinstance(figure.value, tuple):
        raise TypeError(f"{figure.id} has no groups")
    return tuple(tuple(str(word) for word in group) for group in figure.value if isinstance(group, tuple))


def row_of(figure: Figure, key: str, word: str) -> dict[str, Fraction]:
    """The numbers of the row whose `key` is this word; `KeyError` if there is none."""
    for row in figure.rows:
        if row[key] == word:
            return {name: value for name, value in row.items() if isinstance(value, Fraction)}
    raise KeyError(f"{figure.id} has no row {word}")
