"""The tables a prediction is made with: shipped in `worktime.yaml`, replaced entry by entry by a file of the user.

Reading is strict. A figure whose confidence is C, M or NF (from memory, or not found) is refused.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, Final, Literal

from unfasten.effort.sequence import Sequence, SequenceError, read_sequence
from unfasten.evidence.cite import Cite, check_cite
from unfasten.evidence.fields import Fields, Sheaf, open_file
from unfasten.evidence.interval import exact
from unfasten.evidence.place import Path as Place
from unfasten.evidence.place import shown

FORMAT: Final = "unfasten-worktime/1"
#: A: several texts, or recomputed; B: one text; own: the choice of whoever wrote the file
CONFIDENCE: Final = ("A", "B", "own")
_TOP: Final = ("format", "title", "unit", "letters", "counted", "screws", "operations", "refused", "worksheet", "study")
_SCREWS: Final = ("turns_per_spin", "engaged_least", "engaged_most")
_PER: Final = ("each", "once")


@dataclass(frozen=True, slots=True)
class Letter:
    """Rows of one letter: index -> what it stands for."""

    meaning: str
    rows: Mapping[int, str]
    confidence: str


@dataclass(frozen=True, slots=True)
class Counted:
    """Index of a letter by a count: index -> up to how many [`unit`], in rising order; `of` names the count."""

    letter: str
    of: str
    unit: str
    limits: Mapping[int, Fraction]
    confidence: str

    def index(self, count: Fraction) -> int | None:
        """First index whose limit is not below the count; None where the table ends below it."""
        return next((index for index, limit in self.limits.items() if count <= limit), None)

    @property
    def most(self) -> Fraction:
        """Where the table ends."""
        return max(self.limits.values())


@dataclass(frozen=True, slots=True)
class Operation:
    """What is done in one kind of action: its sequences, once or for each of the joint's count, and why so."""

    name: str
    sequence: Sequence
    per: str
    why: str
    confidence: str


@dataclass(frozen=True, slots=True)
class Unit:
    """Seconds of one worksheet entry: removal between `least` and `most`, laying aside `aside` [s]."""

    name: str
    least: Fraction
    most: Fraction
    aside: Fraction
    confidence: str
    source: str | None
    at: str | None


@dataclass(frozen=True, slots=True)
class Study:
    """How observed times are used: rating [%], allowance [%] of job or shift, confidence [%] and accuracy [%]."""

    rating: Fraction
    allowance: Fraction
    allowance_of: Literal["job", "shift"]
    confidence: Fraction
    accuracy: Fraction


@dataclass(frozen=True)
class Tables:
    """All tables of a prediction. `titles` names the files that they came from, the last one winning."""

    titles: tuple[str, ...]
    tmu_s: Fraction
    factor: int
    letters: Mapping[str, Letter] = field(default_factory=dict)
    counted: Mapping[str, Counted] = field(default_factory=dict)
    screws: Mapping[str, Fraction] = field(default_factory=dict)
    operations: Mapping[str, Operation] = field(default_factory=dict)
    refused: Mapping[str, str] = field(default_factory=dict)
    worksheet: Mapping[str, Unit] = field(default_factory=dict)
    study: Study = Study(Fraction(100), Fraction(0), "job", Fraction(95), Fraction(5))


@cache
def shipped() -> Tables:
    """The tables that come with the program; raises `InvalidFileError` if the file has errors."""
    return _read(Path(str(resources.files("unfasten.effort") / "worktime.yaml")), None)


def tables_with(path: Path | None) -> Tables:
    """The shipped tables with the entries of a user's file in place of theirs; raises `InvalidFileError`."""
    return shipped() if path is None else _read(path, shipped())


def _read(path: Path, base: Tables | None) -> Tables:
    data, sheaf = open_file(path)
    top = Fields(data, (), sheaf, _TOP)
    if top.text("format") not in ("", FORMAT):
        top.wrong("format", FORMAT)
    title = top.text("title")
    unit = _scalars(top, "unit", ("tmu", "basic_factor"))
    studied = _study(top, base)
    tables = Tables(
        (*(base.titles if base else ()), title),
        unit.get("tmu", base.tmu_s if base else Fraction(0)),
        int(unit.get("basic_factor", Fraction(base.factor) if base else Fraction(0))),
        _merged(base.letters if base else {}, _section(top, "letters", _letter)),
        _merged(base.counted if base else {}, _section(top, "counted", _counted)),
        _merged(base.screws if base else {}, _scalars(top, "screws", _SCREWS)),
        _merged(base.operations if base else {}, _section(top, "operations", _operation)),
        _merged(base.refused if base else {}, _refused(top)),
        _merged(base.worksheet if base else {}, _section(top, "worksheet", _unit)),
        studied,
    )
    _check_unit(tables, unit, sheaf)
    _check_screws(tables, sheaf)
    _check_operations(tables, sheaf)
    sheaf.close()
    return tables


