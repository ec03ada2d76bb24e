"""What a measured thing can be taken for, in one form for every door, and the choice of a person as facts of a record.

A choice is entered where a record holds it (thread and drive of a joint, package of a component) together with the
measurements that it rests on, each of which names the choice and the candidates that were left.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final, Literal

from unfasten.evidence.errors import CallError
from unfasten.photo.identify.datecode import DateCode, Reading, four_digits, read_date_code
from unfasten.photo.identify.drives import SHAPES
from unfasten.photo.identify.packages import around
from unfasten.photo.identify.threads import Thread
from unfasten.photo.identify.window import COVERAGE_FACTOR, Measured, Window, rounded
from unfasten.service.identify import identify_drive, identify_package, identify_thread

What = Literal["thread", "drive", "package"]
#: lengths that name each, in the order in which they are told
LENGTHS: Final[Mapping[What, tuple[str, ...]]] = {
    "thread": ("diameter", "pitch", "length"),
    "drive": ("points",),
    "package": ("side", "other"),
}
#: what a length is called in a record
CALLED: Final = {
    "diameter": "outer diameter",
    "pitch": "pitch",
    "length": "length over turns",
    "points": "width across points",
    "side": "side of the body",
    "other": "other side of the body",
}
_METRIC: Final = ("ISO 262 first choice", "ISO metric", "old Japanese")


@dataclass(frozen=True, slots=True)
class Candidate:
    """A standard size: `enters` is what a record holds of it, `agreement` in percent (None: nothing to compare).

    `limits` [mm] are those of each length.
    """

    name: str
    enters: str
    agreement: float | None
    limits: Mapping[str, Window]
    detail: str

    def as_json(self) -> dict[str, object]:
        """Everything in JSON; nothing is chosen."""
        return {
            "name": self.name,
            "enters": self.enters,
            "agreement_percent": rounded(self.agreement),
            "limits_mm": {key: [one.low, one.high] for key, one in self.limits.items()},
            "detail": self.detail,
        }


@dataclass(frozen=True, slots=True)
class Candidates:
    """Every size that fits, best agreement first, and what just misses, with the reason."""

    what: What
    lengths: Mapping[str, Measured]
    k: float
    candidates: tuple[Candidate, ...]
    near: tuple[tuple[str, str], ...] = ()
    says: tuple[str, ...] = field(default=())

    def as_json(self) -> dict[str, object]:
        """Everything in JSON."""
        return {
            "what": self.what,
            "lengths_mm": {
                name: {"value": one.value, "u": one.u, "text": one.text} for name, one in self.lengths.items()
            },
            "k": self.k,
            "candidates": [one.as_json() for one in self.candidates],
            "near": [{"name": name, "reason": reason} for name, reason in self.near],
            "says": list(self.says),
        }


def candidates_for(what: What, given: Mapping[str, Any], day: date, k: float = COVERAGE_FACTOR) -> Candidates:
    """Candidates by the same functions as `unfasten identify`; `given` are lengths as texts and what was counted.

    Thread: diameter, and pitch, or length and turns. Drive: points, shape, lobes, pin, thread, head. Package: side,
    other, balls. Raises `CallError` for what is missing or no length with an uncertainty.
    """
    given = {key: value for key, value in given.items() if value not in (None, "")}
    k = max(k, COVERAGE_FACTOR)
    return {"thread": _threads, "drive": _drives, "package": _packages}[what](given, day, k)


def _threads(given: Mapping[str, Any], day: date, k: float) -> Candidates:
    diameter = _wanted(given, "diameter")
    found = identify_thread(diameter, day, given.get("pitch"), given.get("length"), given.get("turns"), k)
    lengths = {"diameter": found.diameter} | ({} if found.pitch is None else {"pitch": found.pitch})
    every = tuple(
        Candidate(
            one.name,
            _designation(one),
            found.agreement(one),
            {"diameter": one.limits, "pitch": Window(one.pitch, one.pitch)},
            f"{one.family}, pitch {one.pitch:.4g} mm{'' if one.basis == 'read' else f', limits: {one.basis}'}",
        )
        for one in found.candidates
    )
    near = tuple((one.name, reason) for one, reason in found.near)
    apart = [f"told apart: {one}" for one in found.separations]
    return Candidates("thread", lengths, k, every, near, (*found.says, *apart))


def _designation(thread: Thread) -> str:
    """How a record names a thread: metric ones with their pitch (ISO 965-1)."""
    return f"{thread.name} x {thread.pitch:.4g}" if thread.family in _METRIC else thread.name


def _drives(given: Mapping[str, Any], day: date, k: float) -> Candidates:
    if "points" not in given and "lobes" not in given and "thread" not in given:
        _wanted(given, "points")
    shape = given.get("shape")
    if shape is not None and shape not in SHAPES:
        raise CallError("identify.missing", "shape", f"{shape!r} is no shape", f"name {' or '.join(SHAPES)}")
    answer = identify_drive(
        day,
        given.get("points"),
        shape,
        given.get("thread", ""),
        given.get("head"),
        given.get("lobes"),
        given.get("pin"),
        k,
    )
    found = answer.drives
    every = tuple(
        Candidate(
            one.name,
            one.name,
            found.agreement(one),
            {} if one.width is None else {"points": one.width},
            f"screw {one.screw or 'not noted'}, {one.source}",
        )
        for one in found.candidates
    )
    near = tuple((one.name, reason) for one, reason in found.near)
    says = (*([answer.lobes] if answer.lobes else []), *found.says)
    return Candidates("drive", {} if found.points is None else {"points": found.points}, k, every, near, says)


def _packages(given: Mapping[str, Any], day: date, k: float) -> Candidates:
    size = f"{_wanted(given, 'side')} x {_wanted(given, 'other')}"
    found = identify_package(size, day, given.get("balls"), k)
    every = tuple(
        Candidate(
            one.name,
            one.name,
            found.agreement(one),
            {"side": around(one.width), "other": around(one.length)},
            f"{one.kind}, {one.width:g} x {one.length:g} mm{'' if one.pitch is None else f', pitch {one.pitch:g} mm'}",
        )
        for one in found.candidates
    )
    near = tuple((one.name, f"its body is {one.width:g} x {one.length:g} mm") for one in found.near)
    return Candidates("package", {"side": found.width, "other": found.length}, k, every, near, found.says)


def _wanted(given: Mapping[str, Any], key: str) -> str:
    if key not in given:
        raise CallError("identify.missing", key, f"{CALLED[key]} is missing", "measure it first")
    return str(given[key])


def date_codes(text: str, made_before: date) -> tuple[DateCode, ...]:
    """Every group of a confirmed marking that has the form YYWW, with all it can mean and why it cannot be others."""
    return tuple(read_date_code(code, made_before) for code in four_digits(text))


def read_week(code: str, year: int, made_before: date) -> Reading:
    """The week of a year that a code was chosen to mean; raises `CallError` if it cannot mean it."""
    found = read_date_code(code, made_before)
    for one in found.readings:
        if one.year == year:
            return one
    why = next((one.reason for one in found.excluded if one.year == year), f"{code} does not name {year}")
    raise CallError("identify.not-chosen", "year", why, "choose one of the weeks that it can mean")


# ---- the choice ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Choice:
    """What a person chose, and the joint, or the component of a part, that it is a fact of."""

    chosen: str
    joint: str | None = None
    part: str | None = None
    function: str | None = None


@dataclass(frozen=True, slots=True)
class Fact:
    """An object of a record with the choice in it, and the place of the choice."""

    section: str
    name: str
    value: Mapping[str, Any]
    place: str
    entered: str


def fact_of(tree: Mapping[str, Any], found: Candidates, choice: Choice) -> Fact:
    """The fact that a choice becomes; raises `CallError` where the record has nothing that it could be a fact of.

    A name that is no candidate is the person's own, and is entered as it is written.
    """
    entered = next((one.enters for one in found.candidates if one.name == choice.chosen), choice.chosen.strip())
    if not entered:
        raise CallError("identify.not-chosen", "chosen", "nothing is chosen", "choose a candidate, or write your own")
    if found.what != "package":
        joint = _held(tree, "joints", choice.joint)
        value = {**joint, found.what: entered}
        return Fact("joints", str(choice.joint), value, f"joints.{choice.joint}.{found.what}", entered)
    part = _held(tree, "parts", choice.part)
    size = [f"{one.text}" for one in found.lengths.values()]
    components, index = with_component(part, choice.function, {"package": entered, "size": size})
    place = f"parts.{choice.part}.components[{index}].package"
    return Fact("parts", str(choice.part), {**part, "components": components}, place, entered)


def with_component(
    part: Mapping[str, Any], function: str | None, facts: Mapping[str, Any]
) -> tuple[list[dict[str, Any]], int]:
    """Components of a part with these facts in the one of this function, added if there is none; and its number."""
    if not (function or "").strip():
        message = "what the component does is missing"
        raise CallError("identify.no-place", "function", message, "write its function, such as storage")
    function = str(function).strip()
    components = [dict(one) for one in part.get("components") or ()]
    index = next((n for n, one in enumerate(components) if one.get("function") == function), len(components))
    if index == len(components):
        components.append({"function": function})
    components[index] |= facts
    return components, index


def _held(tree: Mapping[str, Any], section: str, name: str | None) -> Mapping[str, Any]:
    held: Mapping[str, Any] | None = (tree.get(section) or {}).get(name)
    if held is None:
        known: Sequence[str] = list(tree.get(section) or {})
        what = f"no {section[:-1]} is named" if not name else f"the record has no {section[:-1]} {name!r}"
        remedy = f"name one of {', '.join(known[:12])}" if known else f"enter the {section[:-1]} first"
        raise CallError("identify.no-place", section[:-1], what, remedy)
    return held
