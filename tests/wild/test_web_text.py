"""Text from people is never HTML: what would be an element, an attribute or a script comes back as words."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

import pytest
from tests.support.photo_files import jpeg
from tests.support.web import HTML, RECORD, Lab, line, lines, new_record, parsed, photo, running, settings

from unfasten.record.read import read_tree
from unfasten.service.bench.answers import Answers
from unfasten.service.load import load_record
from unfasten.service.settings import EXAMPLE, examples_dir
from unfasten.web.panels import NAMES, panels, question_panel

#: ends an attribute, a title, a script and a comment, and would be an element; also what a template or database reads
EVIL = """\"'></script></title></textarea><zz-evil zz-on=1 onclick=zz()><img src=x onerror=zz()>{{7*7}}${7*7}<!--';--"""
MARK = "zz-evil"
OLDER = "tarn-9.yaml"
#: keys of a record whose value is a plain text
TEXTS = {
    "name", "maker", "number", "owner", "by", "note", "connector", "marking", "designation", "function", "where",
    "unit", "messages", "software", "lost", "text", "date_code",
}  # fmt: skip


def hostile(tree: Any, key: str = "") -> Any:
    """The tree with hostile words added to every plain text."""
    if isinstance(tree, dict):
        return {name: hostile(value, name) for name, value in tree.items()}
    if isinstance(tree, list):
        return [hostile(value, key) for value in tree]
    return f"{tree} {EVIL}" if isinstance(tree, str) and key in TEXTS else tree


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    """A lab that holds an example whose every text is hostile, and a record that was typed so."""
    with running(settings(tmp_path_factory.mktemp("text"))) as made:
        store, now = made.app.state.workspace.store, datetime.now(UTC)
        for name in (OLDER, EXAMPLE):
            example = load_record(examples_dir() / name)
            tree = hostile(example.model_dump(mode="json", by_alias=True, exclude_unset=True))
            assert [str(finding) for finding in read_tree(tree).findings] == []
            store.put_record(tree, entry=uuid4(), at=now, by=EVIL)
        made.example = tree["product"]["id"]
        new = new_record("typed", name=EVIL, maker=EVIL)
        assert made.ask("POST", "/api/records", "cora", json=new).status_code == 201
        typed = [
            "part back-cover", f"part shield name {EVIL}", f"note {EVIL}", EVIL,
            f"2 hex-3 holds back-cover frame at {EVIL}", f"parts.shield.name={EVIL}", "lift back-cover", "undo",
            f"clock {EVIL}", f"pick holds {EVIL}", f"found {EVIL}",
            f"setup.place={EVIL}", f"{EVIL} holds shield frame", "1 zz<zz-evil> holds shield frame",
        ]  # fmt: skip
        taken = made.ask("POST", "/api/records/typed/lines", "cora", json=lines(*typed))
        assert taken.status_code == 200
        added = made.ask("POST", "/api/records/typed/photos", "cora", files=photo(f"{EVIL}.jpg", jpeg(64, 48)))
        assert added.status_code == 201
        yield made


def check_words(page: str, *, least: int = 1) -> None:
    """Check that a page holds the hostile words as words only, and at least so often."""
    read = parsed(page)
    names = {tag for tag, _ in read.found}
    attributes = {name for _, given in read.found for name in given}
    assert not [name for name in names | attributes if name.startswith("zz") or name.startswith("on")]
    addresses = [str(given.get(name)) for _, given in read.found for name in ("href", "src", "action") if name in given]
    assert not [one for one in addresses if not re.match(r"(/|#|\?|data:image/(png|svg\+xml|jpeg);)", one)]
    assert not [one for one in read.comments if MARK in one]
    assert "49" not in re.findall(r"zz\(\)>(\d+)", page)
    words = " ".join([*read.words, *(str(value) for _, given in read.found for value in given.values())])
    assert words.count(MARK) >= least


