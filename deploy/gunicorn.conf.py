"""gunicorn: every setting that is not the default, and why."""

import os

# Loopback only: what faces the network is a proxy in front.
bind = f"127.0.0.1:{os.environ.get('PORT', '8000')}"

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
