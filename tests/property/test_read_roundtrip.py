"""What is written reads back equal, and whatever is read, reading ends with a record or with findings."""

from __future__ import annotations

import json
import random
from typing import Any

import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from support.random_record import random_tree
from unfasten.record.read import read_record
from unfasten.record.record import Record
from unfasten.record.write import to_yaml

AWKWARD = [
    "no",
    "~",
    "012",
    "1e3",
    "0x1f",
    "<<",
    "- x",
    "a: b",
    "#c",
    "x #y",
    "'",
    '"',
    "&a",
    "*a",
    "!t",
    "%",
    "@",
    "`",
]
AWKWARD += [
    "...",
    "---",
    " lead",
    "trail ",
    "two\nlines",
    "tab\there",
    "null",
    ".inf",
    "[",
    "{",
    "|",
    ">",
    "?",
    "=",
    "",
]
AWKWARD += ["\u2028", "\ufeff", "\u200b", "é ± µ", "\U0001f529", "0:50", "2026-03-02", "x" * 200, "word " * 50]
TEXT = (
    st.sampled_from([text for text in AWKWARD if text])
    | st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=20)
    | st.text(st.sampled_from("ab \n\t:#-'\"\\é"), min_size=1, max_size=20)
)
NUMBER = st.from_regex(r"[0-9]{1,6}(\.[0-9]{1,6})?", fullmatch=True)
SURE = st.sampled_from(["", " ± 0.1", " +/- 0.25", "±1"])


def quantity(*units: str, each: bool = False) -> st.SearchStrategy[str]:
    return st.builds(
        lambda number, sure, unit, tail: f"{number}{sure} {unit}{tail}",
        NUMBER,
        SURE,
        st.sampled_from(units),
        st.sampled_from(["", " each"] if each else [""]),
    )


LENGTH, TIME = quantity("mm", "µm", "cm"), quantity("s", "ms", "min")
PART = st.fixed_dictionaries(
    {"name": TEXT},
    optional={
        "mass": quantity("g", "mg"),
        "size": st.lists(LENGTH, min_size=3, max_size=3),
        "note": TEXT,
        "marking": TEXT,
        "hazards": st.lists(st.sampled_from(["glass", "laser", "spring"]), max_size=2),
        "pairing": st.lists(st.sampled_from(["notification", "authorisation"]), max_size=2),
        "holes": st.lists(st.fixed_dictionaries({"at": st.tuples(LENGTH, LENGTH).map(list)}), max_size=2),
        "components": st.lists(st.fixed_dictionaries({"function": TEXT}, optional={"marking": TEXT}), max_size=2),
        "cable": st.fixed_dictionaries({}, optional={"length": LENGTH, "connector": TEXT}),
        "battery": st.fixed_dictionaries({}, optional={"nominal_voltage": quantity("V", "mV"), "designation": TEXT}),
        "lift": st.fixed_dictionaries({}, optional={"time": TIME, "survey": st.sampled_from(["full", "partial"])}),
    },
)
SUPPLY = st.fixed_dictionaries(
    {},
    optional={
        "spare_parts": st.fixed_dictionaries(
            {}, optional={"public": st.just("all") | st.just(["battery"]), "professional": st.just([])}
        ),
        "updates": st.fixed_dictionaries({"years": st.integers(0, 100) | st.sampled_from([0.5, 2.25, 5.0])}),
        "repair_information": st.fixed_dictionaries({}, optional={"public": st.sampled_from(["free", "none"])}),
    },
)
TREE = st.builds(
    lambda seed, parts, supply, notes, sheet, released: _tree(seed, parts, supply, notes, sheet, released),
    st.integers(0, 10**6),
    st.lists(PART, max_size=3),
    SUPPLY,
    st.lists(
        st.fixed_dictionaries({"do": st.just("note"), "text": TEXT}, optional={"by": TEXT, "took": TIME}), max_size=3
    ),
    st.fixed_dictionaries({}, optional={"number": TEXT, "edition": st.integers(1, 99), "state": st.just("final")}),
    st.dates().map(str),
)


def _tree(seed: int, parts: list[Any], supply: Any, notes: list[Any], sheet: Any, released: str) -> dict[str, Any]:
    """A random record of the model, with awkward texts and every kind of quantity hung into it."""
    tree = random_tree(random.Random(seed))
    tree["parts"] |= {f"extra-{index}": part for index, part in enumerate(parts)}
    tree["product"]["released"] = released
    return tree | {"supply": supply, "sheet": sheet, "log": [*tree["log"], *notes]}


@settings(deadline=None)
@given(tree=TREE)
def test_a_record_written_as_yaml_reads_back_equal(tree: dict[str, Any]) -> None:
    record = Record.model_validate(tree)
    text = to_yaml(record)
    # names are no matter here: the random models break some rules between entries
    assert Record.model_validate(_plain(text)) == record
    assert _plain(to_yaml(Record.model_validate(_plain(text)))) == _plain(text)


def _plain(text: str) -> Any:
    from unfasten.evidence.datafile import read_data

    document = read_data(text.encode())
    assert document.problems == ()
    return document.value


@settings(deadline=None)
@given(tree=TREE)
def test_yaml_and_json_of_one_tree_give_one_reading(tree: dict[str, Any]) -> None:
    in_json = read_record(json.dumps(tree).encode(), "x.json")
    record = Record.model_validate(tree)
    in_yaml = read_record(to_yaml(record).encode(), "x.yaml")
    assert in_json.record == in_yaml.record
    assert sorted(f.code for f in in_json.findings) == sorted(f.code for f in in_yaml.findings)


GOOD = to_yaml(Record.model_validate(random_tree(random.Random(7), parts=5, joints=6)))


@settings(deadline=None)
@given(data=st.binary(max_size=200), where=st.integers(0, len(GOOD)), drop=st.integers(0, 40))
@example(data=b"\x00", where=3, drop=0)
@example(data=b"*", where=0, drop=0)
def test_reading_a_damaged_file_never_raises(data: bytes, where: int, drop: int) -> None:
    damaged = GOOD.encode()[:where] + data + GOOD.encode()[where + drop :]
    for name in ("x.yaml", "x.json"):
        reading = read_record(damaged, name)
        assert (reading.record is None) == bool(reading.findings)
        assert all(finding.code and finding.message and finding.remedy for finding in reading.findings)


SECTIONS = ["product", "parts", "joints", "bundles", "swings", "log", "supply", "tools"]
KEYS = ["do", "lift", "release", "found", "part", "joint", "holds", "ways", "under", "name", "stays", "keeps", "way"]
WORDS = st.sampled_from([*SECTIONS, *KEYS, "still_covers", "behind", "spare_parts", "public"])
ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers(-2, 3) | st.floats(allow_nan=False, allow_infinity=False) | WORDS | TEXT,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(WORDS, inner, max_size=5),
    max_leaves=20,
)


@settings(deadline=None)
@given(tree=ANYTHING, top=st.dictionaries(WORDS, ANYTHING, max_size=6))
def test_reading_any_tree_never_raises(tree: Any, top: dict[str, Any]) -> None:
    good = yaml.safe_load(GOOD)
    for odd in (tree, top, good | top):
        reading = read_record(json.dumps(odd).encode(), "x.json")
        assert (reading.record is None) == bool(reading.findings)
