"""The web application: joins the floors, and holds no rule."""

from importlib import import_module
from pathlib import Path

from flask import Flask
from werkzeug.middleware.proxy_fix import ProxyFix

from crossload.api import conditional, openapi, request_log, session, shell
from crossload.api.drawn import Drawn
from crossload.api.json_text import JsonText
from crossload.clock import Clock, system_clock
from crossload.settings import Settings
from crossload.storage.database import open_database

RESOURCES = (
    "health",
    "sign_in",
    "tokens",
    "wall_links",
    "invitations",
    "accounts",
    "own_pool",
    "productions",
    "units",
    "people",
    "shoot_days",
    "kit_types",
    "items",
    "boxes",
    "out_of_service",
    "scan",
    "journal",
    "judgements",
    "bookings",
    "custody",
    "availability",
    "board",
    "reminders",
    "radios",
    "imports",
)
"""The modules of `crossload.api` that have a `blueprint`, in the order of the documentation."""


def create_app(
    settings: Settings, clock: Clock = system_clock, *, web: Path | None = None
) -> Flask:
    """The application over the settings' database, which must be migrated.

    `clock` tells the instant of each request. `web` is the page's folder, found when not given.
    """
    open_database(settings.database, engine=settings.sqlite_engine)
    app = Flask("crossload", static_folder=None, template_folder=None)
    app.json = JsonText(app)
    app.url_map.strict_slashes = False
    app.config.update(
        MAX_CONTENT_LENGTH=settings.most_body_bytes,
        TRUSTED_HOSTS=trusted_hosts(settings),
    )
    app.extensions.update(settings=settings, clock=clock, drawn=Drawn())
    if settings.proxies:
        count = settings.proxies
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=count, x_proto=count, x_host=count)  # type: ignore[method-assign]
    api = openapi.install(app)
    session.install(app)
    conditional.install(app)
    for name in RESOURCES:
        api.register_blueprint(import_module(f"crossload.api.{name}").blueprint)
    shell.install(app, web)
    request_log.install(app)
    return app


def trusted_hosts(settings: Settings) -> list[str] | None:
    """The host names that requests may name; None is any, where all addresses are listened on."""
    if settings.trusted_hosts:
        return list(settings.trusted_hosts)
    if settings.host in ("0.0.0.0", "::"):  # noqa: S104
        return None
    return ["localhost", "127.0.0.1", "[::1]", settings.host]
