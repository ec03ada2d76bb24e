"""What a person says about pairs: these two are the same part, or these two are not."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Final

from unfasten.evidence.errors import CallError
from unfasten.evidence.fields import Fields, Sheaf, open_file, unknown_remedy
from unfasten.evidence.place import Path as Place
from unfasten.record.record import Record

_FORM: Final = re.compile(r"(?:(\d+):)?([a-z0-9-]+)(?:=(?:(\d+):)?([a-z0-9-]+))?", re.ASCII)
#: a part of a record: the record's number from 0, and the part's id
Place2 = tuple[int, str]


@dataclass(frozen=True, slots=True)
class Pins:
    """Pairs that are the same part, and pairs that are not."""

    pairs: tuple[tuple[Place2, Place2], ...] = ()
    breaks: tuple[tuple[Place2, Place2], ...] = ()


def read_pins(path: Path) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Read a file with the lists `pairs` and `breaks`, each of texts such as `a=b` or `1:a=3:b`.

    Raises `InvalidFileError` with every problem.
    """
    data, sheaf = open_file(path)
    fields = Fields(data, (), sheaf, ("pairs", "breaks"))
    lists = tuple(_texts(fields, key, sheaf) for key in ("pairs", "breaks"))
    sheaf.close()
    return lists[0], lists[1]


def _texts(fields: Fields, key: str, sheaf: Sheaf) -> tuple[str, ...]:
    out = []
    for place, item in fields.items(key) if fields.has(key) else ():
        if isinstance(item, str):
            out.append(item)
        else:
            _no_text(place, sheaf)
    return tuple(out)


def _no_text(place: Place, sheaf: Sheaf) -> None:
    sheaf.add("data.wrong-kind", place, "this is no text", "write PART=PART, such as main-camera=rear-camera")


def pins_of(records: Sequence[Record], pairs: Iterable[str], breaks: Iterable[str]) -> Pins:
    """Understand the texts for these records; raises `CallError` for parts that no record has, or a contradiction.

    `a=b` speaks of each two neighbouring records that have them; `1:a=3:b` of the first and third; `a` means `a=a`.
    """
    wrong: list[CallError] = []
    pinned = _all_meant(records, pairs, "--pair", wrong)
    broken = _all_meant(records, breaks, "--break", wrong)
    if wrong:
        first, *others = wrong
        more = "".join(f"\n{error}" for error in others)
        raise CallError(first.code, first.where, first.message, first.remedy + more)
    for pair in pinned:
        if pair in broken:
            raise CallError("compare.pin-and-break", "--pair", f"{_shown(pair)} is also broken", "keep one of the two")
    seen: dict[tuple[int, int, str], Place2] = {}
    for one, other in pinned:
        for a, b in ((one, other), (other, one)):
            if seen.setdefault((a[0], b[0], a[1]), b) != b:
                message = f"{a[1]} is paired with two parts of one record"
                raise CallError("compare.pin-twice", "--pair", message, "keep one of the two")
    return Pins(pinned, broken)


def _shown(pair: tuple[Place2, Place2]) -> str:
    return "=".join(f"{number + 1}:{part}" for number, part in pair)


def _all_meant(
    records: Sequence[Record], texts: Iterable[str], option: str, wrong: list[CallError]
) -> tuple[tuple[Place2, Place2], ...]:
    """What all texts mean; those that mean nothing are kept in `wrong`."""
    found: list[tuple[Place2, Place2]] = []
    for text in texts:
        try:
            found.extend(_meant(records, text, option))
        except CallError as error:
            wrong.append(error)
    return tuple(found)


def _meant(records: Sequence[Record], text: str, option: str) -> list[tuple[Place2, Place2]]:
    form = _FORM.fullmatch(text)
    if form is None:
        remedy = "write PART=PART, or N:PART=M:PART with the numbers of the records"
        raise CallError("compare.pin-form", option, f"{text!r} names no pair", remedy)
    first, a, second, b = form.groups()
    a, b = a or "", b or a or ""
    if (first is None) != (second is None):
        raise CallError("compare.pin-form", option, f"{text!r} numbers one side only", "number both, or neither")
    if first is not None and second is not None:
        return [(_numbered(records, first, a, option), _numbered(records, second, b, option))]
    found = [
        ((number, a), (number + 1, b))
        for number, (one, other) in enumerate(pairwise(records))
        if a in one.parts and b in other.parts
    ]
    if not found:
        known = tuple(dict.fromkeys(part for record in records for part in record.parts))
        missing = a if all(a not in record.parts for record in records) else b
        message = f"no two neighbouring records have {a} and {b}"
        raise CallError("compare.pin-unknown", option, message, unknown_remedy(missing, known))
    return found


def _numbered(records: Sequence[Record], number: str, part: str, option: str) -> Place2:
    index = int(number) - 1
    if not 0 <= index < len(records):
        raise CallError("compare.pin-unknown", option, f"there is no record {number}", f"use 1 to {len(records)}")
    if part not in records[index].parts:
        message = f"record {number} has no part {part}"
        raise CallError("compare.pin-unknown", option, message, unknown_remedy(part, tuple(records[index].parts)))
    return index, part
