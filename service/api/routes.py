"""The web layer put together: routes, failures, and what is done before and after each request."""

from __future__ import annotations

import os

from flask import Flask

from . import caching, failures, metrics, origins, stamps, tracing
from .batching import batching
from .computing import computing
from .lookups import health, lookups
from .pages import pages
from .reading import LARGEST_BODY


def register(app: Flask) -> None:
    # One more than may be: of a body that does not tell its length the rest is never read, and this
    # much of it tells that there is a rest.
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_BODY + 1
    app.config[origins.SETTING] = origins.configured(os.environ)
    for blueprint in (computing, batching, lookups, health, pages):
        app.register_blueprint(blueprint)
    failures.register(app)
    app.before_request(tracing.start)
    app.before_request(origins.preflight)
    # Done in the reverse of this order: the log tells what was sent in the end.
    ending = (metrics.count, tracing.log, tracing.mark, origins.mark, caching.mark, stamps.mark)
    for after in ending:
        app.after_request(after)
