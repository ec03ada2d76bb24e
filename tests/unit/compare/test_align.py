"""Alignment: reasons, pins and breaks, clashing ids, and an answer that does not depend on the order given."""

from __future__ import annotations

from datetime import date
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest

from unfasten.compare.match import Row, align
from unfasten.compare.pins import pins_of
from unfasten.evidence.errors import CallError
from unfasten.record.record import FORMAT, Record
from unfasten.service.compare import compare
from unfasten.service.load import load_record

EXAMPLES = Path(__file__).parents[3] / "examples"


def record(ident: str, parts: dict[str, dict[str, Any]]) -> Record:
    named = {name: {"name": name.replace("-", " ").capitalize()} | part for name, part in parts.items()}
    return Record.model_validate(
        {
            "format": FORMAT,
            "product": {"id": ident, "name": ident, "maker": "Fellwright", "category": "other"},
            "parts": {"frame": {"name": "Frame", "stays": True}} | named,
            "joints": {f"{name}-screws": {"kind": "screw", "holds": [name, "frame"], "ways": [{}]} for name in parts},
        }
    )


def row_of(rows: tuple[Row, ...], part: str) -> Row:
    return next(row for row in rows if part in row.members)


def test_a_part_under_another_id_is_found_by_its_name() -> None:
    rows = align([record("a", {"cam": {"name": "Rear camera"}}), record("b", {"rear-camera": {}})])
    assert row_of(rows, "cam").members == ("cam", "rear-camera")
    assert "same name" in row_of(rows, "cam").reasons


def test_a_part_without_name_in_common_is_found_by_its_shape() -> None:
    shape = {"size": ["9.6 mm", "9.6 mm", "5.9 mm"]}
    rows = align([record("a", {"x1": {"name": "Module"} | shape}), record("b", {"y7": {"name": "Camera"} | shape})])
    found = row_of(rows, "x1")
    assert found.members == ("x1", "y7")
    assert found.is_weak
    assert "size alike" in found.reasons


def test_nothing_in_common_is_no_match() -> None:
    rows = align([record("a", {"pen-coil": {}}), record("b", {"tray": {}})])
    assert row_of(rows, "pen-coil").members == ("pen-coil", None)


def test_a_person_pairs_and_breaks() -> None:
    records = [record("a", {"pen-coil": {}, "tray": {}}), record("b", {"contact-board": {}, "tray": {}})]
    paired = align(records, pins_of(records, ["pen-coil=contact-board"], ["tray"]))
    assert row_of(paired, "pen-coil").members == ("pen-coil", "contact-board")
    assert "paired by a person" in row_of(paired, "pen-coil").reasons
    assert [row.members for row in paired if "tray" in row.members] == [("tray", None), (None, "tray")]


def test_a_pair_across_three_records_is_named_by_numbers() -> None:
    records = [record("a", {"x": {}}), record("b", {}), record("c", {"y": {}})]
    rows = align(records, pins_of(records, ["1:x=3:y"], []))
    assert row_of(rows, "x").members == ("x", None, "y")


@pytest.mark.parametrize(
    ("pairs", "breaks", "code"),
    [
        (["x==y"], [], "compare.pin-form"),
        (["1:x=y"], [], "compare.pin-form"),
        (["9:x=2:y"], [], "compare.pin-unknown"),
        (["1:z=2:y"], [], "compare.pin-unknown"),
        (["zz=y"], [], "compare.pin-unknown"),
        (["x=y"], ["x=y"], "compare.pin-and-break"),
        (["x=y", "x=w"], [], "compare.pin-twice"),
    ],
)
def test_what_a_person_says_is_checked(pairs: list[str], breaks: list[str], code: str) -> None:
    records = [record("a", {"x": {}}), record("b", {"y": {}, "w": {}})]
    with pytest.raises(CallError) as raised:
        pins_of(records, pairs, breaks)
    assert raised.value.code == code


def test_all_that_is_wrong_in_what_a_person_says_is_told_at_once() -> None:
    records = [record("a", {"x": {}}), record("b", {"y": {}})]
    with pytest.raises(CallError) as raised:
        pins_of(records, ["x==y", "zz=y"], ["9:x=2:y"])
    told = str(raised.value)
    assert all(text in told for text in ("'x==y' names no pair", "have zz and y", "no record 9"))


