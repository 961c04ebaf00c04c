"""What Linux tells of processes."""

from __future__ import annotations

from pathlib import Path


def children(pid: int) -> list[int]:
    """Process ids of what a process has started, as Linux tells them; none elsewhere."""
    try:
        text = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii")
    except OSError:
        return []
    return [*map(int, text.split())]


def memory_of(pid: int) -> dict[str, int]:
    """Resident and proportional set size in bytes, as Linux tells them; nothing elsewhere."""
    try:
        text = Path(f"/proc/{pid}/smaps_rollup").read_text(encoding="ascii")
    except OSError:
        return {}
    lines = dict(row.split(":", 1) for row in text.splitlines()[1:])
    kinds = {"resident": "Rss", "proportional": "Pss"}
    return {kind: int(lines[name].split()[0]) * 1024 for kind, name in kinds.items()}
