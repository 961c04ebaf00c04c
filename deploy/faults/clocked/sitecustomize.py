"""For Python under libfaketime, which takes a time of the monotonic clock to sleep until for one of
the other clock (0.9.10): sleep by a timeout instead, as Python itself did before 3.11.
"""

import select
import time


def _sleep(seconds: float) -> None:
    select.select([], [], [], seconds)


time.sleep = _sleep  # type: ignore[assignment]
