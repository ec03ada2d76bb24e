"""The answer to "could you not have reached it without ...?": yes or no, the proof, the cost, and what it rests on."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from support.small_record import record
from unfasten.cli.main import cli
from unfasten.evidence.errors import CallError
from unfasten.record.record import Record
from unfasten.routes.checkmodels import chain, layers, product, star
from unfasten.service.load import load_record
from unfasten.service.without import Answer, reached_without, without_json

EXAMPLES = Path(__file__).parents[3] / "examples"
A: dict[str, Any] = {"tools": ["a"], "time": "5 s"}


def under(*covers: Any, **more: Any) -> dict[str, Any]:
    return {**A, "under": list(covers), **more}


def open_case(*more: dict[str, Any]) -> Record:
    """A cell whose glue the film undid with the speaker already out; the survey of the glue is partial."""
    joints = {"js": ("speaker frame", A), "jc": ("cell frame", under(survey="partial"))}
    log = [
        {"at": "0:00:10", "do": "release", "joint": "js"},
        {"at": "0:00:20", "do": "lift", "part": "speaker"},
        {"do": "release", "joint": "jc"},
        {"at": "0:01:00", "do": "lift", "part": "cell"},
    ]
    return record(["speaker", "cell"], joints, log=[*log, *more])


def choice_case() -> Record:
    """A cell under near or far, of which far takes one part more."""
    joints = {"j1": ("near frame", A), "j2": ("far frame", under("extra")), "j3": ("extra frame", A),
              "jc": ("cell frame", under(["near", "far"]))}  # fmt: skip
    return record(["near", "far", "extra", "cell"], joints)


def test_what_cannot_be_spared_is_proven_by_a_chain_that_ends_at_it() -> None:
    joints = {"j": ("lid frame", A), "k": ("brace frame", under("lid")), "m": ("cell frame", under("brace"))}
    answer = reached_without(record(["lid", "brace", "cell"], joints), "cell", ["lid"])
    assert answer.found.verdict == "needed"
    assert answer.headline == "No: every way to cell takes out lid."
    assert answer.chain == (
        "cell is held by M.",
        "M lies under brace.",
        "brace is held by K.",
        "K lies under lid.",
        "lid is not to be taken out: so the question asks.",
    )


def test_what_it_costs_is_the_difference_of_two_routes() -> None:
    answer = reached_without(choice_case(), "cell", ["near"])
    assert answer.found.verdict == "choice"
    # two parts and their joints instead of one part and its joint: 5 s, one step (the joints are runs of one tool)
    assert answer.found.low.more == (1, 5)
    assert answer.headline == "Yes: cell can be reached without taking out near, for 1 step and 5.0 s more."
    assert answer.instead == ("undo J3", "take out extra", "undo J2", "take out far")
    assert answer.spared == ("undo J1", "take out near")


def test_what_the_shortest_way_leaves_in_place_costs_nothing() -> None:
    answer = reached_without(choice_case(), "cell", ["far", "extra"])
    assert answer.found.verdict == "spared"
    assert answer.headline == "Yes: the shortest way to cell does without taking out far and taking out extra."
    assert answer.instead == answer.spared == ()


def test_both_at_once_may_be_needed_where_each_alone_is_not() -> None:
    answer = reached_without(choice_case(), "cell", ["near", "far"])
    assert answer.found.verdict == "needed"
    assert "Jc lies under near or far." in answer.chain
    assert {f"{name} is not to be taken out: so the question asks." for name in ("near", "far")} <= set(answer.chain)


def test_the_proof_speaks_only_of_what_is_needed_by_itself() -> None:
    joints = {"j": ("lid frame", A), "k": ("brace frame", A), "m": ("cell frame", under("brace"))}
    case = record(["lid", "brace", "cell"], joints)
    answer = reached_without(case, "cell", ["lid", "brace"])
    assert answer.headline == "No: every way to cell takes out brace."
    assert not any("lid" in sentence for sentence in answer.chain)
    deep = record(["lid", "brace", "cell"], joints | {"k": ("brace frame", under("lid"))})
    assert reached_without(deep, "cell", ["lid", "brace"]).headline == (
        "No: every way to cell takes out lid and takes out brace."
    )


@pytest.mark.parametrize(
    ("case", "part", "name", "verdict"),
    [
        (chain(6), "part-6", "part-1", "needed"),
        (chain(6), "part-3", "part-4", "spared"),
        (star(5), "hub", "arm-2", "needed"),
        (star(5), "arm-1", "arm-2", "spared"),
        (layers(3, 3), "part-3-1", "part-1-2", "needed"),
        (layers(3, 3), "part-2-1", "part-2-2", "spared"),
    ],
)
def test_families_with_a_known_answer(case: Record, part: str, name: str, verdict: str) -> None:
    answer = reached_without(case, part, [name])
    assert answer.found.verdict == verdict
    if verdict == "needed":
        # every part between the two has a joint that lies under the one above
        held = [sentence for sentence in answer.chain if " is held by " in sentence]
        assert len(held) == len([sentence for sentence in answer.chain if " lies under " in sentence])
        assert answer.chain[-1] == f"{name} is not to be taken out: so the question asks."


def test_of_the_pen_only_the_two_rules_cannot_be_turned_round() -> None:
    """Textbook excerpt: five connections, 3 before 4 and 1 before 5 (see `routes/checkmodels.py`)."""
    pen = product({f"part-{n}": {4: ["part-3"], 5: ["part-1"]}.get(n, []) for n in range(1, 6)})
    needed = {
        (b, a)
        for a in range(1, 6)
        for b in range(1, 6)
        if a != b and reached_without(pen, f"part-{a}", [f"part-{b}"]).found.verdict == "needed"
    }
    assert needed == {(3, 4), (1, 5)}


def test_a_printed_name_serves_as_well_as_an_id() -> None:
    case = load_record(EXAMPLES / "tarn-9.yaml")
    by_id, by_name = (reached_without(case, "battery", [name]) for name in ("battery-brace", "Battery brace"))
    assert by_id == by_name


def test_an_open_cover_leaves_it_open_and_names_the_question() -> None:
    answer = reached_without(open_case(), "cell", ["speaker"])
    assert answer.found.verdict == "open"
    assert answer.headline.startswith("It is open. If no open cover is real, yes: ")
    assert answer.chain_of == "high"
    assert "Jc perhaps lies under speaker (not known for sure)." in answer.chain
    assert [(cover.id, cover.cover) for cover in answer.questions] == [("jc", "speaker")]
    assert answer.filmed == "On film: speaker at 0:00:20 came out before cell at 0:01:00."
    (move,) = answer.moves
    assert (move.action.id, move.steps, float(move.time)) == ("speaker", 1, 5.0)
    assert [(hole.action.id, hole.cover, hole.steps) for hole in answer.holes] == [("jc", ("speaker",), 1)]


def test_an_answered_question_settles_it() -> None:
    clear = open_case({"do": "found", "joint": "jc", "way": 0, "clear_of": ["speaker"]})
    assert reached_without(clear, "cell", ["speaker"]).found.verdict == "spared"
    real = open_case({"do": "found", "joint": "jc", "way": 0, "under": ["speaker"]})
    answer = reached_without(real, "cell", ["speaker"])
    assert answer.found.verdict == "needed"
    assert "Jc lies under speaker." in answer.chain


def test_tools_preparations_joints_bundles_and_swings_are_done_without_too() -> None:
    heat = [{"do": "heat", "tools": ["c"], "time": "60 s"}]
    joints = {
        "glue": {
            "holds": ["cell", "frame"],
            "ways": [{"tools": ["a"], "prepare": heat}, {"tools": ["b"], "time": "90 s"}],
        }
    }
    case = record(["cell"], joints)
    for name, words in (("heat", "heating"), ("c", "using c"), ("a", "using a")):
        answer = reached_without(case, "cell", [name], "time")
        assert answer.found.verdict == "choice"
        assert f"without {words}" in answer.headline
        assert answer.instead == ("undo Glue with b",)
        assert answer.spared == ("undo Glue with a after heating (c)",)
    both = reached_without(case, "cell", ["heat", "b"])
    assert both.found.verdict == "needed"
    assert both.chain[-1] == ("Glue is undone only with a after heating (c) or with b, which the question rules out.")
    assert reached_without(case, "cell", ["joints.glue"]).chain[-1] == "Glue is not to be undone: so the question asks."


def test_taking_out_is_not_swinging_aside() -> None:
    answer = reached_without(load_record(EXAMPLES / "tarn-11.yaml"), "battery", ["back-cover"])
    assert answer.found.verdict == "spared"
    assert answer.headline.endswith("without taking out Back cover (Back cover is only swung aside).")
    both = reached_without(load_record(EXAMPLES / "tarn-11.yaml"), "battery", ["back-cover", "cover-open"])
    assert both.found.verdict == "needed"
    assert both.headline.endswith("whatever the open covers turn out to be.")


@pytest.mark.parametrize(
    ("part", "name", "code"),
    [
        ("cell", "nearr", "why.unknown-name"),
        ("cell", "cell", "why.without-itself"),
        ("cell", "frame", "routes.part-stays"),
        ("cel", "near", "routes.unknown-part"),
    ],
)
def test_a_name_without_sense_is_refused_with_a_remedy(part: str, name: str, code: str) -> None:
    with pytest.raises(CallError) as caught:
        reached_without(choice_case(), part, [name])
    assert caught.value.code == code


def every_text(answer: Answer) -> str:
    return " ".join([answer.headline, *answer.chain, *answer.instead, *answer.spared])


@pytest.mark.parametrize("example", ["tarn-9", "tarn-11", "tarn-11-plus"])
def test_every_part_of_an_example_is_answered_in_names_not_in_ids(example: str) -> None:
    case = load_record(EXAMPLES / f"{example}.yaml")
    ids = [name for name in (*case.parts, *case.joints, *case.bundles, *case.swings) if "-" in name]
    verdicts = set()
    for name, part in list(case.parts.items())[:14]:
        if not part.stays and name != "battery":
            answer = reached_without(case, "battery", [name])
            verdicts.add(answer.found.verdict)
            assert not [one for one in ids if one in every_text(answer).split()]
            assert bool(answer.chain) == (answer.found.verdict in ("needed", "open"))
    assert verdicts <= {"needed", "open", "choice", "spared"}
    assert len(verdicts) > 1


def test_the_command_answers_in_text_and_in_json() -> None:
    path = str(EXAMPLES / "tarn-11.yaml")
    told = CliRunner().invoke(cli, ["why", path, "battery", "--without", "antenna-bracket-left"])
    assert told.exit_code == 0
    assert "Why there is no other way, if every open cover is real" in told.output
    assert "--joint battery-glue --cover antenna-bracket-left --yes|--no" in told.output
    given = CliRunner().invoke(cli, ["why", path, "battery", "--without", "antenna-bracket-left", "--json"])
    answer = json.loads(given.output)
    assert answer == without_json(
        load_record(Path(path)), reached_without(load_record(Path(path)), "battery", ["antenna-bracket-left"])
    )
    assert answer["verdict"] == "open"
    assert answer["low"]["more"] == {"steps": 0, "time_s": 0.0}
    assert answer["high"]["without"] is None
    assert answer["high"]["because"]
    wrong = CliRunner().invoke(cli, ["why", path, "battery", "--without", "antenna"])
    assert wrong.exit_code != 0


def test_a_way_is_never_named_without_its_cautions_nor_beside_a_swollen_battery(tmp_path: Path) -> None:
    text = (EXAMPLES / "tarn-11.yaml").read_text()
    swollen = tmp_path / "swollen.yaml"
    swollen.write_text(text.replace("condition: sound", "condition: swollen"))
    for more in ([], ["--without", "heat"]):
        sound = CliRunner().invoke(cli, ["why", str(EXAMPLES / "tarn-11.yaml"), "battery", *more]).output
        assert "with Tweezers and Cutting wire" in sound
        assert "CAUTION  Prying at the cell." in sound
        assert "qualified persons decide" in sound
        stopped = CliRunner().invoke(cli, ["why", str(swollen), "battery", *more]).output
        assert "STOP. The record says the battery is swollen." in stopped
        assert "Cutting wire" not in stopped
        given = json.loads(CliRunner().invoke(cli, ["why", str(swollen), "battery", *more, "--json"]).output)
        assert given["stop"]["title"] == "STOP"
        assert given["cautions"]
        assert given["deference"]
    asked = CliRunner().invoke(cli, ["ask", str(swollen), "--on", "2026-06-01"]).output
    assert asked.startswith("STOP. The record says the battery is swollen.")