@pytest.mark.parametrize(
    ("path", "least"),
    [
        ("/", 4),
        ("/records/typed", 4),
        ("/records/typed/past", 4),
        ("/records/EXAMPLE", 1),
        ("/records/EXAMPLE/past", 2),
    ],
)
def test_pages(lab: Lab, path: str, least: int) -> None:
    answer = lab.ask("GET", path.replace("EXAMPLE", lab.example), "cora", headers=HTML)
    assert answer.status_code == 200, answer.text
    check_words(answer.text, least=least)


def test_the_start_of_the_bench_is_data_that_cannot_end(lab: Lab) -> None:
    page = lab.ask("GET", "/records/typed", "cora", headers=HTML).text
    data = re.search(r'<script type="application/json" id="start">(.*?)</script>', page, re.DOTALL)
    assert data is not None
    assert "<" not in data[1]
    assert any(row["text"] == EVIL for row in json.loads(data[1])["rows"])


@pytest.mark.parametrize(
    ("path", "least"),
    [("/records/EXAMPLE/report", 20), ("/compare?record=tarn-9&record=EXAMPLE", 10), ("/families/tarn/swaps", 5)],
)
def test_what_carries_its_script_inside_is_shown_without_rights(lab: Lab, path: str, least: int) -> None:
    answer = lab.ask("GET", path.replace("EXAMPLE", lab.example), "cora", headers=HTML)
    assert answer.status_code == 200
    check_words(answer.text, least=least)
    policy = answer.headers["content-security-policy"]
    assert "sandbox allow-scripts;" in policy
    assert "default-src 'none'" in policy
    assert not [word for word in ("allow-same-origin", "allow-forms", "connect-src", "http") if word in policy]


@pytest.mark.parametrize("record", ["typed", "EXAMPLE"])
def test_panels(lab: Lab, record: str) -> None:
    name = record.replace("EXAMPLE", lab.example)
    room = lab.loop.run(lab.app.state.hub.room(name))
    answers: Answers = room.bench.with_questions(room.bench.answers())
    made = panels(answers)["html"]
    assert set(made) == set(NAMES)
    for panel in [*made.values(), question_panel(answers)]:
        check_words(panel, least=0)
    if record == "EXAMPLE":
        assert sum(panel.count(MARK) for panel in made.values()) >= 5


@pytest.mark.parametrize("record", ["typed", "EXAMPLE"])
def test_the_drawing(lab: Lab, record: str) -> None:
    name = record.replace("EXAMPLE", lab.example)
    answer = lab.ask("GET", f"/api/records/{name}/drawing.svg", "cora")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert "script-src 'self'" in answer.headers["content-security-policy"]
    assert "<script" not in answer.text
    check_words(answer.text, least=5 if record == "EXAMPLE" else 0)


@pytest.mark.parametrize(
    "path", [f"/records/{EVIL}", f"/{EVIL}", "/records/typed/past?at=<zz-evil>", f"/phone?key={EVIL}"]
)
def test_what_stands_in_the_address(lab: Lab, path: str) -> None:
    answer = lab.ask("GET", path.replace("#", "%23"), "cora", headers=HTML)
    assert answer.headers["content-type"].startswith("text/html")
    check_words(answer.text, least=0)


def test_the_sign_in_page_says_nothing_back(lab: Lab) -> None:
    answer = lab.sign_in(EVIL, EVIL, headers=HTML, address="10.9.9.9")
    assert answer.status_code == 401
    assert MARK not in answer.text


def test_json_is_never_taken_for_a_page(lab: Lab) -> None:
    for path in ("/api/records", "/api/records/typed", "/api/records/typed/ledger", "/api/records/typed/photos"):
        answer = lab.ask("GET", path, "cora", headers=HTML)
        assert answer.headers["content-type"] == "application/json"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert MARK in answer.text


