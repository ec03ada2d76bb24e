"""A log that the model does not allow is contradicted, entry by entry, after what was found has been folded in."""

from __future__ import annotations

import pytest

from unfasten.record.contradiction import contradiction_remarks
from unfasten.record.read import read_record

# the drawing: cover (clips, flex) over brace (screw) over board (plug); cam and led make a stack behind the brace,
# held to the frame by `seat` and to each other by `pins`, which the led hides until it is pulled off inside the stack
MODEL = """\
format: unfasten-record/1
product: {id: tarn-9, name: Tarn 9, maker: Fellwright, category: slate-tablet}
parts:
  frame: {name: Midframe, stays: true}
  cover: {name: Cover}
  brace: {name: Brace, lift: {behind: [cover]}}
  board: {name: Board, lift: {behind: [[cover, brace]]}}
  cam: {name: Camera}
  led: {name: Lamp}
  seal: {name: Seal}
joints:
  clips: {kind: clip, holds: [cover, frame], ways: [{}]}
  flex: {kind: connector, holds: [cover, board], ways: [{under: [cover]}]}
  screw: {kind: screw, holds: [brace, frame], ways: [{under: [cover]}, {under: [seal]}]}
  plug: {kind: connector, holds: [board, frame], ways: [{under: [cover, [brace, seal]]}]}
  seat: {kind: clip, holds: [cam, led, frame], ways: [{under: [brace]}]}
  pins: {kind: connector, holds: [cam, led], ways: [{under: [brace]}]}
  glue: {kind: adhesive, holds: [seal, frame], ways: [{}]}
bundles:
  stack: {parts: [cam, led], lift: {behind: [brace]}}
  whole: {parts: [cam, led, brace]}
swings:
  open: {part: cover, keeps: [flex], still_covers: [plug]}
log:
"""

LEGAL = [
    "release, joint: clips",
    "swing, swing: open",
    "release, joint: flex",
    "lift, part: cover",
    "release, joint: screw, way: 0",
    "lift, part: brace",
    "release, joint: plug",
    "lift, part: board",
    "release, joint: seat",
    "lift, bundle: stack",
    "release, joint: pins",
    "lift, part: cam",
    "lift, part: led",
    "release, joint: glue",
    "lift, part: seal",
]


def contradictions(*entries: str) -> list[tuple[str, str]]:
    text = MODEL + "".join(f"  - {{do: {entry}}}\n" for entry in entries)
    reading = read_record(text.encode(), "x.yaml")
    assert reading.record is not None, reading.findings
    return [(remark.code, remark.message) for remark in contradiction_remarks(reading.record)]


def codes(*entries: str) -> list[str]:
    return [code for code, _ in contradictions(*entries)]


def test_a_legal_log_is_not_contradicted() -> None:
    assert contradictions(*LEGAL) == []


def test_a_cover_in_place() -> None:
    assert contradictions("release, joint: screw, way: 0") == [
        ("record.log-cover-in-place", '"screw" is released while "cover" was still in place')
    ]


def test_every_cover_in_place_is_told_and_an_any_of_as_one() -> None:
    assert [message for _, message in contradictions("release, joint: plug")] == [
        '"plug" is released while "cover" was still in place',
        '"plug" is released while "brace", "seal" were all still in place',
    ]


def test_a_way_that_is_not_said_is_any_way() -> None:
    assert codes("release, joint: glue", "lift, part: seal", "release, joint: screw") == []
    assert codes("release, joint: glue", "lift, part: seal", "release, joint: screw, way: 0") == [
        "record.log-cover-in-place"
    ]


def test_a_swing_clears_all_but_what_it_still_covers() -> None:
    swung = ("release, joint: clips", "swing, swing: open", "release, joint: glue", "lift, part: seal")
    assert codes(*swung, "release, joint: screw, way: 0") == []
    assert codes(*swung, "release, joint: plug") == ["record.log-cover-in-place"]


def test_a_swing_needs_its_other_joints_undone() -> None:
    assert contradictions("swing, swing: open") == [
        ("record.log-still-held", '"cover" is swung aside while held by "clips"')
    ]


