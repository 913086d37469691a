"""Pages that need no script: what a problem is, and a refusal for whoever came with a browser."""

import html
import re
from collections.abc import Callable
from string import Template

from flask import Flask, Response, request
from werkzeug.exceptions import NotFound

from crossload.api.problem_kinds import KINDS
from crossload.api.problems import MEDIA_TYPE

TEMPLATE = "plain.html"
"""In the page's folder, with `$title` and `$body`."""


def install(app: Flask, template: Callable[[], str]) -> None:
    """Serves `/problems/<slug>`; `template` gives the text of plain.html each time."""

    def problem_page(slug: str) -> Response:
        """What a type of problem means and how to mend it: what its `type` points to."""
        kind = KINDS.get(slug)
        if kind is None:
            raise NotFound
        text = f"{_said(kind.meaning)}<h2>What to do</h2>{_said(kind.mend)}"
        text += f'<p class="muted">Answered with status {kind.status}.</p>'
        answer = Response(_filled(template(), kind.title, text), mimetype="text/html")
        answer.cache_control.max_age = 3600
        return answer

    def for_browsers(response: Response) -> Response:
        """A page for somebody who looks, in place of the JSON that programs read."""
        if response.mimetype != MEDIA_TYPE or request.path.startswith("/api/"):
            return response
        response.vary.add("Accept")
        if request.accept_mimetypes.best_match([MEDIA_TYPE, "text/html"]) == "text/html":
            problem = response.get_json()
            detail = _sentence(problem["detail"])
            response.set_data(_filled(template(), problem["title"], _said(detail)))
            response.mimetype = "text/html"
        return response

    app.add_url_rule("/problems/<slug>", "problem", problem_page)
    app.after_request(for_browsers)


def _filled(template: str, title: str, body: str) -> str:
    return Template(template).substitute(title=html.escape(title), body=body)


def _said(text: str) -> str:
    """A paragraph; what stands between backticks is the name of a member."""
    return "<p>" + re.sub("`([^`]+)`", r"<code>\1</code>", html.escape(text)) + "</p>"


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].removesuffix('.')}."