def test_the_stream_holds_one_line_of_data_for_each_message(lab: Lab) -> None:
    lab.ask(
        "POST",
        "/api/records/typed/lines",
        "cora",
        json=lines("note first\nevent: rows\ndata: {}\n\nlast \r x \u2028 y"),
    )
    for message in lab.stream("/api/records/typed/live", "rea", "event: answers").messages:
        kind, data, *rest = message.split("\n")
        assert kind in ("event: rows", "event: answers")
        assert isinstance(json.loads(data.removeprefix("data: ")), list | dict)
        assert rest == ["", ""]


@pytest.mark.parametrize(
    "name", ["a\r\nx-evil: 1.jpg", 'a"; filename="b.html', "../../../etc/passwd", "C:\\x\\y.jpg", "\x00", ""]
)
def test_a_file_name_is_a_plain_word(lab: Lab, name: str) -> None:
    record = f"named-{uuid4().hex[:6]}"
    lab.ask("POST", "/api/records", "cora", json=new_record(record))
    quoted = name.replace('"', "%22")
    body = f'--b\r\ncontent-disposition: form-data; name="file"; filename="{quoted}"\r\n\r\n'.encode() + jpeg(64, 48)
    kind = {"content-type": "multipart/form-data; boundary=b"}
    answer = lab.ask("POST", f"/api/records/{record}/photos", "cora", content=body + b"\r\n--b--\r\n", headers=kind)
    if answer.status_code != 201:
        assert answer.status_code in (400, 422)
        return
    kept = lab.ask("GET", f"/api/records/{record}/photos", "cora").json()["photos"]["p-001"]["name"]
    assert kept.isprintable()
    assert not set(kept) & set("/\\")
    shown = lab.ask("GET", f"/api/photos/{answer.json()['file']}", "cora")
    assert "content-disposition" not in shown.headers
    assert "x-evil" not in shown.headers


@pytest.mark.parametrize("kind", ["utf-7", "unicode_escape", "utf-16", "rot13", "punycode", "nonsense", "undefined"])
def test_a_form_in_another_alphabet_breaks_nothing(lab: Lab, kind: str) -> None:
    parts = {"name": b"\\ud800+2AA-", "password": b"\\ud800+2AA-"}
    made = [
        b'--b\r\ncontent-disposition: form-data; name="%s"\r\n\r\n%s\r\n' % (k.encode(), v) for k, v in parts.items()
    ]
    headers = {"content-type": f"multipart/form-data; boundary=b; charset={kind}"}
    content = b"".join(made) + b"--b--\r\n"
    answer = lab.ask("POST", "/sign-in", content=content, headers=headers, address="10.9.9.8")
    assert answer.status_code in (400, 401, 422)
    key = content.replace(b'"name"', b'"key"')
    assert lab.ask("POST", "/phone", content=key, headers=headers, address="10.9.9.8").status_code in (400, 403, 422)
    ticket = content.replace(b'"name"', b'"ticket"').replace(b'"password"', b'"file"; filename="\\ud800+2AA-"')
    assert lab.ask("POST", "/api/phone", content=ticket, headers=headers).status_code in (400, 403, 422)


def test_what_is_like_a_command_of_the_database_is_a_word(lab: Lab) -> None:
    words = "note '); drop table entry; --"
    assert lab.ask("POST", "/api/records/typed/lines", "cora", json=lines(words)).json()["kept"][0]["ok"]
    rows = lab.ask("GET", "/api/records/typed/ledger", "cora").json()["rows"]
    assert rows[-1]["text"] == words
    assert lab.sign_in("rea' or '1'='1", "x' or '1'='1", address="10.9.9.7").status_code == 401


def test_half_characters_in_a_body_are_refused_or_kept_whole(lab: Lab) -> None:
    path = f"/api/records/{RECORD}/lines"
    body = json.dumps({"lines": [line("note x")]})
    for evil in (body.replace("note x", "note \\ud800"), body.replace('"line"', '"\\udfff": 1, "line"')):
        headers = {"content-type": "application/json"}
        answer = lab.ask("POST", path, "cora", content=evil.encode(), headers=headers)
        assert answer.status_code == 422
        assert answer.json()["code"] == "web.unread"
