"""Verdicts made of verdicts: what decides, what is left to look at, and what stands in the JSON."""

from __future__ import annotations

from itertools import product

import pytest

from unfasten.rules.node import Fact
from unfasten.rules.verdict import WORDS, Look, Ruling, Word, all_of, any_of, not_coded

LOOK = Look("is it so?", "parts.x", "Speaker")


def leaf(word: Word, number: int = 0) -> Ruling:
    return Ruling(f"r{number}", f"r{number}", word, ("said",), look=(Look("?", f"at{number}"),))


@pytest.mark.parametrize(
    ("words", "whole", "either"),
    [
        (("met", "met"), "met", "met"),
        (("met", "not met"), "not met", "met"),
        (("met", "unknown"), "unknown", "met"),
        (("not met", "unknown"), "not met", "unknown"),
        (("does not apply", "met"), "met", "met"),
        (("does not apply", "not met"), "not met", "not met"),
        (("does not apply", "unknown"), "unknown", "unknown"),
        (("does not apply", "does not apply"), "does not apply", "does not apply"),
        ((), "does not apply", "does not apply"),
    ],
)
def test_what_decides(words: tuple[Word, ...], whole: Word, either: Word) -> None:
    children = [leaf(word, number) for number, word in enumerate(words)]
    assert all_of("all", "all", children).verdict == whole
    assert any_of("any", "any", children).verdict == either


def test_the_order_of_children_does_not_matter() -> None:
    for words in product(WORDS, repeat=3):
        for combine in (all_of, any_of):
            found = {combine("c", "c", [leaf(word) for word in turned]).verdict for turned in (words, words[::-1])}
            assert len(found) == 1


def test_only_what_can_settle_an_open_verdict_is_left_to_look_at() -> None:
    settled = all_of("a", "a", [leaf("not met", 1), leaf("unknown", 2)])
    assert settled.look_at() == ()
    open_ = any_of("b", "b", [settled, leaf("unknown", 3), leaf("not met", 4)])
    assert [look.where for look in open_.look_at()] == ["at3"]


def test_a_look_names_what_it_is_about() -> None:
    assert str(LOOK) == "Speaker: is it so?"
    assert LOOK.as_json() == {"what": "Speaker: is it so?", "where": "parts.x"}


def test_what_is_not_coded_is_unknown_and_says_so() -> None:
    ruling = not_coded("falls", "falls", "how many units must pass", "tests.falls")
    assert (ruling.verdict, ruling.reasons) == ("unknown", ("not coded: how many units must pass",))


def test_json_leaves_out_what_is_empty_and_facts_stand_once() -> None:
    fact = Fact("supply.prices", "all", "claimed")
    child = Ruling("c", "c", "met", ("all",), facts=(fact,))
    tree = all_of("a", "a", [child, child])
    assert tree.all_facts() == (fact,)
    assert tree.as_json() == {
        "id": "a",
        "title": "a",
        "verdict": "met",
        "made_of": [{"id": "c", "title": "c", "verdict": "met", "reasons": ["all"],
                     "facts": [{"at": "supply.prices", "says": "all", "origin": "claimed"}]}] * 2,
    }  # fmt: skip
