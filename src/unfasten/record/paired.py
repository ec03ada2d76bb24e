"""Which pairing a part needs: what the record lists, held against what swap tests show.

A test speaks only if a part of the same model went into the unit and the unit ran. What the device asked for before the
part worked in full is what it needs, neither more nor less. A part that was refused, or that lost a function, needs at
least what the device asked for; a lost function alone is no remote notification and no authorisation, and shows neither
that one is needed nor that none is. docs/decisions/0004-swap-tests-decide-pairing.md gives the reasons.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from unfasten.record.swaptest import Pairing, SwapTest, swaps_of

if TYPE_CHECKING:
    from unfasten.record.part import Part
    from unfasten.record.record import Record

Kinds = frozenset[Pairing]
#: `listed`: no test speaks, or those that do leave open what the record lists; `tested`: tests decide;
#: `open`: tests leave it open and the record lists nothing they allow; `conflict`: tests contradict one another
Basis = Literal["listed", "tested", "open", "conflict"]
NOTHING: Final[Kinds] = frozenset()
#: roles that no part can have without being connected
ELECTRIC: Final = (
    "battery", "display-assembly", "front-camera", "rear-camera", "charging-port", "microphone", "speaker",
)  # fmt: skip
ORDER: Final[tuple[Pairing, ...]] = ("notification", "authorisation")
EVERY: Final[Kinds] = frozenset(ORDER)


@dataclass(frozen=True, slots=True)
class Paired:
    """The pairing of a part: surely `least`, and at most `most`; both in order. The two are equal where it is known.

    `recorded` is what the record lists. `tests` are the swap tests that speak, `older` those that a later test with
    other software has overtaken. `agrees` is None where no test says anything of what is recorded. `why` is a sentence.
    """

    least: tuple[Pairing, ...]
    most: tuple[Pairing, ...]
    recorded: tuple[Pairing, ...]
    basis: Basis
    tests: tuple[str, ...]
    older: tuple[str, ...]
    agrees: bool | None
    why: str

    @property
    def is_known(self) -> bool:
        """Tell whether nothing is left open."""
        return self.least == self.most


def paired(record: Record, part: str) -> Paired:
    """Hold the pairing that a part lists against its swap tests. Pure; adds nothing to what neither of them says."""
    recorded = frozenset(record.parts[part].pairing)
    spoken = _speaking(record, part) if record.swap_tests else {}
    if not spoken:
        why = f"the record lists {words(recorded)}; no swap test with a part of the same model speaks of it"
        return _made(recorded, recorded, recorded, "listed", (), (), None, why)
    standing = _standing(spoken)
    older = tuple(name for name in spoken if name not in standing)
    exact = {name: frozenset(test.asked) for name, test in standing.items() if is_exact(test)}
    asked = {name: frozenset(test.asked) for name, test in standing.items()}
    least: Kinds = NOTHING.union(*asked.values())
    most: Kinds = EVERY.intersection(*exact.values())
    names = tuple(standing)
    if not least <= most:
        why = f"swap tests contradict one another: {_each(asked, exact)}"
        told = {name: kinds for name, kinds in asked.items() if kinds or name in exact}
        surely: Kinds = EVERY.intersection(*told.values())
        possibly = least if told.keys() <= exact.keys() else EVERY
        return _made(surely, possibly, recorded, "conflict", names, older, None, why)
    if exact or least == most:
        agrees = least == recorded
        says = _said(names, "shows", f"{words(least)} needed")
        why = (
            f"{says}, as the record lists"
            if agrees
            else f"{says}; it outranks the record, which lists {words(recorded)}"
        )
        return _made(least, least, recorded, "tested", names, older, agrees, why)
    if least <= recorded and recorded:
        why = f"the record lists {words(recorded)}; {_said(names, 'leaves', 'that open')}"
        return _made(recorded, recorded, recorded, "listed", names, older, None, why)
    agrees_not = None if least <= recorded else False
    says = _said(names, "shows", f"at least {words(least)} needed") if least else _said(names, "leaves", "it open")
    in_full = all(test.accepted == "full" and not test.lost for test in standing.values())
    cause = "a message was shown" if in_full else "the part did not come to work in full"
    why = f"{says}: {cause}; the record lists {words(recorded)}"
    return _made(least, EVERY, recorded, "open", names, older, agrees_not, why)


def noticed(record: Record) -> frozenset[str]:
    """Parts that the device can notice: they have a plug, or are electric by role or by what is recorded of them."""
    plugged = {part for joint in record.joints.values() if joint.kind == "connector" for part in joint.holds}
    return frozenset(name for name, part in record.parts.items() if name in plugged or _is_electric(part))


def is_noticed(record: Record, name: str) -> bool:
    """Tell whether the device can notice one part."""
    joints = record.joints.values()
    return _is_electric(record.parts[name]) or any(j.kind == "connector" and name in j.holds for j in joints)


def _is_electric(part: Part) -> bool:
    plug = part.cable is not None and part.cable.connector is not None
    return part.role in ELECTRIC or plug or bool(part.battery or part.components or part.pairing)


def is_exact(test: SwapTest) -> bool:
    """Tell whether a test shows all that the part needs: it worked in full, and nothing else was lost or said."""
    return test.accepted == "full" and not test.lost and (bool(test.asked) or not test.messages)


def words(kinds: Kinds | tuple[Pairing, ...]) -> str:
    """`remote notification and authorisation`; `no pairing` for none."""
    return f"remote {' and '.join(sorted(kinds, key=ORDER.index))}" if kinds else "no pairing"


def _speaking(record: Record, part: str) -> dict[str, SwapTest]:
    own = record.product.id
    return {
        name: test
        for name, test in swaps_of(record, part, "same-model").items()
        if test.accepted is not None
        and test.fitted != "does-not-fit"
        and test.donor.product in (None, own)
        and test.donor.part in (None, part)
    }


def _standing(tests: Mapping[str, SwapTest]) -> dict[str, SwapTest]:
    """Tests that no later one with other software has overtaken: an update may change what a device asks for."""
    return {
        name: test
        for name, test in tests.items()
        if not any(
            later.on and test.on and later.on > test.on
            and later.software and test.software and later.software != test.software
            for later in tests.values()
        )
    }  # fmt: skip


def _each(asked: Mapping[str, Kinds], exact: Mapping[str, Kinds]) -> str:
    said = (f"{name} shows {'' if name in exact else 'at least '}{words(kinds)}" for name, kinds in asked.items())
    return ", ".join(said)


def _said(names: tuple[str, ...], verb: str, what: str) -> str:
    one = len(names) == 1
    plural = {"shows": "show", "leaves": "leave"}[verb]
    return f"swap test{'' if one else 's'} {' and '.join(names)} {verb if one else plural} {what}"


def _made(
    least: Kinds, most: Kinds, recorded: Kinds, basis: Basis, tests: tuple[str, ...], older: tuple[str, ...],
    agrees: bool | None, why: str,
) -> Paired:  # fmt: skip
    if older:
        why += f" (overtaken by other software: {', '.join(older)})"
    low, high, said = (tuple(kind for kind in ORDER if kind in kinds) for kinds in (least, most, recorded))
    return Paired(low, high, said, basis, tests, older, agrees, why)
