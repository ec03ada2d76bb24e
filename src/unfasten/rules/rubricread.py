"""Reading a rubric's file strictly: every problem at once, with its line."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path as FilePath
from typing import Final, Literal, get_args

from unfasten.evidence.datafile import read_data
from unfasten.evidence.fields import Fields, InvalidFileError, Sheaf, unknown_remedy
from unfasten.evidence.filebytes import read_limited
from unfasten.evidence.interval import exact
from unfasten.evidence.place import Path, shown
from unfasten.record.joint import Kind as JointKind
from unfasten.record.joint import Reuse
from unfasten.rules.library import edition, ids_of, label_set, requirement_set
from unfasten.rules.rubric import FULL, LEAVE_OUT, Band, Mark, Rubric, Test
from unfasten.rules.verdict import WORDS

FORMAT: Final = "unfasten-rubric/1"
TESTS: Final = ("at_most", "at_least", "is")
_KEYS: Final = ("format", "id", "title", "note", "criteria")
_MARK_KEYS: Final = ("id", "title", "figure", "of", "rules", "weight", "bands", "if_absent")
_BAND_KEYS: Final = (*TESTS, "percent")
#: figures of a battery: key of the record, or id of a computed fact -> unit; those without unit are words
BATTERY: Final = {
    "nominal_voltage": "V", "charge_voltage": "V", "rated_capacity": "mAh", "marked_energy": "Wh", "mass": "g",
    "cells_in_series": "cell", "enclosure": "", "condition": "",
    "wh-per-l": "Wh/L", "wh-per-kg": "Wh/kg", "bay-share": "%", "growth": "%", "gap": "mm",
}  # fmt: skip

BATTERY_WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "enclosure": ("soft", "metal"),
    "condition": ("sound", "swollen", "damaged"),
}


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure that a criterion may name: what `of` means, whether it is a word, and the kind of rule set it needs."""

    meaning: str
    of: str | None = None
    words: bool = False
    kind: str | None = None


FIGURES: Final[Mapping[str, Figure]] = {
    "steps": Figure("steps to a part, with those for pairing", "part"),
    "time": Figure("working time to a part by the quickest route [s]", "part"),
    "tools": Figure("different tools on the way to a part", "part"),
    "special-tools": Figure("different tools on the way to a part that are no basic tools", "part"),
    "heatings": Figure("times that something is heated on the way to a part", "part"),
    "parts-off": Figure("other parts taken out on the way to a part", "part"),
    "joints": Figure("joints of a kind", "joint kind"),
    "fasteners": Figure("fasteners of a kind, each joint with its count", "joint kind"),
    "drives": Figure("different drives of screws"),
    "reuse": Figure("joints that are reusable, resupplied, removable or none", "reuse"),
    "index": Figure("the index of a rule set", None, kind="index"),
    "class": Figure("the class of that index", None, words=True, kind="index"),
    "score": Figure("a score of a rule set", "score", kind="index"),
    "verdict": Figure("the verdict of a requirement", "requirement", words=True, kind="requirements"),
    "verdicts": Figure("how many requirements have a verdict", "verdict", kind="requirements"),
    "label": Figure("a quantity of the label", "quantity", kind="label"),
    "battery": Figure("a figure on the battery's label, or one computed from it", "battery key"),
}


def read_rubric(path: FilePath) -> Rubric:
    """Read a rubric's file; raises `InvalidFileError` with every problem, `CallError` where there is no such file."""
    return rubric_of(read_limited(path), path.name)


