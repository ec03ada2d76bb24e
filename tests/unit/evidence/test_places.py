"""Places and values as messages show them."""

from __future__ import annotations

from unfasten.evidence.place import SHOWN, WHOLE, listed, place, shown


def test_places() -> None:
    assert place(("joints", "back-screws", "ways", 0, "tools", 1)) == "joints.back-screws.ways[0].tools[1]"
    assert place(()) == WHOLE
    assert place((3, "a")) == "[3].a"
    assert place(("parts", "Back Cover", "name")) == 'parts["Back Cover"].name'


def test_shown_is_short_and_harmless_on_a_terminal() -> None:
    assert shown("x\x1b[2J\u202e") == '"x\\x1b[2J\\u202e"'
    assert len(shown("y" * 1000)) == SHOWN + 3
    assert shown({}) == "a mapping"
    assert shown(True) == "true"
    assert shown(2.5) == "2.5"


def test_long_lists_are_cut() -> None:
    assert listed("abc") == '"a", "b", "c"'
    assert listed("abcdefgh").endswith('"f", …')
