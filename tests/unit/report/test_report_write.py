"""Writing: both files or none, over older ones, with a clear error where it cannot be done."""

from __future__ import annotations

from pathlib import Path

import pytest

from support.report_record import DAY, bench_record
from unfasten.evidence.errors import CallError
from unfasten.report import pdf
from unfasten.service.report import write_report


def test_both_files_are_written_under_the_products_id(tmp_path: Path) -> None:
    out = tmp_path / "deep" / "er"
    assert write_report(bench_record(), out, DAY) == (out / "small.html", out / "small.pdf")
    assert sorted(path.name for path in out.iterdir()) == ["small.html", "small.pdf"]
    assert (out / "small.pdf").read_bytes().startswith(b"%PDF-")
    assert (out / "small.html").read_text("utf-8").startswith("<!doctype html>")


def test_writing_again_replaces_with_the_same_bytes(tmp_path: Path) -> None:
    first = [path.read_bytes() for path in write_report(bench_record(), tmp_path, DAY)]
    assert [path.read_bytes() for path in write_report(bench_record(), tmp_path, DAY)] == first


def test_a_failing_rendering_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> bytes:
        raise RuntimeError("no print today")

    monkeypatch.setattr(pdf, "_compile", fail)
    with pytest.raises(RuntimeError):
        write_report(bench_record(), tmp_path / "out", DAY)
    assert not (tmp_path / "out").exists()


def test_a_folder_in_the_way_leaves_the_other_file_alone(tmp_path: Path) -> None:
    (tmp_path / "small.pdf").mkdir()
    (tmp_path / "small.html").write_text("older", "utf-8")
    with pytest.raises(CallError) as found:
        write_report(bench_record(), tmp_path, DAY)
    assert found.value.code == "report.cannot-write"
    assert (tmp_path / "small.html").read_text("utf-8") == "older"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["small.html", "small.pdf"]


def test_a_file_in_place_of_the_folder_is_an_error_with_a_remedy(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("", "utf-8")
    with pytest.raises(CallError, match="name a folder that you may write to") as found:
        write_report(bench_record(), tmp_path / "out", DAY)
    assert found.value.exit_code == 2
