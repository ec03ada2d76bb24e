"""YAML is read strictly: what is refused, where it is said to stand, and what is read all the same."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from unfasten.evidence import yamlevents
from unfasten.evidence.datafile import load_data, read_data
from unfasten.evidence.errors import DataError
from unfasten.evidence.tree import DEPTH_LIMIT, NODE_LIMIT, PROBLEM_LIMIT


@pytest.fixture(params=["c", "python"])
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Run with PyYAML's C parser and with the one it falls back to."""
    if request.param == "c":
        monkeypatch.setattr(yamlevents, "_LOADER", yaml.CSafeLoader)
    else:
        monkeypatch.setattr(yamlevents, "_LOADER", yaml.SafeLoader)


REFUSED = [
    ("a: 1\nb: 2\na: 3\n", "data.repeated-key", ("a",), 3),
    ("a:\n  x: 1\n  'x': 1\n", "data.repeated-key", ("a", "x"), 3),
    ("<<: {a: 1}\n", "data.merge-key", (), 1),
    ("a:\n  <<: 1\n", "data.merge-key", ("a",), 2),
    ("1: 2\n", "data.key-not-text", (), 1),
    ("a: {true: 2}\n", "data.key-not-text", ("a",), 1),
    ("~: 2\n", "data.key-not-text", (), 1),
    ("? [a]\n: 3\n", "data.key-not-text", (), 1),
    ("? {a: b}\n: 3\n", "data.key-not-text", (), 1),
    ("a: !!python/object:os.system x\n", "data.tag", ("a",), 1),
    ("a: !!str x\n", "data.tag", ("a",), 1),
    ("a: ! x\n", "data.tag", ("a",), 1),
    ("a: !!set {x}\n", "data.tag", ("a",), 1),
    ("a: 1\n---\nb: 2\n", "data.several-documents", (), 2),
    ("%YAML 1.1\n---\na: 1\n", "data.version", (), 1),
    ("a: *x\n", "data.unknown-alias", ("a",), 1),
    ("a: &x [*x]\n", "data.loop", ("a",), 1),
    ("a: &x {b: [1, *x]}\n", "data.loop", ("a", "b"), 1),
    ("a: .nan\n", "data.not-finite", ("a",), 1),
    ("a: [1, 1e999]\n", "data.not-finite", ("a", 1), 1),
    ('a: "\\0"\n', "data.control-character", ("a",), 1),
    ('a: "\\e[2J"\n', "data.control-character", ("a",), 1),
    ("a:\n\tb: 1\n", "data.tab", ("a",), 2),
    ("a: b: c\n", "data.yaml-syntax", (), 1),
    ("a: 'x\n", "data.yaml-syntax", ("a",), 1),
    ("a: [1, 2\nb: 3\n", "data.yaml-syntax", ("a",), 2),
    ("a: @x\n", "data.yaml-syntax", ("a",), 1),
    ("a:\n  - 1\n b: 2\n", "data.yaml-syntax", (), 3),
    ("a: 1\nb\n", "data.yaml-syntax", (), 2),
    ("{a: b: c}\n", "data.yaml-syntax", (), 1),
    ("", "data.empty", (), None),
    ("# nothing but this\n", "data.empty", (), None),
]


@pytest.mark.usefixtures("parser")
@pytest.mark.parametrize(
    ("text", "code", "path", "line"), REFUSED, ids=[f"{c}-{i}" for i, (_, c, _, _) in enumerate(REFUSED)]
)
def test_refused_with_place_and_line(text: str, code: str, path: tuple[str | int, ...], line: int | None) -> None:
    document = read_data(text.encode())
    problem = document.problems[0]
    assert problem.code == code
    assert problem.message
    assert problem.remedy
    if code != "data.yaml-syntax":
        assert (problem.path, problem.line) == (path, line)
    else:
        # the two parsers notice a slip at slightly different tokens
        assert problem.line in (line, (line or 0) + 1)


