"""Shared by all tests: a client in process, and a real gunicorn on loopback."""

from __future__ import annotations

import os
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import requests
from flask.testing import FlaskClient
from hypothesis import settings as hypothesis_settings

from deploy.starting import free_port, gunicorn
from service import create_app

# Tests don't time: on a busy machine a deadline fails what is right.
hypothesis_settings.register_profile("untimed", deadline=None)
hypothesis_settings.load_profile("untimed")

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="session")
def client() -> FlaskClient:
    return create_app().test_client()


@contextmanager
def serving(*options: str, output: Any = None, **settings: str) -> Iterator[str]:
    """The base address of the service as it is deployed: gunicorn with its own configuration."""
    port = free_port()
    command = gunicorn("--log-level", "warning", *options)
    environment = {**os.environ, "PORT": str(port), "WORKERS": "2", **settings}
    with subprocess.Popen(
        command, cwd=ROOT, env=environment, stdout=output, stderr=output
    ) as process:
        base = f"http://127.0.0.1:{port}"
        try:
            for _ in range(300):
                try:
                    if requests.get(f"{base}/readyz", timeout=1).ok:
                        break
                except requests.ConnectionError:
                    time.sleep(0.1)
            else:
                raise RuntimeError("gunicorn did not come up")
            yield base
        finally:
            process.terminate()


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    with serving() as base:
        yield base
