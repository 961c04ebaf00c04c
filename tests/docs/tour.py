"""What the README shows: its blocks, and the answers to them.

``python -m tests.docs.tour`` asks a running service anew and writes the answers into the README.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.conftest import ROOT, serving

README = ROOT / "README.md"
BASE = "http://127.0.0.1:8000"
BLOCK = re.compile(
    r"```(?P<language>sh|python)\n(?P<asked>(?:curl|size-in-bulk|from) .*?)```\n\n"
    r"```(?P<kind>\w+)\n(?P<answer>.*?)```",
    re.S,
)
SNIPPET = re.compile(r"```html\n(.*?)```", re.S)

# The tour must also run where there is no curl: this stands in for the few options it uses.
CURL = """#!{python}
import sys
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

url, headers, data, arguments = "", {{}}, None, iter(sys.argv[1:])
for argument in arguments:
    if argument == "-H":
        name, value = next(arguments).split(": ", 1)
        headers[name] = value
    elif argument in ("-d", "--data-binary"):
        text = next(arguments)
        data = Path(text[1:]).read_bytes() if text.startswith("@") else text.encode()
    elif argument != "-s":
        url = argument
try:
    answer = urlopen(Request(url, data, headers))
except HTTPError as error:
    answer = error
sys.stdout.buffer.write(answer.read())
"""
COMMANDS = {
    "curl": CURL.format(python=sys.executable),
    "python3": f'#!/bin/sh\nexec "{sys.executable}" "$@"\n',
    "size-in-bulk": f'#!/bin/sh\nexec "{sys.executable}" -m service.bulk "$@"\n',
}


def shown(asked: str, language: str, server: str) -> str:
    """What a block prints, run in a folder of its own that has the examples."""
    here = asked.replace(BASE, server)
    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "openapi").symlink_to(ROOT / "openapi")
        (folder / "bin").mkdir()
        for command, text in COMMANDS.items():
            (folder / "bin" / command).write_text(text)
            (folder / "bin" / command).chmod(0o755)
        path = f"{folder / 'bin'}:{os.environ['PATH']}"
        environment = {**os.environ, "PATH": path, "PYTHONUTF8": "1", "PYTHONPATH": str(ROOT)}
        command = ["bash", "-c"] if language == "sh" else [sys.executable, "-c"]
        return subprocess.run(
            [*command, here], cwd=folder, env=environment, stdout=subprocess.PIPE, text=True,
            check=language == "python", timeout=30, encoding="utf-8",
        ).stdout  # fmt: skip


def main() -> None:
    text = README.read_text(encoding="utf-8")
    with serving(ACCESS_LOG="off") as server:
        for block in reversed([*BLOCK.finditer(text)]):
            told = shown(block["asked"], block["language"], server).strip() + "\n"
            if block["kind"] == "json":
                told = json.dumps(json.loads(told), indent=2, ensure_ascii=False) + "\n"
            text = text[: block.start("answer")] + told + text[block.end("answer") :]
    README.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
