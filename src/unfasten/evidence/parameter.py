"""Published figures as data: dated values with unit, meaning and place in the source, read strictly.

A file holds parameters of one theme:

    source: example-act-2099            # key in sources.yaml
    still_valid_on: 2098-12-01          # day on which someone last checked that the values are current
    parameters:
      - id: battery_steps.max
        meaning: most steps allowed to reach the battery
        unit: step
        confidence: L+1                 # L: read in the text itself, and n secondary sources that say the same;
                                        # A: in a copy or official summary of it; B: in one secondary source only
        range: [1, 100]                 # every number in the value lies in it
        values: [{from: 2099-01-01, value: 5, at: "Annex I, 2(b)"}]
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Final

from unfasten.evidence.cite import Cite, check_cite
from unfasten.evidence.fields import Fields, Sheaf, open_file
from unfasten.evidence.interval import exact, short_text
from unfasten.evidence.place import Path as Place
from unfasten.evidence.place import shown

_FILE_KEYS: Final = ("source", "still_valid_on", "parameters")
_KEYS: Final = ("id", "meaning", "unit", "confidence", "range", "values", "note")
_VALUE_KEYS: Final = ("from", "value", "at", "note")
_ID: Final = re.compile(r"[a-z0-9]+([._-][a-z0-9]+)*", re.ASCII)
_CONFIDENCE: Final = re.compile(r"L(\+[1-9])?|A|B", re.ASCII)

#: a number, a word, or rows and columns of them
Content = Fraction | str | tuple["Content", ...] | Mapping[str, "Content"]


class TooEarlyError(LookupError):
    """The day asked for lies before the first value of a parameter."""


@dataclass(frozen=True, slots=True)
class Figure:
    """The value of a parameter on a day, with the day since which it holds and its place in the source."""

    id: str
    value: Content
    unit: str
    since: date
    cite: Cite
    confidence: str
    meaning: str

    @property
    def number(self) -> Fraction:
        """The value as one exact number; `TypeError` if it is a table."""
        if isinstance(self.value, Fraction):
            return self.value
        raise TypeError(f"{self.id} is a table, not one number")

    @property
    def table(self) -> Mapping[str, Fraction]:
        """The value as numbers by name; `TypeError` if it is something else."""
        if isinstance(self.value, Mapping):
            return {key: _number(self.id, item) for key, item in self.value.items()}
        raise TypeError(f"{self.id} is not a table of numbers by name")

    @property
    def rows(self) -> tuple[Mapping[str, Content], ...]:
        """The value as rows, in the order of the source; `TypeError` if it is something else."""
        if isinstance(self.value, tuple):
            return tuple(row for row in self.value if isinstance(row, Mapping))
        raise TypeError(f"{self.id} has no rows")


@dataclass(frozen=True, slots=True)
class Parameter:
    """A published figure through time; `history` is in order of `since`. `range` bounds every number in it."""

    id: str
    meaning: str
    unit: str
    confidence: str
    range: tuple[Fraction, Fraction]
    still_valid_on: date
    history: tuple[Figure, ...]
    note: str | None = None

    def on(self, day: date) -> Figure:
        """The value that holds on the day; raises `TooEarlyError` before the first one."""
        live = [figure for figure in self.history if figure.since <= day]
        if not live:
            first = self.history[0].since
            raise TooEarlyError(f"{self.id} has no value on {day}; the first holds from {first}")
        return live[-1]


@dataclass(frozen=True)
class Law:
    """The parameters of a rule set on a day: `law("depth.points")` gives the figure; `asked` keeps the ids."""

    parameters: Mapping[str, Parameter]
    day: date
    asked: set[str] = field(default_factory=set)

    def __call__(self, name: str) -> Figure:
        """The figure of this id on the day; `KeyError` if no file defines it, `TooEarlyError` before its first."""
        self.asked.add(name)
        return self.parameters[name].on(self.day)


def _number(name: str, item: Content) -> Fraction:
    if isinstance(item, Fraction):
        return item
    raise TypeError(f"{name} holds {item!r} where a number belongs")


def load_parameters(files: Sequence[Path]) -> dict[str, Parameter]:
    """Read parameter files; raises `InvalidFileError` with every problem of the first file that has any."""
    out: dict[str, Parameter] = {}
    for path in files:
        data, sheaf = open_file(path)
        for parameter in read_parameters(data, sheaf):
            if parameter.id in out:
                message = f"another file defines {parameter.id} too"
                sheaf.add("data.repeated-id", ("parameters",), message, "delete one of the two")
            out[parameter.id] = parameter
        sheaf.close()
    return out


def read_parameters(data: object, sheaf: Sheaf) -> tuple[Parameter, ...]:
    """Read the tree of one parameter file; raises `InvalidFileError` with every problem."""
    top = Fields(data, (), sheaf, _FILE_KEYS)
    source, checked = top.text("source"), top.day("still_valid_on")
    check_cite(Cite(source, ""), ("source",), sheaf)
    found = tuple(_parameter(item, path, sheaf, source, checked) for path, item in top.items("parameters"))
    ids = [parameter.id for parameter in found]
    for parameter_id in sorted({i for i in ids if ids.count(i) > 1}):
        sheaf.add("data.repeated-id", ("parameters",), f"{parameter_id} is defined twice", "delete one of the two")
    sheaf.close()
    return found


def _parameter(data: object, path: Place, sheaf: Sheaf, source: str, checked: date) -> Parameter:
    fields = Fields(data, path, sheaf, _KEYS)
    name, unit, meaning = fields.text("id"), fields.text("unit"), fields.text("meaning")
    confidence = fields.text("confidence")
    if name and not _ID.fullmatch(name):
        fields.wrong("id", "lower-case words with dots, such as steps.points")
    if confidence and not _CONFIDENCE.fullmatch(confidence):
        fields.wrong("confidence", "L or L+n, A or B; a figure from memory, or not found, is never coded")
    limits = _range(fields)
    history = []
    for place, item in fields.items("values"):
        value = Fields(item, place, sheaf, _VALUE_KEYS)
        content = _content(value.data.get("value"), (*place, "value"), sheaf, limits)
        since, at = value.day("from"), value.text("at")
        history.append(Figure(name, content, unit, since, Cite(source, at), confidence, meaning))
    days = [figure.since for figure in history]
    if days != sorted(set(days)):
        fields.wrong("values", "the values in order of their days, each day once")
    return Parameter(name, meaning, unit, confidence, limits, checked, tuple(history), fields.text_or_none("note"))


def _range(fields: Fields) -> tuple[Fraction, Fraction]:
    ends = [item for _, item in fields.items("range")]
    try:
        low, high = (exact(end) for end in ends)
    except ValueError:
        if ends:
            fields.wrong("range", "the least and the greatest number that is plausible")
        return Fraction(0), Fraction(0)
    return low, high


def _content(data: object, path: Place, sheaf: Sheaf, limits: tuple[Fraction, Fraction]) -> Content:
    if isinstance(data, dict):
        return {str(key): _content(item, (*path, str(key)), sheaf, limits) for key, item in data.items()}
    if isinstance(data, list):
        return tuple(_content(item, (*path, number), sheaf, limits) for number, item in enumerate(data))
    if isinstance(data, str) and data and not data[0].isdigit():
        return data
    try:
        value = exact(data)
    except ValueError:
        sheaf.add("data.wrong-kind", path, f"{shown(data)} is no value", "write a number, a word, or rows of them")
        return Fraction(0)
    if not limits[0] <= value <= limits[1]:
        span = f"{short_text(limits[0])} to {short_text(limits[1])}"
        sheaf.add("data.out-of-range", path, f"{shown(data)} lies outside {span}", "mend the value or the range")
    return value


def numbers_in(content: Content) -> Iterator[Fraction]:
    """Every number in a value, in the order of the file."""
    if isinstance(content, Fraction):
        yield content
    elif isinstance(content, Mapping):
        for item in content.values():
            yield from numbers_in(item)
    elif isinstance(content, tuple):
        for item in content:
            yield from numbers_in(item)
