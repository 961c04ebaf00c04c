"""The service as it is deployed: nginx by our configuration, unix sockets, gunicorn by ours."""

from __future__ import annotations

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))

from deploy.nginx_conf import made_whole  # noqa: E402  (from a clone)
from deploy.starting import free_ports, gunicorn  # noqa: E402
from service.api.processes import children  # noqa: E402

PATIENCE = 30


def until(true: object, what: str, patience: float = PATIENCE) -> None:
    """Wait for it. Raises TimeoutError."""
    end = time.monotonic() + patience
    while not true():  # type: ignore[operator]
        if time.monotonic() > end:
            raise TimeoutError(what)
        time.sleep(0.02)


@dataclass
class How:
    """How processes are started: a command before theirs, more environment, and where logs go."""

    before: Sequence[str] = ()
    environment: Mapping[str, str] = field(default_factory=dict)
    # A folder for logs, in place of the stand's own; or one file that takes them all.
    out: Path | None = None

    def log(self, folder: Path, name: str) -> Path:
        if self.out is None or self.out.is_dir():
            return (self.out or folder) / name
        return self.out


class Server:
    """A gunicorn on a socket."""

    def __init__(self, folder: Path, number: int, workers: int, how: How) -> None:
        self.name, self.workers_wanted, self.how = f"server {number}", workers, how
        self.socket, self.folder = folder / f"socket-{number}", folder
        self.out = how.log(folder, f"server-{number}.out")
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def pid(self) -> int:
        assert self.process is not None
        return self.process.pid

    def start(self) -> None:
        told = {"BIND": f"unix:{self.socket}", "WORKERS": str(self.workers_wanted)}
        environment = {**os.environ, **told, **self.how.environment}
        with self.out.open("ab") as out:
            self.process = subprocess.Popen(
                [*self.how.before, *gunicorn()], cwd=ROOT, env=environment, stdout=out,
                stderr=out, start_new_session=True,
            )  # fmt: skip
        try:
            until(lambda: self.answers() or self.process.poll() is not None, "a server to start")
        finally:
            if self.process.poll() is not None or not self.answers():
                sys.stderr.write(self.told())
        if self.process.poll() is not None:
            raise RuntimeError(f"{self.name} ended at its start")
        # The first answers before the last is there.
        until(lambda: len(self.workers()) == self.workers_wanted, "all workers to start")

    def answers(self) -> bool:
        return self.get("/readyz")[9:12] == b"200"

    def get(self, path: str) -> bytes:
        """What it says itself, head and body; nothing where it does not answer."""
        told = b""
        with socket.socket(socket.AF_UNIX) as one:
            one.settimeout(5)
            try:
                one.connect(str(self.socket))
                one.sendall(f"GET {path} HTTP/1.0\r\nHost: localhost\r\n\r\n".encode())
                while part := one.recv(65536):
                    told += part
            except OSError:
                return b""
        return told

    def told(self) -> str:
        """The end of what it wrote."""
        return self.out.read_text(errors="replace")[-3000:] if self.out.is_file() else ""

    def workers(self) -> list[int]:
        return children(self.pid)

    def stop(self) -> None:
        if self.process is not None:
            stop(self.process)


