"""Loading gives the record, or every finding in one error."""

from __future__ import annotations

from pathlib import Path

import pytest

from unfasten.evidence.errors import CallError, DataError
from unfasten.service.load import RecordInvalid, load_record, read_findings

GOOD = """\
format: unfasten-record/1
product: {id: tarn-9, name: Tarn 9, maker: Fellwright, category: other}
parts: {frame: {name: Midframe, stays: true}, cover: {name: Cover}}
joints: {clips: {kind: clip, holds: [cover, frame], ways: [{}]}}
"""


def test_a_good_record_is_loaded_whatever_is_to_be_warned_of(tmp_path: Path) -> None:
    path = tmp_path / "good.yaml"
    path.write_text(GOOD)
    assert load_record(path).product.id == "tarn-9"
    record, findings = read_findings(path)
    assert record == load_record(path)
    assert [(f.level, f.code, f.line) for f in findings] == [("warning", "record.reuse-unknown", 4)]


def test_a_bad_record_raises_with_every_finding(tmp_path: Path) -> None:
    path = tmp_path / "bad.yaml"
    path.write_text(GOOD.replace("[cover, frame]", "[covr, frme]").replace("name: Cover", "nme: Cover"))
    with pytest.raises(RecordInvalid) as caught:
        load_record(path)
    error = caught.value
    assert isinstance(error, DataError)
    assert (error.code, error.exit_code) == ("record.invalid", 1)
    assert [f.code for f in error.findings] == [
        "record.missing",
        "record.unknown-key",
        "record.unknown-name",
        "record.unknown-name",
    ]
    lines = str(error).splitlines()
    assert len(lines) == 6
    assert "4 errors" in lines[-1]
    found = error.as_json()["findings"]
    assert isinstance(found, list)
    assert len(found) == 4


def test_a_missing_file_is_a_wrong_call(tmp_path: Path) -> None:
    with pytest.raises(CallError) as caught:
        load_record(tmp_path / "no.yaml")
    assert caught.value.code == "data.missing-file"
