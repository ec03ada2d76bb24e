"""Comparing a reading with the lab's own list of parts: a stated similarity, and which characters are ambiguous.

The similarity is 100 % less the cost of turning the reading into the listed marking, over the length of the longer one
(edit distance after Levenshtein, spaces and punctuation left out). A character that readers confuse with the listed one
costs `CONFUSED`, any other change 1. The weights are our choice; the figure ranks candidates and proves nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

#: characters that are mistaken for one another on small prints; G for 6, G for 0 and D for 0 were seen in trials
CONFUSABLE: Final = ("0ODQGC", "1IL7TJ", "2Z7", "5S", "6GC", "8B3", "4A", "UVY", "MNHW", "EF", "PRF", "KX", "9G")
CONFUSED: Final = 0.25
#: candidates below this are not named [%], and at most so many are
LEAST_PERCENT: Final = 60.0
MOST: Final = 5
#: candidates whose similarities differ by less are not told apart [%]
CLOSE_PERCENT: Final = 10.0


@dataclass(frozen=True, slots=True)
class ListedPart:
    """A part of the lab's own list with the markings it may carry."""

    id: str
    name: str
    markings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CharacterDifference:
    """A place where reading and list differ; an empty side is a character too few. `confusable`: often mistaken."""

    place: int
    read: str
    listed: str
    confusable: bool

    def __str__(self) -> str:
        """Give one phrase."""
        if not self.read:
            return f"{self.listed} is missing before place {self.place}"
        if not self.listed:
            return f"{self.read} at place {self.place} is too many"
        often = " (often mistaken for it)" if self.confusable else ""
        return f"{self.read} at place {self.place}, listed {self.listed}{often}"


@dataclass(frozen=True, slots=True)
class MarkingCandidate:
    """A listed part that a reading resembles; `similarity` in percent."""

    part: str
    name: str
    marking: str
    read: str
    similarity: float
    differences: tuple[CharacterDifference, ...]

    @property
    def only_ambiguous(self) -> bool:
        """Tell whether they differ, and only by characters that are often mistaken."""
        return bool(self.differences) and all(difference.confusable for difference in self.differences)

    def as_json(self) -> dict[str, object]:
        """Everything in JSON; `confirmed` is always false here."""
        return {
            "part": self.part,
            "name": self.name,
            "marking": self.marking,
            "read": self.read,
            "similarity_percent": round(self.similarity, 1),
            "differences": [str(difference) for difference in self.differences],
            "only_ambiguous": self.only_ambiguous,
            "confirmed": False,
        }


@dataclass(frozen=True, slots=True)
class MarkingMatch:
    """Candidates, most similar first, and what a person has to look at before confirming one."""

    candidates: tuple[MarkingCandidate, ...]
    says: tuple[str, ...]


def match_marking(lines: Sequence[str], parts: Iterable[ListedPart]) -> MarkingMatch:
    """Listed parts that the lines of a marking resemble by at least `LEAST_PERCENT`; none is ever taken by itself."""
    every = [_best(part, _joined(lines)) for part in parts if part.markings and lines]
    named = [one for one in every if one.similarity >= LEAST_PERCENT]
    ranked = tuple(sorted(named, key=lambda one: (-one.similarity, one.part))[:MOST])
    return MarkingMatch(ranked, tuple(_says(ranked)))


def plain(text: str) -> str:
    """A marking without spaces and punctuation, in capitals.

    >>> plain("fw-8g 128/A")
    'FW8G128A'
    """
    return "".join(char for char in text.upper() if char.isalnum())


def compare(read: str, listed: str) -> tuple[float, tuple[CharacterDifference, ...]]:
    """Similarity in percent and the differences, with places in the reading counted from 1.

    >>> similarity, differences = compare("FW86128", "FW8G128")
    >>> round(similarity, 1), str(differences[0])
    (96.4, '6 at place 4, listed G (often mistaken for it)')
    """
    one, other = plain(read), plain(listed)
    longest = max(len(one), len(other))
    if not longest:
        return 0.0, ()
    costs = _costs(one, other)
    return 100 * (1 - costs[-1][-1] / longest), _differences(one, other, costs)


def confusable(one: str, other: str) -> bool:
    """Tell whether two characters are often mistaken for one another."""
    return any(one in group and other in group for group in CONFUSABLE)


def mistaken_for(text: str) -> dict[str, str]:
    """Characters of a reading that readers often confuse, each with what it may be instead.

    >>> mistaken_for("T85")
    {'T': '17IJL', '8': '3B', '5': 'S'}
    """
    found = {char: {o for group in CONFUSABLE if char in group for o in group} - {char} for char in plain(text)}
    return {char: "".join(sorted(others)) for char, others in found.items() if others}


def _change(one: str, other: str) -> float:
    return 0.0 if one == other else CONFUSED if confusable(one, other) else 1.0


def _costs(one: str, other: str) -> list[list[float]]:
    """Least cost of turning each beginning of one into each beginning of the other."""
    table = [[float(column) for column in range(len(other) + 1)]]
    for row, char in enumerate(one, 1):
        line = [float(row)]
        for column, wanted in enumerate(other, 1):
            changed = table[row - 1][column - 1] + _change(char, wanted)
            line.append(min(changed, table[row - 1][column] + 1, line[column - 1] + 1))
        table.append(line)
    return table


def _differences(one: str, other: str, costs: list[list[float]]) -> tuple[CharacterDifference, ...]:
    row, column = len(one), len(other)
    found = []
    while row or column:
        here = costs[row][column]
        if row and column and here == costs[row - 1][column - 1] + _change(one[row - 1], other[column - 1]):
            row, column = row - 1, column - 1
            if one[row] != other[column]:
                found.append(CharacterDifference(row + 1, one[row], other[column], confusable(one[row], other[column])))
        elif row and here == costs[row - 1][column] + 1:
            row -= 1
            found.append(CharacterDifference(row + 1, one[row], "", False))
        else:
            column -= 1
            found.append(CharacterDifference(row + 1, "", other[column], False))
    return tuple(reversed(found))


def _joined(lines: Sequence[str]) -> list[str]:
    """Every run of neighbouring lines as one text: a marking may be broken over lines."""
    return ["".join(lines[start:end]) for start in range(len(lines)) for end in range(start + 1, len(lines) + 1)]


def _best(part: ListedPart, texts: Sequence[str]) -> MarkingCandidate:
    tried = ((compare(text, marking), marking, text) for marking in part.markings for text in texts)
    (similarity, differences), marking, text = max(tried, key=lambda item: item[0][0])
    return MarkingCandidate(part.id, part.name, marking, text, similarity, differences)


def _says(ranked: Sequence[MarkingCandidate]) -> Iterable[str]:
    if not ranked:
        yield f"no part of the list is at least {LEAST_PERCENT:g} % similar"
        return
    best = ranked[0]
    if best.differences:
        yield f"look at {'; '.join(map(str, best.differences))}"
    for other in ranked[1:]:
        if best.similarity - other.similarity < CLOSE_PERCENT:
            yield f"{best.part} and {other.part} are nearly as similar: {_apart(best, other)}"
    yield "the similarity ranks candidates and proves nothing: confirm one beside the crop"


def _apart(one: MarkingCandidate, other: MarkingCandidate) -> str:
    """Where two listed markings differ from each other."""
    _, differences = compare(one.marking, other.marking)
    if not differences:
        return "the list gives both the same marking"
    return "their markings differ in " + ", ".join(
        f"{difference.read or 'nothing'} or {difference.listed or 'nothing'}" for difference in differences[:MOST]
    )
