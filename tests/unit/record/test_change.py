"""Changes as texts: what each form does to a copy of the record, and what is said where one cannot be made."""

from __future__ import annotations

from typing import Any

import pytest

from support.small_record import record
from unfasten.record.change import Edit, EditError, changed, parse_edit, read_changed, settled
from unfasten.record.record import Record
from unfasten.routes.unknown import unknown_covers


@pytest.fixture
def small() -> Record:
    """A battery under a cover and a brace or a shield, glued with heat, and a bundle that the log lifted."""
    glue: dict[str, Any] = {
        "holds": ["battery", "frame"],
        "kind": "adhesive",
        "reuse": "removable",
        "ways": [
            {
                "tools": ["a"],
                "side": "back",
                "time": "40 s",
                "prepare": [{"do": "heat", "tools": ["b"], "time": "60 s"}],
                "under": ["cover", ["brace", "shield"]],
                "survey": "partial",
            }
        ],
    }
    return record(
        {"cover": {}, "brace": {"lift": {"behind": ["cover"]}}, "shield": {}, "battery": {"pairing": ["notification"]}},
        {"clips": ("cover frame",), "glue": glue},
        bundles={"pack": {"parts": ["brace", "shield"]}},
        supply={"spare_parts": {"public": ["battery"], "professional": "all"}},
        log=[
            {"do": "release", "joint": "clips"},
            {"do": "lift", "part": "cover"},
            {"do": "lift", "bundle": "pack", "took": "3 s"},
            {"do": "release", "joint": "glue"},
            {"do": "lift", "part": "battery"},
        ],
    )


def after(small: Record, *texts: str) -> Record:
    """The record with changes made, which must be accepted; by the quick way too it must be the same."""
    reading = read_changed(small, texts)
    assert reading.findings == ()
    assert reading.record is not None
    assert changed(small, map(parse_edit, texts)) == reading.record
    return reading.record


def test_a_text_reads_back() -> None:
    for text in ("joints.glue.ways[0].under-=cover", "supply.spare_parts.public+=speaker", "tools.a.class=basic"):
        assert str(parse_edit(text)) == text
    assert parse_edit(" tools.a.class = basic ") == Edit(("tools", "a", "class"), "=", "basic")


def test_setting_words(small: Record) -> None:
    made = after(small, "joints.glue.reuse=reusable", "joints.glue.kind=screw", "tools.b.class=commercial")
    assert (made.joints["glue"].reuse, made.joints["glue"].kind) == ("reusable", "screw")
    assert made.tools["b"].tool_class == "commercial"
    assert small.joints["glue"].reuse == "removable"
    assert after(small, "joints.glue.reuse=none").joints["glue"].reuse == "none"
    assert after(small, "joints.glue.reuse=?").joints["glue"].reuse is None


def test_setting_lists(small: Record) -> None:
    way = after(small, "joints.glue.ways[0].tools=a, c", "joints.glue.ways[0].prepare=none").joints["glue"].ways[0]
    assert (way.tools, way.prepare) == (("a", "c"), ())
    assert after(small, "parts.battery.pairing=none").parts["battery"].pairing == ()


def test_supply_that_was_not_known_is_made(small: Record) -> None:
    made = after(small, "supply.updates.years=7", "supply.repair_information.public=free")
    assert made.supply.updates is not None
    assert made.supply.updates.years == 7
    assert made.supply.repair_information.public == "free"
    assert after(made, "supply.updates.years=?").supply.updates is None
    assert after(small, "supply.spare_parts.public+=speaker").supply.spare_parts.public == ("battery", "speaker")


def test_a_hole_in_a_cover_clears_every_entry_that_lifting_it_would(small: Record) -> None:
    way = after(small, "joints.glue.ways[0].under-=brace").joints["glue"].ways[0]
    assert way.under == (("cover",),)
    assert way.clear_of == ("brace", "shield")


def test_a_cover_taken_away_does_not_come_back_as_unknown(small: Record) -> None:
    assert unknown_covers(small).ways == {}
    made = after(small, "joints.glue.ways[0].under-=cover")
    assert unknown_covers(made).ways == {}
    bare = after(small, "joints.glue.ways[0].under=none")
    assert bare.joints["glue"].ways[0].under == ()
    assert unknown_covers(bare).ways == {}


