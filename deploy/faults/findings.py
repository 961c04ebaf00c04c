"""What a trial found, as a table for people and as JSON."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any


@dataclass(frozen=True)
class Finding:
    """A figure or words; what it should be, and whether it is, where that is judged.

    ``timed``: what else the machine does may change the verdict."""

    what: str
    found: Any
    wanted: str = ""
    holds: bool | None = None
    timed: bool = False


def milliseconds(seconds: float) -> str:
    """
    >>> milliseconds(0.01234), milliseconds(1.5)
    ('12.3 ms', '1,500 ms')
    """
    return f"{seconds * 1000:,.1f} ms" if seconds < 0.1 else f"{seconds * 1000:,.0f} ms"


def table(findings: list[Finding]) -> str:
    """
    >>> print(table([Finding("failed", 0, "none", True), Finding("asked", 12)]))
    what    found  should be  holds
    failed  0      none       yes
    asked   12
    """
    verdicts = {None: "", True: "yes", False: "NO"}
    rows = [("what", "found", "should be", "holds")]
    rows += [(f.what, str(f.found), f.wanted, verdicts[f.holds]) for f in findings]
    widths = [max(len(row[n]) for row in rows) for n in range(4)]
    lines = ("  ".join(c.ljust(w) for c, w in zip(r, widths, strict=True)).rstrip() for r in rows)
    return "\n".join(lines)


def plain(findings: list[Finding]) -> list[dict[str, Any]]:
    return [asdict(finding) for finding in findings]
