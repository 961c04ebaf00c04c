"""Print deploy/nginx.conf made whole, with the service's own limits, origins and problems in it.

Run it with the Python that serves: ``.venv/bin/python deploy/nginx_conf.py``.

LISTEN (127.0.0.1:8080)      address that nginx listens on
KEEP (8081)                  port of loopback for the part of nginx that keeps answers
UPSTREAMS (127.0.0.1:8000)   where the service is, commas between: host:port or unix:/path
SIZING_ORIGINS ()            the same list of origins as the service's
SIZING_KEYS, SIZING_KEYS_REQUIRED ()   as the service's; the file itself is not read
KEY_RATE, KEY_BURST (500, 1000)   RATE and BURST of who sends a key: at least the most any key may
STATE (/var/lib/nginx)       folder for the cache, spooled bodies and the pid
ACCESS_LOG (/dev/stdout)     where the log goes
FAULTS (emerg)               level from which nginx writes of single requests on standard error;
                             below emerg such lines repeat the query: "error" tells what is
                             unreachable, "crit" a full disk, "warn" limits too
CACHE_SIZE (1g)              how much of answers is kept on disk
TRUSTED ()                   load balancers whose X-Forwarded-For is believed, commas between
PATIENCE (10)                seconds a client may take for a header, or between two reads or writes
QUEUE (512)                  questions each of UPSTREAMS has in hand, at work or waiting; then 503
RATE, BURST (100, 200)       requests a second of one client, and how many at once on top of them
AT_ONCE (256)                of one client that are being read, worked or answered
BATCH_RATE, BATCH_BURST, BATCH_AT_ONCE (20, 40, 4)   the same of batches, and how many may run
OPERATIONS ()                address for /metrics/1, /metrics/2, ..., one for each of UPSTREAMS
"""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from service.api.keyring import SETTING as KEYS  # noqa: E402  (from a clone)
from service.api.keys import required  # noqa: E402
from service.api.origins import configured  # noqa: E402
from service.api.problems import KINDS, MEDIA_TYPE  # noqa: E402

_TELLS = {
    "malformed": "the request is not well formed HTTP",
    "not-found": "no such resource; see /v1/openapi.json",
    "method-not-allowed": "no resource takes that method",
    "too-large": "a body holds at most 65536 bytes",
    "uri-too-long": "an address holds at most 8 KB; ask by QUERY or POST instead",
    "too-many-requests": "more requests than are let through at once",
    "header-too-large": "a header field holds at most 8 KB",
    "internal": "the proxy could not hold the request; a shorter one may do",
    "unreachable": "the service did not answer",
    "not-ready": "the service is not ready",
    "busy": "more is asked than can be answered at once",
    "timed-out": "the service did not answer in time",
}
_LATER = ("too-many-requests", "unreachable", "not-ready", "busy", "timed-out")
_KIND = {"busy": "not-ready"}  # the same to a caller: ask again
_WORDS = {
    "LISTEN": "127.0.0.1:8080", "STATE": "/var/lib/nginx", "CACHE_SIZE": "1g",
    "ACCESS_LOG": "/dev/stdout", "FAULTS": "emerg",
}  # fmt: skip
_NUMBERS = {
    "KEEP": 8081, "PATIENCE": 10, "QUEUE": 512, "RATE": 100, "BURST": 200, "AT_ONCE": 256,
    "BATCH_RATE": 20, "BATCH_BURST": 40, "BATCH_AT_ONCE": 4, "KEY_RATE": 500, "KEY_BURST": 1000,
}  # fmt: skip
_LEVELS = ("emerg", "alert", "crit", "error", "warn", "notice", "info")
_POLICY = "default-src 'none'; frame-ancestors 'none'"
_PLAIN = re.compile(r"[A-Za-z0-9_.:/\[\]-]+")


def _problem(slug: str) -> str:
    kind = KINDS[_KIND.get(slug, slug)]
    told = {"type": kind.uri, "title": kind.title, "status": kind.status, "detail": _TELLS[slug]}
    later = "            add_header Retry-After 1 always;\n" if slug in _LATER else ""
    if slug == "too-many-requests":
        later += (
            "            add_header RateLimit-Policy $policy always;\n"
            "            add_header RateLimit $spent always;\n"
        )
    return (
        f"        location = /nginx/{slug} {{\n"
        "            internal;\n"
        # The limit is of where the body was sent; here it would make a 413 of a batch's 502.
        "            client_max_body_size 0;\n"
        f"            default_type {MEDIA_TYPE};\n"
        "            add_header X-Request-Id $id always;\n"
        "            add_header Cache-Control no-store always;\n"
        "            add_header X-Content-Type-Options nosniff always;\n"
        "            add_header Referrer-Policy no-referrer always;\n"
        f'            add_header Content-Security-Policy "{_POLICY}" always;\n'
        "            add_header Vary Origin always;\n"
        "            add_header Access-Control-Allow-Origin $origin always;\n"
        "            add_header Access-Control-Expose-Headers $readable always;\n"
        f"{later}"
        f"            return {kind.status} '{json.dumps(told)}';\n"
        "        }"
    )


