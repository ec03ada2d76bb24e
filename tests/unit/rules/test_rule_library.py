"""The library of rule sets: kinds, planned sets, and errors that say which command to use."""

from __future__ import annotations

from datetime import date

import pytest

from unfasten.evidence.errors import CallError
from unfasten.rules.library import Edition, LabelSet, RequirementSet, RuleSet, edition, heads, ids_of, label_set
from unfasten.rules.library import requirement_set as requirements


def test_every_set_is_listed_with_its_kind_and_state() -> None:
    listed = {head.id: (head.kind, head.status) for head in heads()}
    assert listed == {
        "eu-2023-1542-11": ("requirements", "partial"),
        "eu-2023-1669": ("index", "complete"),
        "eu-2023-1669-label": ("label", "complete"),
        "eu-2023-1670": ("requirements", "partial"),
        "fr-2020-1757": ("index", "planned"),
    }
    assert [head.id for head in heads() if head.status != "complete" and not head.not_coded] == []


def test_sets_are_of_their_kind() -> None:
    assert isinstance(edition("eu-2023-1669"), Edition)
    assert isinstance(requirements("eu-2023-1670"), RequirementSet)
    assert isinstance(label_set("eu-2023-1669-label"), LabelSet)
    assert ids_of("index") == ("eu-2023-1669",)


@pytest.mark.parametrize(
    ("name", "code", "says"),
    [
        ("eu-2023-1671", "rules.unknown", 'did you mean "eu-2023-1669"?'),
        ("eu-2023-1670", "rules.other-kind", "run 'unfasten requirements' for it"),
        ("eu-2023-1669-label", "rules.other-kind", "run 'unfasten label' for it"),
        ("fr-2020-1757", "rules.planned", "scales"),
    ],
)
def test_a_set_that_is_no_index_is_refused_as_one(name: str, code: str, says: str) -> None:
    with pytest.raises(CallError) as caught:
        edition(name)
    assert caught.value.code == code
    assert says in str(caught.value)


def test_rules_apply_from_a_day_and_to_a_category() -> None:
    article = requirements("eu-2023-1542-11")
    assert article.why_not("other", date(2027, 2, 18)) is None
    assert "2027-02-18" in (article.why_not("smartphone", date(2027, 2, 17)) or "")
    assert "category" in (requirements("eu-2023-1670").why_not("other", date(2027, 2, 17)) or "")


def test_json_of_a_set() -> None:
    found = {head.id: head.as_json() for head in heads()}
    assert found["eu-2023-1670"]["from"] == "2025-06-20"
    assert "from" not in found["fr-2020-1757"]
    assert all(isinstance(head, RuleSet) == ("from" in found[head.id]) for head in heads())
