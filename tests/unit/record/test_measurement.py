"""Measurements in a record: lengths, areas and angles, and the part they are of."""

from __future__ import annotations

import pytest

from unfasten.record.read import read_record
from unfasten.record.write import to_yaml

HEAD = """format: unfasten-record/1
product: {id: tarn-11, name: Tarn 11, maker: Fellwright, category: slate-tablet}
parts: {frame: {name: Midframe, stays: true}, dial: {name: Dial}}
joints: {dial-screw: {kind: screw, holds: [dial, frame], ways: [{}]}}
measurements:
"""
DIGEST = "0" * 64


def entry(value: str, of: str = "dial") -> bytes:
    keys = f"file: '{DIGEST}', kind: distance, name: width, of: {of}, value: {value}, recipe: {{readings: [[1.5, 2]]}}"
    return f"{HEAD}  m-001: {{{keys}}}\n".encode()


@pytest.mark.parametrize("value", ["61.53 ± 0.08 mm", "12.1 ± 0.2 mm²", "1.5 cm²", "45.0 ± 0.3 °"])
def test_lengths_areas_and_angles_read_and_write(value: str) -> None:
    reading = read_record(entry(value), "tarn.yaml")
    assert reading.record is not None, reading.findings
    assert str(reading.record.measurements["m-001"].value) == value
    assert read_record(to_yaml(reading.record).encode(), "tarn.yaml").record == reading.record


@pytest.mark.parametrize("value", ["61.53 g", "61.53", "0.1 °C"])
def test_other_quantities_are_no_measurement(value: str) -> None:
    reading = read_record(entry(value), "tarn.yaml")
    assert reading.record is None
    assert any(finding.at == "measurements.m-001.value" for finding in reading.findings)


def test_unknown_part_is_an_error_with_its_place() -> None:
    reading = read_record(entry("1 mm", "dail"), "tarn.yaml")
    (finding,) = reading.findings
    assert finding.at == "measurements.m-001.of"
    assert "dial" in finding.remedy
