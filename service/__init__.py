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

    from .api import metrics, sharing
    from .api.answer_cache import Keeping, keeping
    from .api.routes import register

    app = Flask(__name__, static_folder=None)
    app.url_map.strict_slashes = False
    register(app)
    kept = keeping(app.wsgi_app)
    if isinstance(kept, Keeping):
        kept.at_each = metrics.counted
        metrics.watch("answers", kept.store.stats)
        metrics.watch("counts", sharing.kept.stats)
    app.wsgi_app = kept  # type: ignore[method-assign, assignment]
    return app
