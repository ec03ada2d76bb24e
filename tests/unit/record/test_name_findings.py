"""Names that mean nothing, two things or twice the same are found, also where other parts of the file are wrong."""

from __future__ import annotations

import pytest

from unfasten.record.read import read_record

GOOD = """\
format: unfasten-record/1
product: {id: tarn-11, name: Tarn 11, maker: Fellwright, category: slate-tablet, predecessor: tarn-9}
tools:
  hex-3: {name: Hexalobular driver 3}
  pick: {name: Pick}
parts:
  frame: {name: Midframe, stays: true}
  cover: {name: Back cover, lift: {tools: [pick], clear_of: [tape], behind: [battery]}}
  battery: {name: Battery, lift: {behind: [[cover, tape]]}}
  tape: {name: Tape}
joints:
  back-screws:
    kind: screw
    holds: [cover, frame]
    ways:
      - {tools: [hex-3, pick], under: [battery], clear_of: [tape]}
      - {prepare: [{do: heat, tools: [pick]}], under: [[tape, battery]]}
  glue: {kind: adhesive, holds: [battery, tape, frame], ways: [{}]}
bundles:
  stack: {parts: [battery, tape], lift: {behind: [cover]}}
swings:
  open: {part: cover, keeps: [back-screws], still_covers: [glue, tape, stack]}
log:
  - {do: swing, swing: open}
  - {do: release, joint: back-screws, way: 1}
  - {do: lift, part: cover}
  - {do: lift, bundle: stack}
  - {do: found, joint: glue, way: 0, under: [cover], clear_of: [battery]}
  - {do: found, part: tape, behind: [[cover, battery]]}
  - {do: found, bundle: stack, clear_of: [cover]}
"""


def findings(*changes: tuple[str, str]) -> list[tuple[str, str]]:
    text = GOOD
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return [(f.code, f.at) for f in read_record(text.encode(), "x.yaml").findings]


def test_the_good_record_is_good() -> None:
    assert findings() == []


UNKNOWN = [
    ("lift: {tools: [pick]", "lift: {tools: [pik]", "parts.cover.lift.tools[0]"),
    ("clear_of: [tape], behind", "clear_of: [tapes], behind", "parts.cover.lift.clear_of[0]"),
    ("behind: [battery]}", "behind: [batery]}", "parts.cover.lift.behind[0]"),
    ("behind: [[cover, tape]]", "behind: [[cover, tapes]]", "parts.battery.lift.behind[0][1]"),
    ("holds: [cover, frame]", "holds: [cover, farme]", "joints.back-screws.holds[1]"),
    ("[hex-3, pick]", "[hex-3, cover]", "joints.back-screws.ways[0].tools[1]"),
    ("under: [battery], clear", "under: [pick], clear", "joints.back-screws.ways[0].under[0]"),
    ("clear_of: [tape]}", "clear_of: [glue]}", "joints.back-screws.ways[0].clear_of[0]"),
    ("heat, tools: [pick]", "heat, tools: [pad]", "joints.back-screws.ways[1].prepare[0].tools[0]"),
    ("[[tape, battery]]", "[[tape, batteri]]", "joints.back-screws.ways[1].under[0][1]"),
    ("parts: [battery, tape]", "parts: [battery, tpe]", "bundles.stack.parts[1]"),
    ("lift: {behind: [cover]}", "lift: {behind: [open]}", "bundles.stack.lift.behind[0]"),
    ("{part: cover, keeps", "{part: covers, keeps", "swings.open.part"),
    ("keeps: [back-screws]", "keeps: [back-screw]", "swings.open.keeps[0]"),
    ("[glue, tape, stack]", "[glue, tape, open]", "swings.open.still_covers[2]"),
    ("swing: open}", "swing: opens}", "log[0].swing"),
    ("joint: back-screws", "joint: stack", "log[1].joint"),
    ("{do: lift, part: cover}", "{do: lift, part: stack}", "log[2].part"),
    ("{do: lift, bundle: stack}", "{do: lift, bundle: cover}", "log[3].bundle"),
    ("way: 0, under: [cover]", "way: 0, under: [x]", "log[4].under[0]"),
    ("clear_of: [battery]}", "clear_of: [x]}", "log[4].clear_of[0]"),
    ("behind: [[cover, battery]]", "behind: [[cover, x]]", "log[5].behind[0][1]"),
]


