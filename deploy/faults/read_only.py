"""No disk can be written, only shared memory; nginx has its folder there, as deployed."""

from __future__ import annotations

import tempfile
from pathlib import Path

from .apart import UNPRIVILEGED, can_be_written, remount
from .findings import Finding
from .full_disk import SHARE, under_load
from .questions import ROOT
from .serving import How
from .trial import Told, capacity

PLACES = (Path("/"), Path("/tmp"), Path("/var/tmp"), ROOT, ROOT / "deploy", Path.home())


def trial(told: Told) -> list[Finding]:
    asked = told.asked()
    with tempfile.TemporaryDirectory(prefix="trial-", dir="/dev/shm") as name:
        Path(name).chmod(0o755)
        remount("ro")
        try:
            written = [str(place) for place in PLACES if can_be_written(place)]
            how = How(UNPRIVILEGED)
            with told.standing(how, how, folder=Path(name)) as stand:
                most, found = capacity(told, stand, asked)
                found += under_load(stand, asked, SHARE * most, told.seconds, "")
        finally:
            remount("rw")
    told_written = ", ".join(written) or "none"
    return [Finding("places that could be written", told_written, "none", not written), *found]
