"""gunicorn: every setting that is not the default, and why."""

import logging
import os
import sys

# Loopback only, or a socket (BIND=unix:/run/sizing/socket): what faces the network is a proxy in
# front (deploy/nginx.conf).
bind = os.environ.get("BIND") or f"127.0.0.1:{os.environ.get('PORT', '8000')}"

# Answers are pure computation of well under a millisecond, so a sync worker a core is the
# steadiest; it must stand behind a proxy that buffers slow clients.
worker_class = "sync"
workers = int(os.environ.get("WORKERS", "2"))

# No accepted request takes seconds; one that does is a fault, and its worker is replaced.
timeout = 30
graceful_timeout = 10

# The application holds only read-only tables: load it once and share the pages.
preload_app = True

# Nothing needs to steer a running server through a socket.
control_socket_disable = True

# A question asked by GET stands in the request line; this is as long as gunicorn allows.
limit_request_line = 8190

# One line of JSON a request on standard output, written by the service itself, since only it knows
# the route and the trace. ACCESS_LOG=off leaves it out.
if os.environ.get("ACCESS_LOG") != "off":
    _log = logging.getLogger("service.access")
    _log.addHandler(logging.StreamHandler(sys.stdout))
    _log.setLevel(logging.INFO)
    _log.propagate = False