def _merged(base: Mapping[str, Any], more: Mapping[str, Any]) -> dict[str, Any]:
    return {**base, **more}


def _section(top: Fields, key: str, read: Callable[[str, Fields], Any]) -> dict[str, Any]:
    if not top.has(key):
        return {}
    known = {
        "letters": ("meaning", "source", "confidence", "rows"),
        "counted": ("of", "meaning", "unit", "source", "confidence", "limits"),
        "operations": ("sequence", "per", "confidence", "why", "source"),
        "worksheet": ("least", "most", "aside", "source", "confidence", "at"),
    }[key]
    return {name: read(name, Fields(item, path, top.sheaf, known)) for path, name, item in top.pairs(key)}


def _trust(fields: Fields) -> str:
    """Confidence of an entry; C, M and NF get a message of their own."""
    if fields.data.get("confidence") in ("C", "M", "NF"):
        message = f"a figure of confidence {fields.data['confidence']} is not used"
        remedy = "look it up in the source and write A or B, or write own and answer for it yourself"
        fields.sheaf.add("worktime.from-memory", (*fields.path, "confidence"), message, remedy)
        return "own"
    if fields.has("source"):
        check_cite(Cite(fields.text("source"), ""), (*fields.path, "source"), fields.sheaf)
    return fields.choice("confidence", CONFIDENCE)


def _scalars(top: Fields, key: str, known: tuple[str, ...]) -> dict[str, Fraction]:
    if not top.has(key):
        return {}
    group = Fields(top.data.get(key), (key,), top.sheaf, known)
    out = {}
    for name, item in group.data.items():
        if name in known:
            fields = Fields(item, (key, name), top.sheaf, ("value", "unit", "source", "confidence"))
            out[name] = fields.number("value")
            _trust(fields)
    return out


def _letter(name: str, fields: Fields) -> Letter:
    words = _words(fields, "rows")
    rows = {index: word for key, word in words.items() if (index := _index(name, key, fields)) is not None}
    return Letter(fields.text("meaning"), rows, _trust(fields))


def _counted(name: str, fields: Fields) -> Counted:
    limits = {}
    for path, key, item in fields.pairs("limits"):
        index = _index(name, key, fields)
        if index is not None:
            limits[index] = _number(item, path, fields.sheaf)
    rising = dict(sorted(limits.items()))
    if list(rising.values()) != sorted(set(rising.values())):
        fields.wrong("limits", "limits that rise with the index")
    return Counted(name, fields.text("of"), fields.text("unit"), rising, _trust(fields))


def _index(letter: str, key: str, fields: Fields) -> int | None:
    """Index of a key such as P3; None, with a problem noted, for anything else."""
    if key.startswith(letter) and key[len(letter) :].isdecimal():
        return int(key[len(letter) :])
    fields.sheaf.add(
        "data.wrong-kind", fields.path, f"{key!r} is no index of {letter}", f"write keys such as {letter}3"
    )
    return None


def _number(item: object, path: Place, sheaf: Sheaf) -> Fraction:
    try:
        return exact(item)
    except ValueError:
        sheaf.add("data.wrong-kind", path, f"{shown(item)} is no number", "write a number")
        return Fraction(0)


def _operation(name: str, fields: Fields) -> Operation:
    text, per = fields.text("sequence"), fields.choice("per", _PER)
    try:
        sequence = read_sequence(text) if text else Sequence(())
    except SequenceError as error:
        fields.sheaf.add("worktime.bad-sequence", (*fields.path, "sequence"), str(error), "write letters with indices")
        sequence = Sequence(())
    return Operation(name, sequence, per, fields.text_or_none("why") or "", _trust(fields))


