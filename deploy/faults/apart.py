"""A mount namespace of our own, so that what is mounted here is nobody else's."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_INSIDE = "TRIAL_APART"
# Of the kernel's own and of memory: not the disk that cannot be written. All of these may be.
_NO_DISK = {"proc", "sysfs", "devtmpfs", "devpts", "mqueue", "cgroup", "cgroup2"}
# As the deployment has it: owns nothing, may not become another.
UNPRIVILEGED = ("unshare", "--user", "--map-user=65532", "--map-group=65532",
                "setpriv", "--no-new-privs")  # fmt: skip


def go_apart() -> None:
    """Run this very command again in a mount namespace, unless it is in one."""
    if os.environ.get(_INSIDE) != "yes":
        mapped = [] if os.getuid() == 0 else ["--map-root-user"]
        command = ["unshare", "--mount", *mapped, sys.executable, *sys.argv]
        os.execvpe(command[0], command, {**os.environ, _INSIDE: "yes"})


@contextmanager
def small_disk(kilobytes: int) -> Iterator[Path]:
    """One of that size, while the block lasts."""
    with tempfile.TemporaryDirectory(prefix="trial-disk-") as name:
        size = f"size={kilobytes}k,mode=1777"
        subprocess.run(["mount", "-t", "tmpfs", "-o", size, "none", name], check=True)
        try:
            yield Path(name)
        finally:
            subprocess.run(["umount", name], check=True)


def fill(folder: Path) -> Path:
    """Take what room there is; the file that takes it."""
    ballast = folder / "ballast"
    with ballast.open("wb", buffering=0) as file:
        for size in (4096, 1):
            try:
                while True:
                    file.write(b"\0" * size)
            except OSError:
                continue
    return ballast


def disks() -> list[str]:
    """Where disks are mounted, shared memory and the kernel's own left out."""
    rows = [row.split() for row in Path("/proc/self/mounts").read_text().splitlines()]
    places = {row[1].replace(r"\040", " ") for row in rows if row[2] not in _NO_DISK}
    return sorted(place for place in places if not place.startswith(("/dev", "/proc", "/sys")))


def remount(how: str) -> None:
    """All disks, "ro" or "rw". Raises CalledProcessError where it is the root that cannot be."""
    for place in disks():
        command = ["mount", "-o", f"remount,{how},bind", place]
        subprocess.run(command, check=place == "/", capture_output=place != "/")


def can_be_written(folder: Path) -> bool:
    name = folder / f".trial-{os.getpid()}"
    try:
        name.write_bytes(b"")
    except OSError:
        return False
    name.unlink()
    return True
