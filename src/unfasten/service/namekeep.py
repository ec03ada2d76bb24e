"""Choices and confirmed markings on their way into a record: the fact, and beside it the photo that shows it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from unfasten.photo.identify.confirmation import Confirmation
from unfasten.photo.identify.datecode import Reading
from unfasten.record.measurement import Measurement, TakenFor
from unfasten.record.photo import CallOut
from unfasten.service.bench.photos import fresh_ids
from unfasten.service.line.sheet import Piece
from unfasten.service.measurekeep import measurements_of
from unfasten.service.measurepicks import Measured
from unfasten.service.naming import CALLED, Candidates, Choice, Fact, fact_of, with_component


@dataclass(frozen=True, slots=True)
class Entered:
    """What one line puts: its pieces, in words, and where the choice stands."""

    pieces: tuple[Piece, ...]
    words: str
    place: str


def choice_pieces(
    tree: Mapping[str, Any],
    done: Mapping[str, Measured],
    found: Candidates,
    choice: Choice,
    turns: int | None = None,
) -> Entered:
    """The choice as a fact, and each measurement that it rests on, by the name of its length."""
    fact = fact_of(tree, found, choice)
    among = tuple(one.name for one in found.candidates)
    taken = TakenFor(what=found.what, chosen=fact.entered, among=among, place=fact.place)
    kept = [_figure(key, one, taken, choice, turns) for key, one in done.items()]
    names = fresh_ids(tree.get("measurements") or {}, "m", len(kept))
    pieces = [
        Piece("put", {"at": f"measurements.{name}", "value": one.model_dump(mode="json", exclude_defaults=True)})
        for name, one in zip(names, kept, strict=True)
    ]
    pieces.append(Piece("put", {"at": f"{fact.section}.{fact.name}", "value": dict(fact.value)}))
    return Entered(tuple(pieces), _words(found, fact, names, kept), fact.place)


def _figure(key: str, done: Measured, taken: TakenFor, choice: Choice, turns: int | None) -> Measurement:
    name = f"length over {turns} turns" if key == "length" and turns else CALLED[key]
    of = {"": choice.part} if choice.part else {}
    about = choice.joint or choice.function
    (first, *_) = measurements_of(done, of, f"{name} of {about}" if about else name)
    return first.model_copy(update={"taken_for": taken})


def _words(found: Candidates, fact: Fact, names: Sequence[str], kept: Sequence[Measurement]) -> str:
    told = ", ".join(f"{one.name} {one.value} ({name})" for name, one in zip(names, kept, strict=True))
    others = [one.name for one in found.candidates if fact.entered not in (one.enters, one.name)]
    left = f"; also possible: {', '.join(others)}" if others else ""
    own = "" if any(one.enters == fact.entered for one in found.candidates) else ", not among the candidates"
    return f"Chosen: {found.what} of {fact.name} {fact.entered}{own}{left}{'; ' + told if told else ''}"


def marking_pieces(
    tree: Mapping[str, Any],
    photo: str,
    confirmed: Confirmation,
    part: str | None,
    function: str | None,
    code: tuple[str, Reading] | None,
) -> Entered:
    """A confirmed marking: on the part, or on its component of this function, and as a call-out on the photo.

    `code` is a group of the marking with the week that a person chose for it. Without a part only the call-out is made.
    """
    text = " / ".join(confirmed.confirmed)
    week = None if code is None else f"{code[0]} ({code[1].year}-W{code[1].week:02d})"
    pieces, place, told = [], "", text
    if part is not None:
        held = (tree.get("parts") or {}).get(part, {})
        place, value = f"parts.{part}.marking", {**held, "marking": text}
        if function:
            facts = {"marking": text} | ({"date_code": week} if week else {})
            components, index = with_component(held, function, facts)
            place, value = f"parts.{part}.components[{index}].marking", {**held, "components": components}
        pieces.append(Piece("put", {"at": f"parts.{part}", "value": value}))
    letter = _letter(tree["photos"][photo].get("call_outs") or {})
    mark = _call_out(confirmed, part, week)
    held_photo = tree["photos"][photo]
    call_outs = {**(held_photo.get("call_outs") or {}), letter: mark.model_dump(mode="json", exclude_defaults=True)}
    pieces.append(Piece("put", {"at": f"photos.{photo}", "value": {**held_photo, "call_outs": call_outs}}))
    about = f" of {function or part}" if part else ""
    told += f", date code {week}" if week else ""
    return Entered(tuple(pieces), f"Confirmed: marking{about} {told} (call-out {letter} on {photo})", place)


def _call_out(confirmed: Confirmation, part: str | None, week: str | None) -> CallOut:
    box = confirmed.region
    read = " / ".join(confirmed.read) or "nothing"
    proposed = "as proposed" if confirmed.read == confirmed.confirmed else f"proposed: {read}"
    code = f", date code {week}" if week else ""
    text = f"marking {' / '.join(confirmed.confirmed)}{code}; {proposed}; confirmed by {confirmed.by}"
    corners = ((box.x, box.y), (box.x + box.width, box.y + box.height))
    return CallOut(shape="box", corners=corners, about=f"parts.{part}" if part else None, text=text[:4000])


def _letter(used: Mapping[str, Any]) -> str:
    """The next free letter: A … Z, AA …"""
    letters = [chr(65 + n) for n in range(26)]
    every = [*letters, *(one + other for one in letters for other in letters)]
    return next(name for name in every if name not in used)
