"""The page and what stands around it: the shell, its files, the headers, and what needs no script."""

from pathlib import Path
from typing import Any

from flask import Flask, Response, request
from whitenoise import WhiteNoise

from crossload.api import plain_pages
from crossload.api.page_files import (
    Shell,
    digest_of,
    find_web,
    lay_out,
    read_page,
    read_shell,
)

PAGES = (
    "/", "/days", "/kit/<text>", "/ask", "/booking/<text>", "/mine", "/scan", "/office",
    "/office/<text>", "/sign-in", "/welcome", "/wall",
)  # fmt: skip
"""The addresses of the page: each serves the shell, and the page's own script does the rest."""

FOREVER_S = 31_536_000

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none';"
        " form-action 'self'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=(), payment=(), usb=()",
}
"""On every answer. No script, style or frame from anywhere else, and none inline."""


def install(app: Flask, web: Path | None = None) -> None:
    settings = app.extensions["settings"]
    source = web or find_web()
    if settings.page_cache:
        digest = digest_of(source)
        kept = read_shell(source, digest)
        plain = read_page(source, plain_pages.TEMPLATE, digest)
        _serve_files(app, lay_out(source, digest, settings.data / "web"), f"web/{digest}/")
        _serve_pages(app, lambda: kept)
        plain_pages.install(app, lambda: plain)
    else:
        _serve_files(app, source, "web/now/", afresh=True)
        _serve_pages(app, lambda: read_shell(source, "now"))
        plain_pages.install(app, lambda: read_page(source, plain_pages.TEMPLATE, "now"))
    app.after_request(_harden)


def _serve_files(app: Flask, folder: Path, prefix: str, *, afresh: bool = False) -> None:
    """Files that never change at their address; while somebody changes them, read each time."""
    app.wsgi_app = WhiteNoise(  # type: ignore[method-assign]
        app.wsgi_app,
        root=folder,
        prefix=prefix,
        autorefresh=afresh,
        max_age=0 if afresh else FOREVER_S,
        immutable_file_test=lambda path, url: not afresh,
        add_headers_function=_harden_file,
        allow_all_origins=False,
    )


def _harden_file(headers: Any, path: str, url: str) -> None:
    for name, value in HEADERS.items():
        headers[name] = value


def _serve_pages(app: Flask, shell: Any) -> None:
    def page(**_: str) -> Response:
        return _shell_response(shell())

    for number, path in enumerate(PAGES):
        app.add_url_rule(path, f"page-{number}", page)


def _shell_response(shell: Shell) -> Response:
    """The shell is asked for each time and costs a 304 while it stands."""
    small = request.accept_encodings["gzip"] > 0
    answer = Response(shell.compressed if small else shell.plain, mimetype="text/html")
    if small:
        answer.headers["Content-Encoding"] = "gzip"
    answer.headers["Vary"] = "Accept-Encoding"
    answer.cache_control.no_cache = True
    answer.set_etag(f"{shell.etag}-gzip" if small else shell.etag)
    return answer


def _harden(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if request.path.startswith("/api/"):
        response.headers.setdefault("Cache-Control", "no-cache, private")
        response.vary.update(("Cookie", "Authorization"))  # one browser, and another signs in
    if request.is_secure:
        response.headers.setdefault("Strict-Transport-Security", f"max-age={FOREVER_S}")
    return response
