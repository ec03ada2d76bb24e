"""Each mistake in the shape of a record gives one finding with its code, place, line and remedy."""

from __future__ import annotations

import pytest

from unfasten.record.read import read_record

GOOD = """\
format: unfasten-record/1
product: {id: tarn-11, name: Tarn 11, maker: Fellwright, category: slate-tablet, mass: 512 g, released: 2026-03-02}
setup: {tool_change: 1.4 s}
tools:
  hex-3: {name: Hexalobular driver 3, class: basic}
parts:
  frame: {name: Midframe, stays: true}
  cover: {name: Back cover, role: back-cover, size: [1 mm, 2 mm, 3 mm]}
joints:
  screws:
    kind: screw
    holds: [cover, frame]
    count: 4
    ways:
      - {tools: [hex-3], side: back, time: 7 s each, under: [cover]}
supply: {spare_parts: {public: [battery], professional: all}, updates: {years: 5}}
log:
  - {at: "0:01:40", do: release, joint: screws, way: 0}
  - {do: lift, part: cover}
"""

#: what is replaced, by what, and the code and place that must be reported
MISTAKES = [
    ("format: unfasten-record/1", "format: unfasten-record/2", "record.wrong-format", "format"),
    ("format: unfasten-record/1\n", "", "record.missing", "format"),
    ("id: tarn-11", "id: Tarn 11", "record.bad-id", "product.id"),
    ("id: tarn-11", "id: 11", "record.wrong-type", "product.id"),
    ("maker: Fellwright, ", "", "record.missing", "product.maker"),
    ("maker: Fellwright", 'maker: ""', "record.empty-text", "product.maker"),
    ("maker: Fellwright", "maker: ~", "record.wrong-type", "product.maker"),
    ("maker: Fellwright", "maker: " + "x" * 4001, "record.out-of-range", "product.maker"),
    ("slate-tablet", "slate-tabelt", "record.bad-value", "product.category"),
    ("mass: 512 g", "mass: 512", "record.bad-quantity", "product.mass"),
    ("mass: 512 g", "mass: 512 mm", "record.bad-quantity", "product.mass"),
    ("mass: 512 g", "mas: 512 g", "record.unknown-key", "product.mas"),
    ("mass: 512 g", f"mass: {'z' * 5000}; z", "record.bad-quantity", "product.mass"),
    ("2026-03-02", "2026-3-2", "record.bad-day", "product.released"),
    ("2026-03-02", "2026-02-30", "record.bad-day", "product.released"),
    ("1.4 s}", "1.4 s each}", "record.bad-quantity", "setup.tool_change"),
    ("class: basic", "class: basics", "record.bad-value", "tools.hex-3.class"),
    ("class: basic", "tool_class: basic", "record.unknown-key", "tools.hex-3.tool_class"),
    ("stays: true", "stays: yes", "record.wrong-type", "parts.frame.stays"),
    ("[1 mm, 2 mm, 3 mm]", "[1 mm, 2 mm]", "record.wrong-length", "parts.cover.size"),
    ("[1 mm, 2 mm, 3 mm]", "[1 mm, 2 mm, 3 mm, 4 mm]", "record.wrong-length", "parts.cover.size"),
    ("[1 mm, 2 mm, 3 mm]", "1 mm", "record.wrong-type", "parts.cover.size"),
    ("[1 mm, 2 mm, 3 mm]", "[1 mm, 2 mm, 3]", "record.bad-quantity", "parts.cover.size[2]"),
    (
        "cover: {name: Back cover,",
        "Back Cover: {name: x}\n  cover: {name: Back cover,",
        "record.bad-id",
        'parts["Back Cover"]',
    ),
    ("count: 4", "count: 0", "record.out-of-range", "joints.screws.count"),
    ("count: 4", "count: 4.5", "record.wrong-type", "joints.screws.count"),
    ("count: 4", "count: true", "record.wrong-type", "joints.screws.count"),
    ("count: 4", "count: 20000", "record.out-of-range", "joints.screws.count"),
    ("[cover, frame]", "[]", "record.wrong-length", "joints.screws.holds"),
    ("[cover, frame]", "cover", "record.wrong-type", "joints.screws.holds"),
    ("time: 7 s each", "time: seven s", "record.bad-quantity", "joints.screws.ways[0].time"),
    ("under: [cover]", "under: cover", "record.wrong-type", "joints.screws.ways[0].under"),
    ("under: [cover]", "under: [3]", "record.wrong-type", "joints.screws.ways[0].under[0]"),
    ("public: [battery]", "public: [battery, cover]", "record.bad-value", "supply.spare_parts.public[1]"),
    ("professional: all", "professional: everything", "record.bad-value", "supply.spare_parts.professional"),
    ("professional: all", "professional: [batery]", "record.bad-value", "supply.spare_parts.professional[0]"),
    ("years: 5", "years: five", "record.wrong-type", "supply.updates.years"),
    ("years: 5", "years: true", "record.wrong-type", "supply.updates.years"),
    ("years: 5", "years: -1", "record.out-of-range", "supply.updates.years"),
    ('"0:01:40"', "1:40", "record.bad-clock", "log[0].at"),
    ("do: release", "do: relaese", "record.bad-value", "log[0].do"),
    ("do: release, ", "", "record.missing", "log[0].do"),
    ("way: 0", "way: -1", "record.out-of-range", "log[0].way"),
    ("way: 0", "release: 0", "record.unknown-key", "log[0].release"),
    ("joint: screws, ", "", "record.missing", "log[0].joint"),
    ("{do: lift, part: cover}", "lift", "record.wrong-type", "log[1]"),
]