@pytest.mark.usefixtures("parser")
def test_all_problems_are_told_and_the_rest_is_read() -> None:
    document = read_data(b"a: 1\na: 2\nb: {c: 1, c: 2, d: .inf}\n1: x\ne: *nope\nf: kept\n")
    assert [problem.code for problem in document.problems] == [
        "data.repeated-key",
        "data.repeated-key",
        "data.not-finite",
        "data.key-not-text",
        "data.unknown-alias",
    ]
    assert document.value == {"a": 1, "b": {"c": 1, "d": None}, "1": "x", "e": None, "f": "kept"}


def test_repeated_key_names_both_lines() -> None:
    (problem,) = read_data(b"a: 1\nb: 2\n\na: 3\n").problems
    assert problem.line == 4
    assert "line 1" in problem.message


@pytest.mark.usefixtures("parser")
def test_nodes_know_their_lines() -> None:
    document = read_data(b"a: 1\nlist:\n  - x\n  - {y: 1,\n     z: [p, q]}\nend: &e {k: 1}\ncopy: *e\n")
    assert document.problems == ()
    assert document.marks[("list", 1, "z")] == (5, 6)
    assert document.line(("list", 1, "z", 1)) == 5
    assert document.line(("copy", "k")) == 7, "inside an alias the line is that of the alias"
    assert document.line(("end", "missing")) == 6
    assert document.line(()) == 1


@pytest.mark.usefixtures("parser")
def test_anchors_and_aliases_are_read() -> None:
    assert read_data(b"a: &x [1, {b: 2}]\nc: *x\n&k key: v\nd: *k\n").value == {
        "a": [1, {"b": 2}],
        "c": [1, {"b": 2}],
        "key": "v",
        "d": "key",
    }


def test_byte_order_mark_and_line_ends_are_tolerated() -> None:
    assert read_data(b"\xef\xbb\xbfa: 1\r\nb: no\r\n").value == {"a": 1, "b": "no"}


@pytest.mark.usefixtures("parser")
def test_depth_is_limited_also_through_aliases() -> None:
    allowed = "[" * DEPTH_LIMIT + "]" * DEPTH_LIMIT
    assert read_data(allowed.encode()).problems == ()
    (problem,) = read_data(f"[{allowed}]".encode()).problems
    assert problem.code == "data.too-deep"
    half = DEPTH_LIMIT // 2
    inner = "[" * half + "]" * half
    outer = "[" * half + "*x" + "]" * half
    (problem,) = read_data(f"a: &x {inner}\nb: {outer}\n".encode()).problems
    assert problem.code == "data.too-deep"


@pytest.mark.usefixtures("parser")
def test_nodes_are_counted_with_aliases_written_out() -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 9)]
    (problem,) = read_data("\n".join(lines).encode()).problems
    assert problem.code == "data.too-large"
    assert problem.line in (5, 6)
    assert str(NODE_LIMIT) in problem.message


def test_text_is_counted_with_aliases_written_out() -> None:
    long = "x" * 100_000
    text = f"a: &a {long}\nb: [{', '.join(['*a'] * 100)}]\n"
    (problem,) = read_data(text.encode()).problems
    assert problem.code == "data.too-large"


def test_very_many_problems_are_cut_off() -> None:
    document = read_data(b"a: 1\n" * 10_000)
    assert len(document.problems) == PROBLEM_LIMIT + 1
    assert document.problems[-1].code == "data.too-many"


def test_load_data_gives_the_tree_or_raises_with_file_and_line(tmp_path: Path) -> None:
    good, bad = tmp_path / "good.yaml", tmp_path / "bad.yaml"
    good.write_text("a: {b: 1}\n")
    bad.write_text("a: 1\na: 2\na: 3\n")
    assert load_data(good) == {"a": {"b": 1}}
    with pytest.raises(DataError) as caught:
        load_data(bad)
    assert caught.value.code == "data.repeated-key"
    assert "bad.yaml, line 2" in str(caught.value)
    assert "line 3" in str(caught.value)