def rubric_of(data: bytes, name: str) -> Rubric:
    """Read the bytes of a rubric (YAML, or JSON by its name); raises `InvalidFileError` with every problem."""
    document = read_data(data, name)
    sheaf = Sheaf(name, document, list(document.problems))
    if not isinstance(document.value, dict) and document.problems:
        raise InvalidFileError(name, document.problems)
    top = Fields(document.value, (), sheaf, _KEYS)
    top.choice("format", (FORMAT,))
    marks = tuple(_mark(item, place, sheaf) for place, item in top.items("criteria"))
    for number, mark in enumerate(marks):
        if mark.id and mark.id in [other.id for other in marks[:number]]:
            sheaf.add(
                "data.repeated-id", ("criteria", number, "id"), f"{mark.id} stands twice", "rename one of the two"
            )
    out = Rubric(top.text("id"), top.text("title"), top.text_or_none("note"), marks)
    sheaf.problems.sort(key=lambda problem: problem.line or 0)
    sheaf.close()
    return out


def _mark(data: object, path: Path, sheaf: Sheaf) -> Mark:
    fields = Fields(data, path, sheaf, _MARK_KEYS)
    name = fields.choice("figure", tuple(FIGURES))
    figure = FIGURES.get(name)
    rules = _rules(fields, figure) if figure else fields.text_or_none("rules")
    told = len(sheaf.problems)
    weight = fields.number("weight")
    if weight <= 0 and len(sheaf.problems) == told:
        fields.wrong("weight", "a number above 0")
    words = bool(figure and _is_words(figure, fields))
    test, bands = _bands(fields, path, sheaf, words)
    of = _of(fields, figure, rules)
    if words:
        _check_words(bands, (*path, "bands"), sheaf, _possible(name, of, rules))
    return Mark(
        id=fields.text("id"),
        title=fields.text("title"),
        figure=name,
        of=of,
        rules=rules,
        weight=weight,
        test=test,
        bands=bands,
        if_absent=_absent(fields),
    )


def _is_words(figure: Figure, fields: Fields) -> bool:
    return figure.words or (figure.of == "battery key" and BATTERY.get(str(fields.data.get("of"))) == "")


def _rules(fields: Fields, figure: Figure) -> str | None:
    """The rule set, that of its kind if only one can be meant; an unknown one is a problem."""
    if figure.kind is None:
        if fields.has("rules"):
            fields.sheaf.add("data.unknown-key", (*fields.path, "rules"), "this figure needs no rule set", "delete it")
        return None
    known = ids_of(figure.kind)
    if not fields.has("rules") and len(known) == 1:
        return known[0]
    return fields.choice("rules", known)


def _of(fields: Fields, figure: Figure | None, rules: str | None) -> str | None:
    if figure is None:
        return fields.text_or_none("of")
    if figure.of is None:
        if fields.has("of"):
            fields.sheaf.add(
                "data.unknown-key", (*fields.path, "of"), "this figure is of the whole product", "delete it"
            )
        return None
    if figure.of == "part":
        return fields.text("of")
    return fields.choice("of", _choices(figure.of, rules))


def _choices(of: str, rules: str | None) -> tuple[str, ...]:
    choices: dict[str, Callable[[], tuple[str, ...]]] = {
        "joint kind": lambda: (*get_args(JointKind), "all"),
        "reuse": lambda: get_args(Reuse),
        "verdict": lambda: WORDS,
        "battery key": lambda: tuple(BATTERY),
        "score": lambda: tuple(c.id for c in edition(rules).criteria) if rules in ids_of("index") else (),
        "requirement": lambda: _requirements(rules),
        "quantity": lambda: tuple(q.id for q in label_set(rules).quantities) if rules in ids_of("label") else (),
    }
    return choices[of]()


def _requirements(rules: str | None) -> tuple[str, ...]:
    if rules not in ids_of("requirements"):
        return ()
    return tuple(one.id for one in requirement_set(rules).requirements)


def _possible(figure: str, of: str | None, rules: str | None) -> tuple[str, ...]:
    """The words that a figure may be; a verdict that is unknown may yet be any of the others."""
    if figure == "verdict":
        return tuple(word for word in WORDS if word != "unknown")
    if figure == "class" and rules in ids_of("index"):
        limits = edition(rules).parameters["class.limits"].history[-1]
        return tuple(str(row["class"]) for row in limits.rows)
    return BATTERY_WORDS.get(of or "", ())