def test_the_good_record_is_good() -> None:
    reading = read_record(GOOD.encode(), "x.yaml")
    assert reading.findings == ()
    assert reading.record is not None
    assert reading.record.frame == "frame"


@pytest.mark.parametrize(("old", "new", "code", "at"), MISTAKES, ids=[f"{m[3]}-{i}" for i, m in enumerate(MISTAKES)])
def test_one_mistake_gives_one_finding(old: str, new: str, code: str, at: str) -> None:
    assert GOOD.count(old) == 1
    reading = read_record(GOOD.replace(old, new).encode(), "x.yaml")
    assert reading.record is None
    assert [(f.code, f.at) for f in reading.findings] == [(code, at)]
    (finding,) = reading.findings
    assert finding.level == "error"
    assert finding.line is not None
    assert finding.remedy
    assert len(str(finding)) < 500
    words = str(finding).lower()
    assert not [
        jargon for jargon in ("input should", "valid string", "literal", "tuple", "dict", "pydantic") if jargon in words
    ]


@pytest.mark.parametrize(
    ("old", "new", "remedy"),
    [
        ("slate-tablet", "slate-tabelt", 'did you mean "slate-tablet"?'),
        ("mass:", "masse:", 'did you mean "mass"?'),
        ("kind: screw", "kind: screws", 'did you mean "screw"?'),
        ("do: release", "do: relaese", 'did you mean "release"?'),
        ("stays: true", "stays: yes", "write true"),
        ("id: tarn-11", "id: Tarn 11", "write tarn-11"),
        ("under: [cover]", "under: cover", "put it in brackets: [cover]"),
        ("name: Tarn 11", "name: 11", 'put it in quotes: "11"'),
    ],
)
def test_the_remedy_says_what_to_write(old: str, new: str, remedy: str) -> None:
    (finding,) = read_record(GOOD.replace(old, new).encode(), "x.yaml").findings
    assert finding.remedy == remedy


def test_findings_stand_in_the_order_of_the_file_with_their_lines() -> None:
    text = (
        GOOD.replace("count: 4", "count: 0").replace("mass: 512 g", "mass: 512").replace("part: cover}", "part: cvoer}")
    )
    reading = read_record(text.encode(), "x.yaml")
    assert [(f.line, f.code) for f in reading.findings] == [
        (2, "record.bad-quantity"),
        (13, "record.out-of-range"),
        (19, "record.unknown-name"),
    ]


@pytest.mark.parametrize(
    ("text", "code"), [("- a\n", "record.wrong-type"), ("just words\n", "record.wrong-type"), ("", "data.empty")]
)
def test_what_is_no_mapping_gives_one_finding(text: str, code: str) -> None:
    reading = read_record(text.encode(), "x.yaml")
    assert [f.code for f in reading.findings] == [code]


def test_data_problems_and_mistakes_are_told_together() -> None:
    text = GOOD.replace("count: 4", "count: 4\n    count: 5\n    colour: red").replace("[hex-3]", "[hex-4]")
    codes = [f.code for f in read_record(text.encode(), "x.yaml").findings]
    assert codes == ["data.repeated-key", "record.unknown-key", "record.unknown-name"]


def test_very_many_findings_are_counted() -> None:
    text = GOOD + "".join("  - {do: nothing}\n" for _ in range(600))
    findings = read_record(text.encode(), "x.yaml").findings
    assert len(findings) == 501
    assert findings[-1].code == "record.too-many"
    assert "100 more" in findings[-1].message


def test_a_section_with_too_many_entries_is_refused() -> None:
    text = GOOD.replace("parts:\n", "parts:\n" + "".join(f"  p{n}: {{name: x}}\n" for n in range(5000)))
    assert [(f.code, f.at) for f in read_record(text.encode(), "x.yaml").findings] == [("record.too-large", "parts")]
