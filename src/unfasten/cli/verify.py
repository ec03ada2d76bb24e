"""`unfasten verify`: every check value recomputed on this machine."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from unfasten.service.verify import Verification


@click.command("verify", help="Recompute every published and worked check value on this machine.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(as_json: bool) -> None:
    """Print each check value beside the computed one; exit status 1 if one differs from what is stated."""
    from unfasten.service.verify import verify

    answer = verify()
    click.echo(json.dumps(answer.as_json(), indent=1, ensure_ascii=False) if as_json else "\n".join(_lines(answer)))
    sys.exit(0 if answer.ok else 1)


def _lines(answer: Verification) -> list[str]:
    out = [f"{'check and figure':<62}{'printed':>10}{'computed':>12}{'tolerance':>11}  {'unit':<8}agrees"]
    for outcome in answer.outcomes:
        check = outcome.check
        out.append(f"{check.id}  [{check.kind}: {check.source}]")
        for value in outcome.values:
            figures = outcome_line(value.expected.printed, value.computed, value.expected.tolerance)
            out.append(f"  {value.expected.name:<60}{figures}  {value.expected.unit:<8}{_word(value.agrees)}")
        if not outcome.agrees and check.note:
            out.append(f"  {check.note}")
    differ = [outcome.check.id for outcome in answer.outcomes if not outcome.as_stated]
    out.append(f"{len(answer.outcomes)} checks, {len(answer.outcomes) - len(differ)} as stated, {len(differ)} not")
    return out + [f"not as stated: {name}" for name in differ]


def outcome_line(printed: str, computed: str, tolerance: object) -> str:
    """Printed and computed figure with the tolerance, right-aligned."""
    from fractions import Fraction

    from unfasten.evidence.interval import short_text

    shown = short_text(tolerance) if isinstance(tolerance, Fraction) else "exact"
    return f"{printed:>10}{computed:>12}{shown:>11}"


def _word(agrees: bool) -> str:
    return "yes" if agrees else "NO"