def _unit(name: str, fields: Fields) -> Unit:
    least, most, aside = fields.number("least"), fields.number("most"), fields.number("aside")
    if least > most:
        fields.wrong("most", "a number not below least")
    if min(least, aside) < 0:
        fields.wrong("least" if least < 0 else "aside", "a time that is not negative")
    source, at = fields.text_or_none("source"), fields.text_or_none("at")
    return Unit(name, least, most, aside, _trust(fields), source, at)


def _refused(top: Fields) -> dict[str, str]:
    return _words(top, "refused") if top.has("refused") else {}


def _words(fields: Fields, key: str) -> dict[str, str]:
    """The members of a mapping that are texts; a problem is noted for any other."""
    out = {}
    for path, name, item in fields.pairs(key):
        if isinstance(item, str) and item.strip():
            out[name] = item
        else:
            fields.sheaf.add("data.wrong-kind", path, f"{shown(item)} is no text", "write words, in quotes if need be")
    return out


def _study(top: Fields, base: Tables | None) -> Study:
    old = base.study if base else Study(Fraction(100), Fraction(0), "job", Fraction(95), Fraction(5))
    if not top.has("study"):
        return old
    names = ("rating", "allowance", "confidence", "accuracy")
    group = Fields(top.data.get("study"), ("study",), top.sheaf, (*names, "allowance_of"))
    told = {}
    for name in names:
        if group.has(name):
            item = Fields(group.data[name], ("study", name), top.sheaf, ("value", "unit", "source", "confidence"))
            told[name] = item.number("value")
            _trust(item)
    of = group.choice("allowance_of", ("job", "shift")) if group.has("allowance_of") else old.allowance_of
    study = Study(
        told.get("rating", old.rating),
        told.get("allowance", old.allowance),
        "shift" if of == "shift" else "job",
        told.get("confidence", old.confidence),
        told.get("accuracy", old.accuracy),
    )
    _check_study(study, group)
    return study


def _check_study(study: Study, group: Fields) -> None:
    for name, value, low, high in (
        ("rating", study.rating, 0, 500),
        ("confidence", study.confidence, 50, 100),
        ("accuracy", study.accuracy, 0, 100),
    ):
        if not low < value < high:
            group.sheaf.add("data.out-of-range", ("study", name), f"{float(value):g} % is not between {low} and {high}",
                            "mend the value")  # fmt: skip
    if not 0 <= study.allowance < 100:
        message = f"{float(study.allowance):g} % is no allowance"
        group.sheaf.add("data.out-of-range", ("study", "allowance"), message, "write 0 or more, below 100")


def _check_unit(tables: Tables, unit: Mapping[str, Fraction], sheaf: Sheaf) -> None:
    factor = unit.get("basic_factor", Fraction(tables.factor))
    if tables.tmu_s <= 0:
        sheaf.add("data.out-of-range", ("unit", "tmu"), "a TMU takes time", "write more than 0 s, such as 0.036")
    if factor.denominator != 1 or factor < 1:
        message = f"{float(factor):g} is no factor"
        sheaf.add("data.out-of-range", ("unit", "basic_factor"), message, "write a whole number from 1, such as 10")


def _check_screws(tables: Tables, sheaf: Sheaf) -> None:
    per, least, most = (tables.screws.get(name, Fraction(0)) for name in _SCREWS)
    if per <= 0:
        sheaf.add("data.out-of-range", ("screws", "turns_per_spin"), "a spin must turn the screw", "write more than 0")
    if not 0 <= least <= most:
        message = f"engaged from {float(least):g} to {float(most):g} %"
        sheaf.add("data.out-of-range", ("screws",), message, "write engaged_least not above engaged_most, from 0 %")


def _check_operations(tables: Tables, sheaf: Sheaf) -> None:
    """Every index stands in its table, and every name is counted by the letter before it."""
    for name, operation in tables.operations.items():
        for element in operation.sequence.elements():
            letter, counted = tables.letters.get(element.letter), tables.counted.get(element.letter)
            known = set(letter.rows) if letter else set(counted.limits) if counted else set()
            wrong = element.name is None and element.index not in known
            wrong |= element.name is not None and (counted is None or counted.of != element.name)
            if wrong:
                remedy = f"use one of {', '.join(f'{element.letter}{index}' for index in sorted(known))}"
                message = f"no table has {element}"
                sheaf.add("worktime.no-index", ("operations", name, "sequence"), message, remedy)
