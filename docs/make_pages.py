"""Write the pages that are derived from the program: docs/cli.md, docs/errors.md and docs/names.md.

`python docs/make_pages.py` writes them; with `--check` it writes nothing and exits with 1 if one is out of date.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import yaml

from unfasten.cli.main import COMMANDS, cli

DOCS = Path(__file__).parent
SOURCE = DOCS.parent / "src" / "unfasten"
FILES = (".yaml", ".sqlite", ".html", ".pdf", ".json", ".py")
CODE = re.compile(r"[a-z]+\.[a-z]+(-[a-z]+)*")
WIDTH = 100
MADE = "<!-- made by docs/make_pages.py; do not edit -->\n"


def cli_page() -> str:
    """Every command with its help."""
    root = click.Context(
        cli, info_name="unfasten", terminal_width=WIDTH, max_content_width=WIDTH, **cli.context_settings
    )
    out = [MADE, "# The command line\n", _block(cli.get_help(root))]
    for name in sorted(COMMANDS):
        command = cli.get_command(root, name)
        if command is not None:
            context = click.Context(command, parent=root, info_name=name)
            out += [f"\n## unfasten {name}\n", _block(command.get_help(context))]
            if isinstance(command, click.Group):
                out += _members(command, context)
    return "\n".join(out)


def _members(group: click.Group, context: click.Context) -> Iterator[str]:
    for name in group.list_commands(context):
        member = group.get_command(context, name)
        if member is not None:
            inner = click.Context(member, parent=context, info_name=name)
            yield f"\n### {context.command_path} {name}\n"
            yield _block(member.get_help(inner))


def _block(text: str) -> str:
    return f"```text\n{text}\n```"


def codes() -> dict[str, set[str]]:
    """Code of every error and finding -> modules that raise it."""
    families = {code.split(".")[0] for code in meanings()}
    found: dict[str, set[str]] = {}
    for module, call in _calls():
        for code in _texts(call):
            if CODE.fullmatch(code) and code.split(".")[0] in families and not code.endswith(FILES):
                found.setdefault(code, set()).add(module)
    return found


def strange_codes() -> list[str]:
    """Codes handed to an error or finding whose first word is in no code of docs/errors.yaml."""
    families = {code.split(".")[0] for code in meanings()}
    found = {
        code
        for _, call in _calls()
        if getattr(call.func, "id", "").endswith(("Error", "Finding", "Problem", "Remark"))
        for code in _texts(call)
        if CODE.fullmatch(code) and not code.endswith(FILES)
    }
    return sorted(code for code in found if code.split(".")[0] not in families)


def _calls() -> Iterator[tuple[str, ast.Call]]:
    for path in sorted(SOURCE.rglob("*.py")):
        module = ".".join(path.relative_to(SOURCE.parent).with_suffix("").parts)
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call):
                yield module, node


def _texts(call: ast.Call) -> Iterator[str]:
    """Texts handed to a call, either side of a choice too."""
    for value in (*call.args, *(keyword.value for keyword in call.keywords)):
        for one in (value.body, value.orelse) if isinstance(value, ast.IfExp) else (value,):
            if isinstance(one, ast.Constant) and isinstance(one.value, str):
                yield one.value


def meanings() -> dict[str, str]:
    """Meaning of every code, as docs/errors.yaml gives it."""
    found: dict[str, str] = yaml.safe_load((DOCS / "errors.yaml").read_text("utf-8"))
    return found


def errors_page() -> str:
    """Every code with its meaning and where it comes from."""
    meant = meanings()
    raised = sorted(codes().items())
    rows = [f"| `{code}` | {meant.get(code, '')} | {', '.join(sorted(where))} |" for code, where in raised]
    head = [
        MADE,
        "# Codes of errors and findings\n",
        "A code never changes its meaning and is never used again for something else. Each message says what is wrong,",
        "where, and what to do; the code is for programs and for looking it up here.\n",
        "| code | what is wrong | raised by |",
        "| --- | --- | --- |",
    ]
    return "\n".join([*head, *rows])


def names_page() -> str:
    """The words of the program, from names.yaml."""
    names: dict[str, dict[str, str]] = yaml.safe_load((SOURCE / "names.yaml").read_text("utf-8"))
    rows = [f"| {name} | {entry['meaning']} | {entry.get('unit', '')} |" for name, entry in sorted(names.items())]
    return "\n".join([MADE, "# Words and names\n", "| name | meaning | unit |", "| --- | --- | --- |", *rows])


PAGES: dict[str, Callable[[], str]] = {"cli.md": cli_page, "errors.md": errors_page, "names.md": names_page}


def outdated() -> list[str]:
    """Names of the pages that differ from what the program says now."""
    wanted = {name: make() + "\n" for name, make in PAGES.items()}
    held = {name: (DOCS / name).read_text("utf-8") if (DOCS / name).exists() else "" for name in PAGES}
    return [name for name in PAGES if wanted[name] != held[name]]


def main() -> None:
    """Write or check the pages."""
    if "--check" in sys.argv[1:]:
        late = outdated()
        if late:
            sys.exit(f"out of date: {', '.join('docs/' + name for name in late)}; run make docs")
        return
    for name, make in PAGES.items():
        (DOCS / name).write_text(make() + "\n", "utf-8")


if __name__ == "__main__":
    main()
