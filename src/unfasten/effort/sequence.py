"""Sequences of indexed motions such as `A1 B0 G1 A1 B0 P3 A0`: reading them, checking them against tables, adding up.

TMU = factor x sum of the indices x frequency; a TMU is 0.00001 h. The result is normal time at 100 %, no allowance.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

_ELEMENT: Final = re.compile(r"([A-Z])(\d{1,3}|\{([a-z]+)\})")
#: the letters of the three sequences in their order; * is the letter of the tool
MODELS: Final = ("ABGABPA", "ABGMXIA", "ABGABP*ABPA")
TOOL_LETTERS: Final = "FLCSMRT"


class SequenceError(ValueError):
    """A text that is no sequence, or an index that no table has; the message says what to write instead."""


@dataclass(frozen=True, slots=True)
class Element:
    """One letter with its index, or with the `name` of the count that the index is looked up for."""

    letter: str
    index: int
    name: str | None = None

    def __str__(self) -> str:
        return f"{self.letter}{self.index if self.name is None else '{' + self.name + '}'}"


@dataclass(frozen=True, slots=True)
class Sequence:
    """One or more sequences done one after the other, in writing joined by ` + `."""

    parts: tuple[tuple[Element, ...], ...]

    @property
    def total(self) -> int:
        """Sum of the indices [1]; `SequenceError` if one is still to be looked up."""
        open_names = [element.name for part in self.parts for element in part if element.name]
        if open_names:
            raise SequenceError(f"{self}: {open_names[0]} is not known yet")
        return sum(element.index for part in self.parts for element in part)

    def tmu(self, factor: int, times: int = 1) -> int:
        """Time [TMU] of doing it `times` times; `factor` is 10 for BasicMOST."""
        return factor * self.total * times

    def filled(self, indices: Mapping[str, int]) -> Sequence:
        """The sequence with the named indices put in; `SequenceError` for a name that is not given."""
        return Sequence(tuple(tuple(_filled(element, indices) for element in part) for part in self.parts))

    def names(self) -> tuple[str, ...]:
        """Names of the counts that it needs."""
        return tuple(element.name for part in self.parts for element in part if element.name)

    def elements(self) -> tuple[Element, ...]:
        """Every element in order."""
        return tuple(element for part in self.parts for element in part)

    def __str__(self) -> str:
        return " + ".join(" ".join(str(element) for element in part) for part in self.parts)


def read_sequence(text: str) -> Sequence:
    """Read sequences joined by `+`; raises `SequenceError` that says where it goes wrong.

    >>> read_sequence("A1 B0 G1 A1 B0 P3 F10 A1 B0 P1 A0").total
    18
    """
    return Sequence(tuple(_read_one(part.strip()) for part in text.split("+")))


def _read_one(text: str) -> tuple[Element, ...]:
    elements = []
    for word in text.split():
        found = _ELEMENT.fullmatch(word)
        if found is None:
            raise SequenceError(f"{word!r} is no letter with an index, such as P3 or L{{spins}}")
        elements.append(Element(found[1], 0 if found[3] else int(found[2]), found[3]))
    letters = "".join(element.letter for element in elements)
    if not any(_matches(letters, model) for model in MODELS):
        raise SequenceError(
            f"{text!r} is in the order of no sequence; use one of {', '.join(' '.join(m) for m in MODELS)}"
        )
    return tuple(elements)


def _matches(letters: str, model: str) -> bool:
    return len(letters) == len(model) and all(
        one == other or (other == "*" and one in TOOL_LETTERS) for one, other in zip(letters, model, strict=True)
    )


def _filled(element: Element, indices: Mapping[str, int]) -> Element:
    if element.name is None:
        return element
    if element.name not in indices:
        raise SequenceError(f"{element}: {element.name} is not given")
    return Element(element.letter, indices[element.name])


def seconds(tmu: int, tmu_s: Fraction) -> Fraction:
    """Time in seconds of a number of TMU."""
    return tmu * tmu_s