class Proxy:
    """nginx before servers."""

    def __init__(self, folder: Path, sockets: Sequence[Path], how: How, **settings: str) -> None:
        self.port, keep = free_ports(2)
        self.folder = folder
        told = {
            "LISTEN": f"127.0.0.1:{self.port}", "KEEP": str(keep), "STATE": str(folder / "state"),
            "UPSTREAMS": ",".join(f"unix:{one}" for one in sockets),
            "ACCESS_LOG": str(how.log(folder, "access.log")), **settings,
        }  # fmt: skip
        made = made_whole({**os.environ, **told})
        # Of root's workers, who else may write into the folder; for any other user it says nothing.
        user = "user root;\n" if os.getuid() == 0 else ""
        (folder / "state").mkdir(exist_ok=True)
        # Its workers are left no more of the environment than is named.
        kept = "".join(f"env {name};\n" for name in how.environment)
        (folder / "nginx.conf").write_text(user + kept + made)
        program = shutil.which("nginx", path=f"{os.environ['PATH']}:/usr/sbin")
        if program is None:
            raise RuntimeError("nginx is not installed: apt-get install nginx")
        self.errors = how.log(folder, "nginx.err")
        with self.errors.open("ab") as errors:
            self.process = subprocess.Popen(
                [*how.before, program, "-p", str(folder), "-c", str(folder / "nginx.conf"),
                 "-g", "daemon off;"],
                cwd=ROOT, env={**os.environ, **how.environment}, stdout=errors, stderr=errors,
                start_new_session=True,
            )  # fmt: skip
        try:
            until(lambda: self.answers() or self.process.poll() is not None, "nginx to start")
        finally:
            if self.process.poll() is not None and self.errors.is_file():
                sys.stderr.write(self.errors.read_text(errors="replace")[-3000:])
        if self.process.poll() is not None:
            raise RuntimeError("nginx ended at its start")

    def answers(self) -> bool:
        try:
            socket.create_connection(("127.0.0.1", self.port), 5).close()
        except OSError:
            return False
        return True


def stop(process: subprocess.Popen[bytes]) -> None:
    """End a process that was started here, and its children if it does not end them."""
    if process.poll() is None:
        process.terminate()
        try:
            process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()


@dataclass
class Stand:
    """nginx, and the servers behind it; their files are in the folder."""

    folder: Path
    servers: list[Server]
    proxy: Proxy

    @property
    def port(self) -> int:
        return self.proxy.port

    def workers(self) -> list[int]:
        return [pid for server in self.servers for pid in server.workers()]

    def all_there(self) -> bool:
        return all(len(one.workers()) == one.workers_wanted for one in self.servers)

    def counts(self) -> Iterator[Path]:
        """The files in which the workers count, of those alive and of those that are gone."""
        for server in self.servers:
            yield from Path("/dev/shm").glob(f"sizing-metrics-*-{server.pid}/*.db")

    def kept_bytes(self) -> float:
        """Bytes that the workers keep of answers, all together."""
        told = b"".join(server.get("/metrics") for server in self.servers)
        return sum(map(float, re.findall(rb"^sizing_kept_bytes\{.*\} (\S+)$", told, re.M)))

    def connections(self) -> int:
        """How many there are with the servers now, at work or waiting."""
        paths = {str(server.socket) for server in self.servers}
        rows = (row.split() for row in Path("/proc/net/unix").read_text().splitlines())
        # State 1 is the socket that listens.
        return sum(len(row) == 8 and row[7] in paths and row[5] != "01" for row in rows)

    def processes(self) -> dict[int, str]:
        """What runs now, by what it is."""
        named = {}
        for server in self.servers:
            named[server.pid] = f"{server.name}, first process"
            named.update(dict.fromkeys(server.workers(), f"{server.name}, worker"))
        named[self.proxy.process.pid] = "nginx, first process"
        for pid in children(self.proxy.process.pid):
            with suppress(OSError):  # the cache's loader ends soon
                title = Path(f"/proc/{pid}/cmdline").read_text().strip("\0 ")
                named[pid] = title.replace("nginx: ", "nginx, ").removesuffix(" process")
        return named


@contextmanager
def standing(
    servers: int = 1,
    workers: int = 2,
    server_how: How | None = None,
    proxy_how: How | None = None,
    folder: Path | None = None,
    **settings: str,
) -> Iterator[Stand]:
    """One that is started here and ended with the block; settings are those of nginx_conf.py."""
    with ExitStack() as stack:
        # The path of a unix socket is short by nature.
        made = folder or Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="trial-")))
        behind = [Server(made, n + 1, workers, server_how or How()) for n in range(servers)]
        for server in behind:
            stack.callback(server.stop)
            server.start()
        front = Proxy(made, [one.socket for one in behind], proxy_how or How(), **settings)
        stack.callback(stop, front.process)
        yield Stand(made, behind, front)