def test_a_second_way_is_the_first_without_preparation(small: Record) -> None:
    first, second, third = after(small, "joints.glue.ways+=hand", "joints.glue.ways+=c").joints["glue"].ways
    assert (second.tools, third.tools) == ((), ("c",))
    for way in (second, third):
        assert way.prepare == ()
        assert (way.under, way.side, way.time, way.survey) == (first.under, "back", first.time, "partial")


def test_a_bundle_that_is_split_up_came_out_part_by_part(small: Record) -> None:
    made = after(small, "bundles.pack=none")
    assert made.bundles == {}
    lifted = [entry.part for entry in made.log if entry.do == "lift"]
    assert lifted == ["cover", "brace", "shield", "battery"]


def test_a_lift_that_was_not_written_out_can_be_changed(small: Record) -> None:
    lift = after(small, "parts.shield.lift.behind+=brace").parts["shield"].lift
    assert lift is not None
    assert lift.behind == (("brace",),)


def test_what_the_log_found_can_be_changed_too(small: Record) -> None:
    found = [{"do": "found", "joint": "glue", "under": ["shield", "cover"]}]
    tree = small.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    grown = settled(Record.model_validate({"format": small.format, **tree, "log": tree["log"] + found}))
    assert grown.joints["glue"].ways[0].under == (("cover",), ("brace", "shield"), ("shield",))
    assert all(entry.do != "found" for entry in grown.log)
    assert after(grown, "joints.glue.ways[0].under-=shield").joints["glue"].ways[0].under == (("cover",),)


@pytest.mark.parametrize(
    ("text", "code", "mend"),
    [
        ("glue", "change.syntax", "PLACE=VALUE"),
        ("joints.glue.reuse=", "change.syntax", "none"),
        ("=x", "change.syntax", "PLACE=VALUE"),
        ("joints..glue=x", "change.syntax", "PLACE=VALUE"),
        ("joints.glu.reuse=none", "change.unknown-place", '"glue"'),
        ("joints.glue.reus=none", "change.unknown-place", '"reuse"'),
        ("joint.glue.reuse=none", "change.unknown-place", '"joints"'),
        ("joints.glue.ways[1].under-=cover", "change.unknown-place", "use 0"),
        ("joints.glue.ways[0].under-=covr", "change.unknown-name", '"cover"'),
        ("joints.glue=none", "change.not-one-value", "kind"),
        ("joints=none", "change.not-one-value", "entry"),
        ("bundles.pack=cover", "change.not-one-value", "none"),
        ("joints.glue.reuse+=none", "change.no-list", "="),
        ("supply.spare_parts.professional+=speaker", "change.already", "leave it out"),
        ("supply.spare_parts.public+=battery", "change.already", "leave it out"),
        ("supply.updates.years=.inf", "change.bad-value", "number"),
    ],
)
def test_what_cannot_be_changed(small: Record, text: str, code: str, mend: str) -> None:
    (finding,) = read_changed(small, [text]).findings
    assert finding.code == code
    assert finding.at == text
    assert mend in finding.remedy


def test_adding_to_what_is_not_known_is_refused(small: Record) -> None:
    bare = after(small, "supply.spare_parts.public=?")
    (finding,) = read_changed(bare, ["supply.spare_parts.public+=speaker"]).findings
    assert finding.code == "change.not-known"


def test_every_finding_comes_at_once_with_those_of_the_record(small: Record) -> None:
    reading = read_changed(small, ["x", "joints.glue.ways[0].tools=d", "tools.a.class=basc", "joints.glue.reuse=none"])
    assert reading.record is None
    assert [finding.code for finding in reading.findings] == [
        "change.syntax",
        "record.bad-value",
        "record.unknown-name",
    ]
    assert reading.findings[1].remedy == 'did you mean "basic"?'


def test_an_edit_of_the_program_that_fails_says_so(small: Record) -> None:
    with pytest.raises(EditError):
        changed(small, [parse_edit("joints.glue.ways[0].under-=battery")])
