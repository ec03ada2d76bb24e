"""A small record with every hazard, an open cover, a bundle and a swing, and the reports made from it."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from support.small_record import record
from unfasten.record.record import Record
from unfasten.report.model.report import Report
from unfasten.service.load import load_record
from unfasten.service.report import build_report

DAY = date(2026, 3, 9)
EXAMPLES = Path(__file__).parents[2] / "examples"

PARTS: dict[str, Any] = {
    "cover": {"name": "Back cover", "role": "back-cover"},
    "shield": {"name": "Shield", "hazards": ["sharp-edge"]},
    "clip": {"name": "Contact spring", "hazards": ["spring"]},
    "board": {"name": "Board", "hazards": ["laser", "charged-capacitor"]},
    "cell": {
        "name": "Cell",
        "role": "battery",
        "pairing": ["notification", "authorisation"],
        "battery": {"nominal_voltage": "3.87 V", "rated_capacity": "5000 mAh", "marked_energy": "22.25 Wh"},
    },
    "pane": {"name": "Display", "role": "display-assembly", "hazards": ["glass"], "lift": {"side": "front"}},
    "horn": {"name": "Horn", "role": "speaker"},
    "buried": {"name": "Buried part", "role": "microphone"},
}
JOINTS: dict[str, Any] = {
    "cover-glue": {
        "kind": "adhesive",
        "holds": ["cover", "frame"],
        "reuse": "resupplied",
        "where": "round the rim",
        "ways": [{"tools": ["a"], "side": "back", "time": "20 s",
                  "prepare": [{"do": "heat", "tools": ["b"], "time": "60 s"}]}],
    },
    "shield-screws": {
        "holds": ["shield", "frame"],
        "count": 4,
        "drive": "hexalobular 3",
        "thread": "M1.4",
        "length": "2.6 mm",
        "reuse": "reusable",
        "ways": [{"tools": ["c"], "side": "back", "time": "5 s each", "under": ["cover"]}],
    },
    "clip-hook": {
        "kind": "clip",
        "holds": ["clip", "shield"],
        "ways": [{"tools": ["a"], "time": "2 s", "under": ["cover"]}],
    },
    "cell-plug": {
        "kind": "connector",
        "holds": ["cell", "board"],
        "reuse": "reusable",
        "ways": [{"tools": ["a"], "side": "back", "time": "3 s", "under": ["cover"], "survey": "partial"}],
    },
    "cell-glue": {
        "kind": "adhesive",
        "holds": ["cell", "frame"],
        "reuse": "removable",
        "ways": [{"tools": ["a", "c"], "side": "back", "time": "40 s", "under": ["cover"],
                  "prepare": [{"do": "clean", "time": "30 s"}]}],
    },
    "board-screws": {
        "holds": ["board", "frame"],
        "count": 2,
        "ways": [{"tools": ["c"], "time": "4 s each", "under": ["cover"]}],
    },
    "horn-seat": {"kind": "press-fit", "holds": ["horn", "frame"], "ways": [{"under": [["shield", "board"]]}]},
    "pane-glue": {
        "kind": "adhesive",
        "holds": ["pane", "frame"],
        "ways": [{"tools": ["a"], "side": "front", "time": "50 s"}],
    },
    "weld": {"kind": "weld", "holds": ["buried", "frame"], "ways": [{"under": ["buried"]}]},
}  # fmt: skip
LOG: list[dict[str, Any]] = [
    {"at": "0:00:05", "do": "note", "text": "mass 512 g"},
    {
        "at": "0:00:10",
        "do": "release",
        "joint": "cover-glue",
        "way": 0,
        "took": "82 s",
        "photo": "p-001",
        "by": "analyst 2",
    },
    {"at": "0:01:40", "do": "lift", "part": "cover"},
    {"do": "release", "joint": "shield-screws"},
    {"do": "lift", "bundle": "shield-set"},
    {"do": "release", "joint": "cell-plug", "way": 0},
    {"do": "found", "joint": "cell-glue", "under": ["board"], "text": "the board reaches over it"},
    {"do": "pause", "took": "60 s"},
]


def bench_record(condition: str = "sound", **more: Any) -> Record:
    """The record, with the battery in the condition given; further keys as they are."""
    cell = PARTS["cell"] | {"battery": PARTS["cell"]["battery"] | {"condition": condition}}
    keys: dict[str, Any] = {
        "bundles": {"shield-set": {"parts": ["shield", "clip"], "name": "Shield with spring"}},
        "swings": {"cover-open": {"part": "cover", "keeps": []}},
        "sheet": {"number": "B-1", "edition": 3, "state": "provisional", "owner": "Test bench", "by": "analyst 1"},
        "log": LOG,
    }
    return record(PARTS | {"cell": cell}, JOINTS, **(keys | more))


@cache
def bench_report(condition: str = "sound") -> Report:
    """The report of that record."""
    return build_report(bench_record(condition), DAY)


@cache
def tarn_record() -> Record:
    """The largest of the shipped examples that the report is shown with."""
    return load_record(EXAMPLES / "tarn-11.yaml")


@cache
def tarn_report() -> Report:
    """Its report."""
    return build_report(tarn_record(), DAY)
