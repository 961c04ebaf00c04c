"""Mutants that are the same engine: no question has another answer. For deploy/mutants.py.

Each by module, source line, what was there, what stands there instead, and why it makes no
difference. One that is killed all the same is reported by the runner.
"""

Row = tuple[str, str, str, str, str]

SAME: tuple[Row, ...] = ()
