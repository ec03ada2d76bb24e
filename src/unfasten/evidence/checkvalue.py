"""Check values: figures that a document prints, or that were worked by hand, recomputed by the program.

A file holds a list of checks of one kind, under the key `checks`:

    checks:
      - id: gum-h2-resistance
        kind: published             # published | worked, never mixed in one file
        model: metrology.budget     # looked up in the MODELS of checkmodels.py beside the folder
        source: {doc: jcgm-100-2008, at: "Annex H.2"}
        given: {...}
        expect: {R: {printed: "127.732", unit: ohm}}
        agrees: true
        note: null                  # if false: what differs and why we believe it

`printed` is the text exactly as the source prints it. The tolerance is half a unit of its last place unless the check
states another (`tolerance`, as text, for the check or for one value).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

from unfasten.evidence.cite import Cite, check_cite
from unfasten.evidence.fields import Fields, Sheaf, open_file
from unfasten.evidence.interval import exact, short_text
from unfasten.evidence.place import Path as Place

KINDS: Final = ("published", "worked")
_KEYS: Final = ("id", "kind", "model", "source", "given", "expect", "tolerance", "agrees", "note")
_VALUE_KEYS: Final = ("printed", "unit", "tolerance")

#: what a model gives: a number, or a word such as a class
Computed = Fraction | Decimal | int | float | str
Model = Callable[[Mapping[str, Any]], Mapping[str, Computed]]


@dataclass(frozen=True, slots=True)
class Expected:
    """A figure as the source prints it; `tolerance` None: the printed text is a word and must be met exactly."""

    name: str
    printed: str
    unit: str
    tolerance: Fraction | None


@dataclass(frozen=True, slots=True)
class Check:
    """One check: what is given to which model, and what the source prints. `agrees` is what we expect to find."""

    id: str
    kind: str
    model: str
    source: Cite
    given: Mapping[str, Any]
    expect: tuple[Expected, ...]
    agrees: bool
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Compared:
    """A printed figure beside the computed one."""

    expected: Expected
    computed: str
    agrees: bool


@dataclass(frozen=True, slots=True)
class Outcome:
    """A check that was run; `as_stated` tells whether the figures agree or differ as the check says."""

    check: Check
    values: tuple[Compared, ...]

    @property
    def agrees(self) -> bool:
        """Tell whether every figure agrees."""
        return all(value.agrees for value in self.values)

    @property
    def as_stated(self) -> bool:
        """Tell whether the outcome is what the check states."""
        return self.agrees == self.check.agrees

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "id": self.check.id,
            "kind": self.check.kind,
            "model": self.check.model,
            "source": {"doc": self.check.source.doc, "at": self.check.source.at},
            "values": [_value_json(value) for value in self.values],
            "agrees": self.agrees,
            "stated": self.check.agrees,
            "note": self.check.note,
        }


class Models(dict[str, Model]):
    """The models that checks may name, each bound to its id where it is defined."""

    def model(self, name: str) -> Callable[[Model], Model]:
        """Bind the function below to an id; raises `ValueError` if the id is taken."""

        def bind(function: Model) -> Model:
            if name in self:
                raise ValueError(f"two models are called {name}")
            self[name] = function
            return function

        return bind


def half_last_digit(printed: str) -> Fraction:
    """Half a unit of the last printed place.

    >>> half_last_digit("12.65"), half_last_digit("165")
    (Fraction(1, 200), Fraction(1, 2))
    """
    exponent = Decimal(printed).as_tuple().exponent
    if not isinstance(exponent, int):
        raise ValueError(f"{printed!r} is no finite number")
    return Fraction(1, 2) * Fraction(10) ** exponent


def load_checks(path: Path) -> tuple[Check, ...]:
    """Read a file of checks strictly; raises `InvalidFileError` with every problem."""
    data, sheaf = open_file(path)
    top = Fields(data, (), sheaf, ("checks",))
    checks = tuple(_check(item, place, sheaf) for place, item in top.items("checks"))
    if len({check.kind for check in checks}) > 1:
        sheaf.add("data.wrong-kind", ("checks",), "published and worked checks are mixed", "use a file for each kind")
    ids = [check.id for check in checks]
    for name in sorted({i for i in ids if ids.count(i) > 1}):
        sheaf.add("data.repeated-id", ("checks",), f"{name} stands twice", "rename one of the two")
    sheaf.close()
    return checks


def _check(data: object, path: Place, sheaf: Sheaf) -> Check:
    fields = Fields(data, path, sheaf, _KEYS)
    source = Fields(fields.data.get("source"), (*path, "source"), sheaf, ("doc", "at"))
    cite = Cite(source.text("doc"), source.text("at"))
    check_cite(cite, (*path, "source", "doc"), sheaf)
    default = fields.text_or_none("tolerance")
    return Check(
        id=fields.text("id"),
        kind=fields.choice("kind", KINDS),
        model=fields.text("model"),
        source=cite,
        given={name: item for _, name, item in fields.pairs("given")},
        expect=tuple(_expected(name, item, place, sheaf, default) for place, name, item in fields.pairs("expect")),
        agrees=fields.flag("agrees"),
        note=fields.text_or_none("note"),
    )


def _expected(name: str, data: object, path: Place, sheaf: Sheaf, default: str | None) -> Expected:
    fields = Fields(data, path, sheaf, _VALUE_KEYS)
    printed, unit = fields.text("printed"), fields.text("unit")
    stated = fields.text_or_none("tolerance") or default
    try:
        exact(printed)
    except ValueError:
        return Expected(name, printed, unit, None)
    try:
        return Expected(name, printed, unit, half_last_digit(printed) if stated is None else exact(stated))
    except ValueError:
        fields.wrong("tolerance", 'a decimal number as text, such as "0.005"')
        return Expected(name, printed, unit, Fraction(0))


def run_check(check: Check, model: Model) -> Outcome:
    """Compute what the check gives and compare; `KeyError` if the model does not give an expected name."""
    result = model(check.given)
    return Outcome(check, tuple(_compare(expected, result[expected.name]) for expected in check.expect))


def _compare(expected: Expected, computed: Computed) -> Compared:
    if expected.tolerance is None or isinstance(computed, str):
        return Compared(expected, str(computed), str(computed) == expected.printed)
    difference = abs(Fraction(computed) - exact(expected.printed))
    return Compared(expected, _text(computed), difference <= expected.tolerance)


def _text(computed: Fraction | Decimal | int | float) -> str:
    value = Fraction(computed)
    try:
        return short_text(value) if not isinstance(computed, float) else f"{computed:.10g}"
    except ValueError:
        return f"{float(value):.10g}"


def _value_json(value: Compared) -> dict[str, object]:
    tolerance = value.expected.tolerance
    return {
        "name": value.expected.name,
        "printed": value.expected.printed,
        "computed": value.computed,
        "tolerance": None if tolerance is None else short_text(tolerance),
        "unit": value.expected.unit,
        "agrees": value.agrees,
    }
