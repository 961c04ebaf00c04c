"""Crochet sizing: gauge, measurements and a piece template in; counts and instructions out."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask, Response

__version__ = "0.1.0"


def create_app() -> Flask:
    """The WSGI application."""
    # Imported here, so that the engine imports with nothing installed.
    from flask import Flask

    from .api.problems import problem
    from .api.routes import VERSION_HEADER, register

    app = Flask(__name__, static_folder=None)
    app.url_map.strict_slashes = False
    register(app)

    @app.errorhandler(500)
    def failed(_: Exception) -> Response:
        return problem("internal", "the request was not answered; the fault has been logged")

    @app.after_request
    def stamp(response: Response) -> Response:
        response.headers[VERSION_HEADER] = __version__
        response.headers["X-Content-Type-Options"] = "nosniff"
        return response

    return app