def _operations(address: str, upstreams: list[str]) -> str:
    """A server for whoever runs the service; each upstream counts for itself."""
    scraped = (
        f"        location = /metrics/{number} {{\n"
        f"            proxy_pass http://{u}{':' if u.startswith('unix:') else ''}/metrics;\n"
        "            proxy_set_header Host $http_host;\n"
        "        }\n"
        for number, u in enumerate(upstreams, 1)
    )
    return (
        f"\n    server {{\n        listen {address};\n        access_log off;\n{''.join(scraped)}"
        "        location / {\n            return 404;\n        }\n    }"
    )


def _told(environment: Mapping[str, str]) -> tuple[dict[str, str], list[str], list[str]]:
    """Settings as they are told, where the service is, and who is trusted. Raises ValueError."""
    told = {name: environment.get(name, usual) for name, usual in _WORDS.items()}
    upstreams = environment.get("UPSTREAMS", "127.0.0.1:8000").split(",")
    trusted = [a.strip() for a in environment.get("TRUSTED", "").split(",") if a.strip()]
    operations = environment.get("OPERATIONS", "")
    for value in (*told.values(), *upstreams, *trusted, *([operations] if operations else [])):
        if not _PLAIN.fullmatch(value):
            raise ValueError(f"{value!r} is not a plain address or path")
    if told["FAULTS"] not in _LEVELS:
        raise ValueError(f"FAULTS is {told['FAULTS']!r}: not a level: {', '.join(_LEVELS)}")
    for name, number in _NUMBERS.items():
        told[name] = environment.get(name, str(number))
        if not re.fullmatch("[1-9][0-9]{0,5}", told[name]):
            raise ValueError(f"{name} is {told[name]!r}: not a whole number from 1")
    return told | {"OPERATIONS": operations}, upstreams, trusted


def made_whole(environment: Mapping[str, str]) -> str:
    """The configuration. Raises ValueError for a setting that is not what it should be."""
    settings, upstreams, trusted = _told(environment)
    settings["TRUSTED"] = "".join(f"    set_real_ip_from {a};\n" for a in trusted) + (
        "    real_ip_header X-Forwarded-For;\n    real_ip_recursive on;" if trusted else ""
    )
    if settings["OPERATIONS"]:
        settings["OPERATIONS"] = _operations(settings["OPERATIONS"], upstreams)
    origins = sorted(configured(environment))
    # What could be a key (RFC 6750, 2.1), and no longer than one: nginx keeps it to count by.
    token = '        "~*^bearer +[a-z0-9._~+/-]{1,128}=*$" key;'
    settings["SENDS"] = token if environment.get(KEYS) else ""
    needed = required(environment)
    settings["ADDRESS_AT_ONCE"] = str(4 * int(settings["BATCH_AT_ONCE"]))
    settings["PAST_CACHE"] = '        "~." 1;' if needed else ""
    settings["KEPT_FOR"] = "keys:" if needed else ""
    most = f"max_conns={settings['QUEUE']}"
    settings["UPSTREAMS"] = "\n".join(f"        server {u} max_fails=0 {most};" for u in upstreams)
    settings["HEALTH"] = "\n".join(f"        server {u} max_fails=0;" for u in upstreams)
    settings["ANY_ORIGIN"] = "*" if "*" in origins else ""
    listed = (o for o in origins if o != "*")
    settings["ORIGINS"] = "\n".join(f'        "{o}" "{o}";' for o in listed)
    settings["PROBLEMS"] = "\n".join(map(_problem, _TELLS))
    template = (ROOT / "deploy" / "nginx.conf").read_text(encoding="utf-8")
    return re.sub(r"@\{([A-Z_]+)\}", lambda found: settings.get(found[1], found[0]), template)


if __name__ == "__main__":
    print(made_whole(os.environ), end="")