def test_one_id_for_other_things_is_told_apart_by_name_and_role() -> None:
    a = record(
        "a", {"m1": {"name": "Battery", "role": "battery"}, "m2": {"name": "Rear camera", "role": "rear-camera"}}
    )
    b = record(
        "b", {"m2": {"name": "Battery", "role": "battery"}, "m1": {"name": "Rear camera", "role": "rear-camera"}}
    )
    rows = align([a, b])
    assert row_of(rows, "m1").members == ("m1", "m2")


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_the_order_of_records_does_not_matter(order: tuple[int, ...]) -> None:
    records = [
        record("a", {"camera": {"name": "Rear camera"}, "tray": {}}),
        record("b", {"rear-camera": {}, "camera": {"name": "Front camera"}}),
        record("c", {"front-camera": {}, "tray": {"name": "Card tray"}}),
    ]
    known = {frozenset(enumerate(row.members)) for row in align(records)}
    found = align([records[i] for i in order])
    assert {frozenset((order[place], name) for place, name in enumerate(row.members)) for row in found} == known


def test_every_part_stands_in_exactly_one_row() -> None:
    records = [record(str(n), {f"p{k}": {"name": f"Part {(k * n) % 5}"} for k in range(6)}) for n in range(1, 9)]
    rows = align(records)
    for number, one in enumerate(records):
        members = [row.members[number] for row in rows if row.members[number] is not None]
        assert sorted(str(name) for name in members) == sorted(one.parts)


def test_the_only_battery_is_the_battery_whatever_it_is_called() -> None:
    one = record("a", {"cell": {"name": "Cell", "role": "battery"}, "s1": {"name": "Horn", "role": "speaker"}})
    other = record("b", {"pack": {"name": "Power cell", "role": "battery"}, "s2": {"name": "Box", "role": "speaker"},
                         "s3": {"name": "Tube", "role": "speaker"}})  # fmt: skip
    rows = align([one, other])
    assert row_of(rows, "cell").members == ("cell", "pack")
    assert "the only ones of their role" in row_of(rows, "cell").reasons
    assert row_of(rows, "s1").members == ("s1", None)  # the other record has two speakers: the role does not decide


def renamed(record: Record, ident: str) -> Record:
    """The record as another person might write it: the same names, every part and joint under another id."""
    tree = record.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    parts = {name: f"p{number}" for number, name in enumerate(record.parts)}
    joints = {name: f"j{number}" for number, name in enumerate(record.joints)}
    texts = {"name", "role", "kind", "public", "professional", "do", "side", "category", "maker"}

    def walk(node: Any, key: str) -> Any:
        if isinstance(node, dict):
            table = {"parts": parts, "joints": joints}.get(key, {})
            return {table.get(name, name): walk(value, name) for name, value in node.items()}
        if isinstance(node, list):
            return [walk(value, key) for value in node]
        if isinstance(node, str) and key not in texts:
            return (
                joints.get(node, parts.get(node, node))
                if key in ("joint", "keeps")
                else parts.get(node, joints.get(node, node) if key == "still_covers" else node)
            )
        return node

    product = {**tree["product"], "id": ident, "name": ident.title()}
    return Record.model_validate({"format": FORMAT, **walk(tree, ""), "product": product})


@pytest.mark.parametrize("name", ["tarn-9", "tarn-11", "tarn-11-plus"])
def test_every_part_is_found_under_other_ids(name: str) -> None:
    one = load_record(EXAMPLES / f"{name}.yaml")
    other = renamed(one, "tarn-x")
    assert set(one.parts).isdisjoint(other.parts)
    assert [row.members for row in align([one, other])] == list(zip(one.parts, other.parts, strict=True))


def test_a_record_written_with_other_ids_differs_in_nothing() -> None:
    one = load_record(EXAMPLES / "tarn-11.yaml")
    assert compare([one, renamed(one, "tarn-x")], date(2026, 6, 1)).steps[0].differences == ()
