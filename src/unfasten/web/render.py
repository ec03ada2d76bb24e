"""Pages from templates: everything is escaped, and a name that the context lacks is an error."""

from __future__ import annotations

from functools import cache
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment
from markupsafe import Markup

from unfasten import __version__
from unfasten.report.html import templates_of
from unfasten.web.who import who_is


@cache
def environment() -> Environment:
    """The template environment of the pages."""
    env = templates_of("unfasten.web")
    env.filters["json_text"] = json_text
    env.globals["version"] = __version__
    return env


def json_text(value: object) -> Markup:
    """JSON for a data block in a page; `<` is written so that it cannot end the block."""
    import json

    return Markup(json.dumps(value, ensure_ascii=False).replace("<", "\\u003c"))


def fragment(name: str, **context: Any) -> str:
    """A piece of a page."""
    return environment().get_template(name).render(**context)


def page(request: Request, template: str, **context: Any) -> HTMLResponse:
    """A whole page; `who` and `settings` are there for every template."""
    who = who_is(request)
    settings = request.app.state.settings
    return HTMLResponse(fragment(template, who=who, settings=settings, path=request.url.path, **context))
