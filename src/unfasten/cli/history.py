"""`unfasten history`: the ledger of a record, or the record as it once stood."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from unfasten.service.history import HistoryLine


@click.command("history")
@click.argument("record")
@click.option("--at", "seq", type=int, metavar="SEQ", help="Print the record as it stood after this entry, as YAML.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.option("-w", "--workspace", "folder", type=click.Path(file_okay=False, path_type=Path), metavar="DIR",
              help="Folder of the workspace.  [default: workspace]")  # fmt: skip
def command(record: str, seq: int | None, as_json: bool, folder: Path | None) -> None:
    """List the ledger of RECORD (its id), oldest entry first: number, time, who, kind, what."""
    from unfasten.service.history import history, past
    from unfasten.service.settings import WORKSPACE
    from unfasten.service.workspace import open_workspace

    with open_workspace(folder or WORKSPACE, datetime.now().astimezone()) as workspace:
        if seq is not None:
            tree = past(workspace.store, record, seq)
            click.echo(_json(tree) if as_json else _yaml(tree))
            return
        lines = history(workspace.store, record)
    click.echo(_json({"record": record, "entries": [line.as_json() for line in lines]}) if as_json else _table(lines))


def _yaml(tree: Mapping[str, object]) -> str:
    from unfasten.record.write import tree_to_yaml

    return tree_to_yaml(tree).rstrip("\n")


def _json(tree: object) -> str:
    return json.dumps(tree, indent=1, ensure_ascii=False)


def _table(lines: Sequence[HistoryLine]) -> str:
    rows = [(str(line.seq), line.at[:19].replace("T", " "), line.by or "", line.kind, _words(line)) for line in lines]
    widths = [max(len(row[place]) for row in rows) for place in range(4)]
    return "\n".join(
        f"{row[0]:>{widths[0]}}  {row[1]:<{widths[1]}}  {row[2]:<{widths[2]}}  {row[3]:<{widths[3]}}  {row[4]}"
        for row in rows
    )


def _words(line: HistoryLine) -> str:
    words = [line.says]
    if line.corrects is not None and line.kind not in ("undo", "put-record"):
        words.append(f"in place of entry {line.corrects}")
    if line.undone_by is not None:
        words.append(f"withdrawn by entry {line.undone_by}")
    return "; ".join(words)
