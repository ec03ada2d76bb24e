"""Measurements kept in a record: entered with their recipe, and made again from the photo."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from unfasten.evidence.errors import CallError, DataError
from unfasten.evidence.filebytes import read_limited
from unfasten.photo.lensfile import LensProfile
from unfasten.photo.open import Photo
from unfasten.photo.reading import Reading
from unfasten.record.measurement import Measurement
from unfasten.record.record import Record
from unfasten.service.boardphoto import measure_board
from unfasten.service.load import load_record
from unfasten.service.measure import measure_photo
from unfasten.service.measurefigure import figure
from unfasten.service.measureparts import PartsTable
from unfasten.service.measurepicks import Measured
from unfasten.service.measuretext import with_measurements
from unfasten.service.replacefile import replace_file

#: sizes of a part on the mat that are kept
PART_SIZES = ("length", "width", "area")


@dataclass(frozen=True, slots=True)
class Again:
    """A measurement made again: what the record holds and what comes out now (None: nothing of that name)."""

    id: str
    held: Measurement
    now: str | None

    @property
    def same(self) -> bool:
        """Tell whether the same figure came out."""
        return self.now == str(self.held.value)

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {"id": self.id, "name": self.held.name, "held": str(self.held.value), "now": self.now, "same": self.same}


def measurements_of(done: Measured | PartsTable, of: Mapping[str, str], name: str | None = None) -> list[Measurement]:
    """What is kept: the first reading of picks (all of a hole pattern), or the sizes of the parts that `of` names.

    `of` is {"": part} for picks, and {letter: part} for parts on the mat. Raises `CallError` for a letter not found.
    """
    if isinstance(done, Measured):
        part = of.get("") or None
        if set(of) - {""}:
            raise CallError("photo.unknown-letter", "--of", "letters belong to parts on the mat", "name one part")
        kept = done.readings if done.ask.kind == "holes" else done.readings[:1]
        return [_kept(done, one, one.name if name is None or one is not kept[0] else name, part, None) for one in kept
                if one.value >= 0]  # fmt: skip
    letters = {part.letter: part for part in done.parts}
    for letter in of:
        if letter not in letters:
            message = (
                f'no part "{letter}" was found on the mat' if letter else "parts on the mat are told by their letters"
            )
            raise CallError(
                "photo.unknown-letter", "--of", message, f"write --of LETTER=PART; found: {', '.join(letters)}"
            )
    wanted = [
        (letter, part, one) for letter, part in of.items() for one in letters[letter].readings if one.name in PART_SIZES
    ]
    return [_kept(done, one, one.name, part, letter) for letter, part, one in wanted]


def _kept(
    done: Measured | PartsTable, reading: Reading, name: str, part: str | None, letter: str | None
) -> Measurement:
    recipe = done.as_json()["recipe"]
    return figure(
        done.photo,
        done.profile,
        reading,
        kind=done.ask.kind,
        name=name,
        of=part,
        letter=letter,
        recipe=recipe if name == reading.name else {**_tree(recipe), "reading": reading.name},
    )


def _tree(recipe: object) -> dict[str, object]:
    return dict(recipe) if isinstance(recipe, dict) else {}


def keep(path: Path, done: Measured | PartsTable, of: Mapping[str, str], name: str | None = None) -> tuple[str, ...]:
    """Enter a measurement into a record file, its layout kept where that is possible; gives the new ids.

    Raises `RecordInvalid` if the record has errors, `CallError` for a part that it does not have.
    """
    record = load_record(path)
    for part in of.values():
        if part not in record.parts:
            message = f'the record has no part "{part}"'
            raise CallError("photo.unknown-part", "--of", message, f"name one of {', '.join(record.parts)}")
    new = dict(zip(_fresh(record), measurements_of(done, of, name), strict=False))
    if not new:
        raise CallError("photo.nothing-to-keep", "--into", "no part is named", "say which is which: --of A=PART")
    wanted = record.model_copy(update={"measurements": {**record.measurements, **new}})
    replace_file(path, with_measurements(read_limited(path), path.name, new, wanted), like=path)
    return tuple(new)


def _fresh(record: Record) -> Iterator[str]:
    """Ids m-001, m-002, … that the record does not use."""
    taken = [int(found[1]) for name in record.measurements if (found := re.fullmatch(r"m-(\d+)", name))]
    number = max(taken, default=0)
    while True:
        number += 1
        yield f"m-{number:03d}"


def again(record: Record, photo: Photo, profiles: Sequence[LensProfile], wanted: Sequence[str] = ()) -> list[Again]:
    """Make every measurement of this photo again, or those of the ids `wanted`; raises as `again_of` does."""
    return again_of(record.measurements, photo, profiles, wanted)


def again_of(
    every: Mapping[str, Measurement], photo: Photo, profiles: Sequence[LensProfile], wanted: Sequence[str] = ()
) -> list[Again]:
    """The same of measurements by their ids, such as those of a record that is not complete yet.

    Raises `CallError` for an id that the record does not have, `DataError` where nothing was measured on this photo.
    """
    for name in wanted:
        if name not in every:
            message = f'the record has no measurement "{name}"'
            raise CallError("photo.unknown-measurement", "--id", message, f"name one of {', '.join(every)}")
    held = {n: m for n, m in every.items() if m.file == photo.sha256 and (not wanted or n in wanted)}
    if not held:
        message = "the record holds no such measurement on this photo"
        raise DataError("photo.other-photo", photo.facts.name, message, "use the very file that was measured on")
    return [Again(name, one, _now(photo, one, profiles)) for name, one in held.items()]


def _now(photo: Photo, held: Measurement, profiles: Sequence[LensProfile]) -> str | None:
    ask = {key: value for key, value in held.recipe.items() if key not in ("program", "reading")}
    used = [profile for profile in profiles if profile.name == held.lens]
    name = str(held.recipe.get("reading", held.name))
    if held.kind == "board":
        found = measure_board(photo, photo.facts.name, ask, used).found.readings
    else:
        done = measure_photo(photo, photo.facts.name, ask, used)
        if isinstance(done, Measured):
            found = done.readings
        else:
            found = next((part.readings for part in done.parts if part.letter == held.letter), ())
    return next((one.text for one in found if one.name == name), None)