def test_a_swing_of_what_is_out_and_a_second_swing() -> None:
    assert codes(*LEGAL[:4], "swing, swing: open") == ["record.log-swung-twice"]
    out = ("release, joint: clips", "release, joint: flex", "lift, part: cover", "swing, swing: open")
    assert codes(*out) == ["record.log-cover-in-place", "record.log-piece-gone"]


def test_a_part_still_held() -> None:
    assert contradictions("lift, part: cover") == [
        ("record.log-still-held", '"cover" is lifted while held by "clips", "flex"')
    ]


def test_a_part_behind_another() -> None:
    before = ("release, joint: glue", "lift, part: seal", "release, joint: screw, way: 1")
    assert contradictions(*before, "lift, part: brace") == [
        ("record.log-behind", '"brace" is lifted while "cover" was still in place')
    ]


def test_second_release_and_second_lift() -> None:
    assert codes(*LEGAL, "release, joint: glue", "lift, part: seal", "lift, bundle: stack") == [
        "record.log-released-twice",
        "record.log-lifted-twice",
        "record.log-piece-gone",
    ]
    assert codes(*LEGAL[:10], "lift, bundle: stack") == ["record.log-lifted-twice"]


def test_a_bundle_need_not_be_taken_apart_but_must_be_free() -> None:
    assert contradictions(*LEGAL[:8], "lift, bundle: stack") == [
        ("record.log-still-held", '"stack" is lifted while held by "seat"')
    ]
    assert codes("release, joint: seat", "lift, bundle: stack") == ["record.log-cover-in-place", "record.log-behind"]


def test_parts_of_a_bundle_cover_one_another_only_while_together() -> None:
    # the brace covers the pins; with both in the larger bundle it still does, in separate pieces it does not
    out = (*LEGAL[:4], "release, joint: screw, way: 0")
    together = (*out, "release, joint: seat", "lift, bundle: whole", "release, joint: pins")
    assert contradictions(*together)[1:] == [
        ("record.log-cover-in-place", '"pins" is released while "brace" was still in place')
    ]


def test_a_bundle_inside_a_larger_one_and_one_that_fell_apart() -> None:
    out = (*LEGAL[:4], "release, joint: screw, way: 0")
    assert codes(*out, "release, joint: seat", "lift, bundle: whole", "lift, part: brace", "lift, bundle: stack") == [
        "record.log-cover-in-place"
    ]
    assert codes(*LEGAL[:9], "release, joint: pins", "lift, part: cam", "lift, bundle: stack") == [
        "record.log-piece-gone"
    ]
    assert codes(*LEGAL[:10], "lift, bundle: whole")[-1] == "record.log-piece-gone"


def test_what_was_found_counts_from_the_start() -> None:
    found = "found, joint: glue, under: [board]"
    assert codes("release, joint: glue", found) == ["record.log-cover-in-place"]
    assert codes(*LEGAL, found) == []
    assert codes(*LEGAL, "found, part: cover, behind: [seal]") == ["record.log-behind"]
    assert codes(*LEGAL, "found, bundle: stack, behind: [seal]") == ["record.log-behind"]


@pytest.mark.parametrize(
    ("times", "wrong"),
    [
        (["0:00:10", "0:00:10", "0:01:00", "1:00:00"], []),
        (["0:00:10", "0:00:09.5"], [1]),
        (["0:10:00", "0:00:20", "0:00:30", "0:10:01"], [1, 2]),
        (["9:59:59", "10:00:00"], []),
    ],
)
def test_times_run_forward(times: list[str], wrong: list[int]) -> None:
    text = MODEL + "".join(f'  - {{do: note, text: x, at: "{time}"}}\n' for time in times)
    record = read_record(text.encode(), "x.yaml").record
    assert record is not None
    remarks = list(contradiction_remarks(record))
    assert [remark.path for remark in remarks] == [("log", index, "at") for index in wrong]
    assert {remark.code for remark in remarks} <= {"record.log-time-backwards"}