def _check_words(bands: tuple[Band, ...], path: Path, sheaf: Sheaf, possible: tuple[str, ...]) -> None:
    for number, band in enumerate(bands):
        for word in band.words:
            if possible and word not in possible:
                message = f"{shown(word)} is not allowed"
                sheaf.add("data.unknown-word", (*path, number, "is"), message, unknown_remedy(word, possible))


def _absent(fields: Fields) -> Fraction | Literal["leave-out"] | None:
    value = fields.data.get("if_absent")
    if value is None:
        return None
    if value == LEAVE_OUT:
        return "leave-out"
    return _percent(fields, "if_absent", f"percent from 0 to 100, or {LEAVE_OUT}")


def _percent(fields: Fields, key: str, wanted: str = "percent from 0 to 100, as a plain number") -> Fraction:
    try:
        value = exact(fields.data.get(key))
    except ValueError:
        value = Fraction(-1)
    if not 0 <= value <= FULL:
        fields.wrong(key, wanted)
        return Fraction(0)
    return value


def _bands(fields: Fields, path: Path, sheaf: Sheaf, words: bool) -> tuple[Test, tuple[Band, ...]]:
    found = [(place, Fields(item, place, sheaf, _BAND_KEYS)) for place, item in fields.items("bands")]
    tests = [key for _, band in found for key in TESTS if key in band.data]
    test: Test = next((name for name in get_args(Test) if tests and name == tests[0]), "is" if words else "at_most")
    allowed = ("is",) if words else ("at_most", "at_least")
    for place, band in found:
        for key in TESTS:
            if key in band.data and (key != test or key not in allowed):
                message = f"{key} does not go with this figure" if key not in allowed else f"{key} stands beside {test}"
                mend = f"write {' or '.join(allowed)}, the same in every band"
                sheaf.add("data.unknown-key", (*place, key), message, mend)
    bands = tuple(_band(band, test) for _, band in found)
    _check_order(found, bands, test, sheaf)
    return test, bands


def _band(fields: Fields, test: Test) -> Band:
    if "percent" in fields.data:
        percent = _percent(fields, "percent")
    else:
        fields.sheaf.add("data.missing-key", fields.path, "'percent' is missing", "add 'percent'")
        percent = Fraction(0)
    if test not in fields.data:
        return Band(percent)
    if test != "is":
        return Band(percent, fields.number(test))
    value = fields.data[test]
    words = value if isinstance(value, list) else [value]
    if not words or not all(isinstance(word, str) for word in words):
        fields.wrong(test, "a word, or a list of words")
    return Band(percent, None, tuple(str(word) for word in words) or ("",))


def _check_order(found: list[tuple[Path, Fields]], bands: tuple[Band, ...], test: Test, sheaf: Sheaf) -> None:
    """The last band, and only it, takes the rest; limits come in one order, each once."""
    for (place, _), band in zip(found, bands, strict=True):
        if band.is_rest != (band is bands[-1]):
            what = f"only the last band stands without {test}" if band.is_rest else "the last band takes the rest"
            mend = "put it last" if band.is_rest else "add a last band with percent alone"
            sheaf.add("data.wrong-kind", place, what, mend)
    limits = [band.limit for band in bands if band.limit is not None]
    ordered = sorted(set(limits), reverse=test == "at_least")
    if limits != ordered and found:
        order = "falling" if test == "at_least" else "rising"
        sheaf.add("data.wrong-kind", found[0][0][:-1], f"the limits of {test} are not in {order} order", "sort them")
    words = [word for band in bands for word in band.words]
    for word in sorted({word for word in words if words.count(word) > 1}):
        sheaf.add("data.repeated-id", found[0][0][:-1], f"{shown(word)} stands in two bands", "keep one")
