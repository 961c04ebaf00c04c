"""A typed client: ``Sizing("http://127.0.0.1:8000").shaping({"from": 38, "to": 2, "rows": 18})``.

A method an operation, each with the types of its request and answer (see operations). It needs
requests and nothing of the service. It keeps its connection, and asks again where no answer came
and where the service says later: nothing it asks has effects, so asking twice does no harm. Where
the service gives keys, ``Sizing(..., key=...)`` sends one.
"""

from __future__ import annotations

import json
import re
from typing import Any

import requests
from requests.adapters import HTTPAdapter
from requests.auth import AuthBase
from urllib3.util import Retry

from .operations import Operations

__all__ = ["Key", "Problem", "Sizing", "Unreachable", "new_session"]

RETRIES = 5
# Of these, 429 and 503 may say when to ask again (Retry-After); 502 and 504 come from a proxy.
LATER = (429, 502, 503, 504)


class Key(AuthBase):
    """A key as the service wants it: ``Authorization: Bearer KEY`` (RFC 6750).

    Raises ValueError for what no key is made of, without repeating it.
    """

    def __init__(self, key: str) -> None:
        if not re.fullmatch("[A-Za-z0-9._~+/-]+=*", key):
            raise ValueError("a key is letters, digits and . _ ~ + / - alone; this one is not")
        self._key = key

    def __call__(self, request: requests.PreparedRequest) -> requests.PreparedRequest:
        request.headers["Authorization"] = f"Bearer {self._key}"
        return request


class Problem(Exception):
    """What the service said no with: a problem document (RFC 9457)."""

    def __init__(self, document: dict[str, Any]) -> None:
        self.type: str = document.get("type", "about:blank")
        self.title: str = document.get("title", "")
        self.status: int = document.get("status", 0)
        self.detail: str = document.get("detail", "")
        self.errors: list[dict[str, Any]] = document.get("errors", [])
        self.document = document
        super().__init__(f"{self.status} {self.title}: {self.detail}")


class Unreachable(Exception):
    """No answer came that the service itself would give, however often it was asked."""


def new_session(retries: int = RETRIES, key: str | None = None) -> requests.Session:
    """A session that keeps connections, sends a key where there is one, and asks again: waits
    double from half a second to 30 s, or are as long as Retry-After says."""
    again = Retry(
        total=retries,
        status_forcelist=LATER,
        allowed_methods=None,  # POST too: nothing asked here has effects
        backoff_factor=0.5,
        backoff_max=30,
        respect_retry_after_header=True,
        raise_on_status=False,
    )
    made = requests.Session()
    # As the session's own way to say who asks: a header alone would give way to a .netrc file.
    made.auth = Key(key) if key else None
    for scheme in ("http://", "https://"):
        made.mount(scheme, HTTPAdapter(max_retries=again))
    return made


class Sizing(Operations):
    """The service at a base address, as one method a question.

    Each method raises Problem where the service refuses, and Unreachable where it does not answer.
    """

    def __init__(
        self,
        base_url: str,
        session: requests.Session | None = None,
        timeout: float = 30,
        key: str | None = None,
    ) -> None:
        self.base_url = base_url.rstrip("/")
        self.session = session or new_session()
        self._auth = Key(key) if key else None
        self.timeout = timeout

    def _ask(self, operation: str, request: Any) -> Any:
        url = f"{self.base_url}/v1/{operation}"
        body = json.dumps(request, allow_nan=False).encode()
        headers = {"Content-Type": "application/json"}
        try:
            response = self.session.post(
                url, body, headers=headers, timeout=self.timeout, auth=self._auth
            )
            told = response.json()
        except (requests.RequestException, ValueError) as error:
            raise Unreachable(f"{url} gave no answer: {error}") from error
        if response.ok:
            return told
        if isinstance(told, dict):
            raise Problem(told)
        raise Unreachable(f"{url} answered {response.status_code}, and not as the service does")

    def close(self) -> None:
        """Let the connection go."""
        self.session.close()

    def __enter__(self) -> Sizing:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
