"""The HTML rendering: one file, landmarks, every part, and nothing of a record that acts as markup."""

from __future__ import annotations

from collections import Counter
from html.parser import HTMLParser

import pytest

from support.report_record import DAY, bench_record, bench_report, tarn_report
from support.small_record import record
from unfasten.report.html import css_text, render_html
from unfasten.service.report import build_report

HOSTILE = [
    "<script>alert(1)</script>",
    "</svg></style><img src=x onerror=alert(1)>",
    "\"'><svg onload=alert(1)>",
    "{{ 7*7 }}{% raw %}",
    '#import "x" #panic() $x$ *b* _i_ `r` // c @a <l> \\',
    "العربية עברית",
    "電池 🔋 👩‍🔧",
    "left\u202eright\u0007\u2066",
    "z\u0301\u0301\u0301\u0301",
]


class Tree(HTMLParser):
    """Elements, attributes and text of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: Counter[str] = Counter()
        self.attributes: list[tuple[str, str, str]] = []
        self.texts: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes += [(tag, name, value or "") for name, value in attrs]

    def handle_data(self, data: str) -> None:
        self.texts.append(data)

    def values(self, name: str) -> list[str]:
        return [value for _, key, value in self.attributes if key == name]


@pytest.fixture(scope="module")
def page() -> Tree:
    return Tree(render_html(tarn_report()))


def test_nothing_is_fetched(page: Tree) -> None:
    assert page.values("src") == []
    assert [value for value in page.values("href") if not value.startswith("#")] == []
    assert page.tags["link"] == 0
    assert "url(" not in "".join(page.texts)
    assert "@import" not in "".join(page.texts)


def test_landmarks_and_ids(page: Tree) -> None:
    for tag in ("header", "nav", "main", "footer", "h1"):
        assert page.tags[tag] == 1, tag
    ids = page.values("id")
    assert len(ids) == len(set(ids))
    targets = [value[1:] for value in page.values("href")]
    assert set(targets) <= set(ids)
    assert set(page.values("aria-labelledby")) <= set(ids)


def test_every_drawing_has_a_label(page: Tree) -> None:
    labelled = [tag for tag, name, value in page.attributes if tag == "svg" and name == "aria-label" and value]
    assert len(labelled) == page.tags["svg"] > 50


def test_every_part_has_a_row_and_every_joint_is_in_the_fastener_chart(page: Tree) -> None:
    report = tarn_report()
    words = [text.strip() for text in page.texts]
    for row in report.depth.rows:
        assert words.count(row.part) >= 1, row.part
    for group in report.fasteners:
        for joint in group.rows:
            assert words.count(joint.joint) == 1, joint.joint


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_stay_text(name: str) -> None:
    parts = {"lid": {"name": name, "role": "battery", "note": name}}
    joints = {
        "screw": {"name": name, "holds": ["lid", "frame"], "where": name, "drive": name, "ways": [{"tools": ["a"]}]}
    }
    more = {"product": {"name": name, "maker": name}, "sheet": {"owner": name, "number": name, "by": name}}
    log = [{"do": "note", "text": name}]
    plain = Tree(
        render_html(build_report(record({"lid": {"role": "battery", "name": "x"}}, {"screw": ("lid frame",)}), DAY))
    )
    hostile = Tree(render_html(build_report(record(parts, joints, log=log, **more), DAY)))
    assert hostile.tags["script"] == plain.tags["script"] == 1
    assert hostile.tags["style"] == plain.tags["style"] == 1
    assert hostile.tags["img"] == 0
    assert [key for _, key, _ in hostile.attributes if key.startswith("on")] == []


def test_direction_and_control_characters_are_replaced() -> None:
    found = render_html(build_report(record({"lid": {"name": "a\u202eb\u0007c"}}, {"s": ("lid frame",)}), DAY))
    assert "\u202e" not in found
    assert "\u0007" not in found
    assert "a\ufffdb\ufffdc" in found


def test_text_for_style_sheets_cannot_end_them() -> None:
    assert css_text('a"</style>') == "a\\22 \\3c \\2f style\\3e "


def test_same_context_same_text() -> None:
    assert render_html(bench_report()) == render_html(build_report(bench_record(), DAY))


def test_stop_notice_takes_the_place_of_every_procedure() -> None:
    stopped = Tree(render_html(bench_report("swollen")))
    words = " ".join(stopped.texts)
    assert stopped.values("class").count("operations") == 0
    assert "Stop" in words
    assert words.count("The record says the battery is swollen") == 2 + len(bench_report().procedures)
    assert Tree(render_html(bench_report())).values("class").count("operations") == 4


def test_a_product_outside_the_rules_gets_a_report_without_index() -> None:
    other = build_report(record({"lid": {}}, {"s": ("lid frame",)}, product={"category": "other"}), DAY)
    words = " ".join(Tree(render_html(other)).texts)
    assert "does not apply" in words
    assert "this product's category is other" in words
    assert other.summary.band is None
