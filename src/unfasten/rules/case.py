"""The facts that requirements judge: parts by the names of the law, supply, test figures, and whether a part comes out.

Rules do not see the solver; `service` hands over a function that tells whether a part can be taken out under a limit.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date

from unfasten.evidence.quantity import Quantity
from unfasten.record.part import Battery
from unfasten.record.product import Supply
from unfasten.record.testfigures import LabelTests
from unfasten.rules.node import Origin
from unfasten.rules.verdict import Look


@dataclass(frozen=True, slots=True)
class Subject:
    """A part that rules name: its id, the name that rules have for it, and what people call it.

    `pairing` None: not known; `cells` are pairs of the source of a part put in (same-model, sibling, other-maker) and
    what came of it.
    """

    id: str
    name: str
    called: str
    pairing: tuple[str, ...] | None = None
    pairing_origin: Origin = "seen"
    cells: tuple[tuple[str, str], ...] = ()
    environment: str | None = None
    skill: str | None = None


@dataclass(frozen=True, slots=True)
class Allowed:
    """What a way out may use. `reuse` None: any joint. `without` are parts that must stay in place.

    `doubtful` are classes of tools that may or may not do.
    """

    tools: frozenset[str]
    reuse: frozenset[str] | None = None
    heat: bool = True
    solvent: bool = True
    without: frozenset[str] = frozenset()
    doubtful: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Passage:
    """Whether a part can be taken out under a limit: `certain` in every case, `possible` in some case.

    `faults` say what stands in the way where it is not possible; `look` what would settle it in between.
    """

    certain: bool
    possible: bool
    faults: tuple[str, ...] = ()
    look: tuple[Look, ...] = ()


def no_passage(part: str, allowed: Allowed) -> Passage:
    """Nothing is known of the ways out."""
    return Passage(False, True, look=(Look(f"how does {part} come out?", f"parts.{part}"),))


@dataclass(frozen=True, slots=True)
class Case:
    """What a set of requirements judges. `masses` are those of the battery and of the product, with their places."""

    category: str
    subjects: tuple[Subject, ...] = ()
    supply: Supply = field(default_factory=Supply)
    tests: LabelTests = field(default_factory=LabelTests)
    battery: Battery | None = None
    masses: tuple[tuple[str, Quantity], ...] = ()
    passage: Callable[[str, Allowed], Passage] = no_passage
    released: date | None = None

    def named(self, name: str) -> tuple[Subject, ...]:
        """Parts with this role or kind, in the order of the record."""
        return tuple(subject for subject in self.subjects if subject.name == name)