@pytest.mark.parametrize(("old", "new", "at"), UNKNOWN, ids=[case[2] for case in UNKNOWN])
def test_unknown_names(old: str, new: str, at: str) -> None:
    assert findings((old, new)) == [("record.unknown-name", at)]


def test_the_message_is_the_one_of_the_format() -> None:
    text = GOOD.replace("[hex-3, pick]", "[pick, hex-4]")
    (finding,) = read_record(text.encode(), "x.yaml").findings
    assert str(finding) == (
        'joints.back-screws.ways[0].tools[1] (line 16): no tool "hex-4"; did you mean "hex-3"? [record.unknown-name]'
    )
    assert finding.as_json() == {
        "level": "error",
        "code": "record.unknown-name",
        "at": "joints.back-screws.ways[0].tools[1]",
        "message": 'no tool "hex-4"',
        "try": 'did you mean "hex-3"?',
        "line": 16,
    }


def test_a_name_of_another_kind_is_recognised() -> None:
    text = GOOD.replace("[hex-3, pick]", "[hex-3, battery]")
    (finding,) = read_record(text.encode(), "x.yaml").findings
    assert finding.remedy == '"battery" is a part; a tool is wanted here'


def test_a_name_like_no_other_lists_what_there_is() -> None:
    text = GOOD.replace("[hex-3, pick]", "[zzz]")
    (finding,) = read_record(text.encode(), "x.yaml").findings
    assert finding.remedy == "define it under tools, or use one of hex-3, pick"


def test_names_are_checked_beside_mistakes_of_shape() -> None:
    assert findings(
        ("kind: adhesive, holds", "kind: adhesive, count: 0, holds"),
        ("[hex-3, pick]", "[hex-9, pick]"),
        ("swing: open}", "swing: opn}"),
    ) == [
        ("record.unknown-name", "joints.back-screws.ways[0].tools[0]"),
        ("record.out-of-range", "joints.glue.count"),
        ("record.unknown-name", "log[0].swing"),
    ]


def test_no_name_is_called_unknown_where_its_section_is_unreadable() -> None:
    text = GOOD.replace(
        "tools:\n  hex-3: {name: Hexalobular driver 3}\n  pick: {name: Pick}\n", "tools: [hex-3, pick]\n"
    )
    assert [f.at for f in read_record(text.encode(), "x.yaml").findings] == ["tools"]
    without = GOOD.replace("tools:\n  hex-3: {name: Hexalobular driver 3}\n  pick: {name: Pick}\n", "")
    assert {f.code for f in read_record(without.encode(), "x.yaml").findings} == {"record.unknown-name"}


REPEATED = [
    ("holds: [cover, frame]", "holds: [cover, frame, cover]", "joints.back-screws.holds[2]"),
    ("[hex-3, pick]", "[hex-3, hex-3]", "joints.back-screws.ways[0].tools[1]"),
    ("parts: [battery, tape]", "parts: [battery, tape, tape]", "bundles.stack.parts[2]"),
    ("under: [battery], clear", "under: [battery, battery], clear", "joints.back-screws.ways[0].under[1]"),
    ("[[tape, battery]]", "[[tape, tape, battery]]", "joints.back-screws.ways[1].under[0][1]"),
    ("[glue, tape, stack]", "[glue, tape, tape]", "swings.open.still_covers[2]"),
    ("heat, tools: [pick]", "heat, tools: [pick, pick]", "joints.back-screws.ways[1].prepare[0].tools[1]"),
]


@pytest.mark.parametrize(("old", "new", "at"), REPEATED, ids=[case[2] for case in REPEATED])
def test_repeated_names(old: str, new: str, at: str) -> None:
    assert findings((old, new)) == [("record.repeated-name", at)]


def test_one_id_for_two_things_matters_only_where_it_is_used() -> None:
    same = ("  tape: {name: Tape}\n", "  tape: {name: Tape}\n  stack: {name: Shim}\n")
    assert findings(same) == [("record.ambiguous-name", "swings.open.still_covers[2]")]
    assert findings(same, ("[glue, tape, stack]", "[glue, tape]")) == []
