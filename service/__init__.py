"""Crochet sizing: gauge, measurements and a piece template in; counts and instructions out."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

__version__ = "0.1.0"


def create_app() -> Flask:
    """The WSGI application."""
    # Imported here, so that the engine imports with nothing installed.
    from flask import Flask

    from .api.answer_cache import keeping
    from .api.routes import register

    app = Flask(__name__, static_folder=None)
    app.url_map.strict_slashes = False
    register(app)
    app.wsgi_app = keeping(app.wsgi_app)  # type: ignore[method-assign]
    return app
