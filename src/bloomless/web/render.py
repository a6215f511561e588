"""Pages out of templates."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from importlib import resources
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse

from bloomless import __version__
from bloomless.rules import Finding
from bloomless.web.finding_words import FindingWords, finding_words
from bloomless.web.sentences import say
from bloomless.web.words import translations

__all__ = ["render", "static_version"]


@cache
def static_version() -> str:
    """Short hash of every static file; stands in their addresses, so that a browser may keep them for ever."""
    digest = hashlib.sha256()
    for file in sorted((resources.files("bloomless.web") / "static").iterdir(), key=lambda entry: entry.name):
        digest.update(file.name.encode() + file.read_bytes())
    return digest.hexdigest()[:10]


@cache
def _environment(language: str) -> Environment:
    environment = Environment(
        loader=PackageLoader("bloomless.web"),
        extensions=["jinja2.ext.i18n"],
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.install_gettext_translations(translations(language), newstyle=False)  # type: ignore[attr-defined]
    environment.filters["script_json"] = _script_json
    environment.filters["say"] = _say
    environment.filters["in_words"] = _in_words
    return environment


@pass_context
def _say(context: Context, text: str) -> str:
    """``{{ reason|say }}``: a sentence of the centre in the language and units of the device."""
    return say(text, context["view"])


@pass_context
def _in_words(context: Context, finding: Finding) -> FindingWords:
    """``{{ finding|in_words }}``: message and cure of a finding in the language of the device."""
    return finding_words(finding, context["view"])


def _script_json(value: object) -> Markup:
    """JSON that may stand inside a script element: no text can end the element."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c").replace("&", "\\u0026"))


def render(request: Request, template: str, /, *, status: int = 200, **context: Any) -> HTMLResponse:
    """A page for the device that asks.

    Parameters
    ----------
    request
        Its state carries the view, the role and the navigation.
    template
        Name of a file in ``templates/``.
    status
        422 for a form that comes back with errors.
    context
        What the template shows.
    """
    state = request.state
    page = _environment(state.view.language).get_template(template)
    common = {
        "view": state.view,
        "role": state.role,
        "nav": state.nav,
        "here": request.url.path,
        "static": f"/static/{static_version()}",
        "version": __version__,
        "request": request,
    }
    return HTMLResponse(page.render(common | context), status_code=status)
