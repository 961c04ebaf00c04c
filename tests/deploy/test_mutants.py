"""Mutants that are listed as the same engine are still mutants of it."""

from __future__ import annotations

import importlib.util
import sys
from typing import Any

from tests.conftest import ROOT


def runner() -> Any:
    spec = importlib.util.spec_from_file_location("mutants", ROOT / "deploy" / "mutants.py")
    assert spec
    assert spec.loader
    made = importlib.util.module_from_spec(spec)
    sys.modules["mutants"] = made  # where its dataclasses look for their names
    spec.loader.exec_module(made)
    return made


def test_each_mutant_that_is_listed_with_why_is_still_there() -> None:
    mutants = runner()
    listed = mutants.known()
    assert listed
    there = {m: {*mutants.keys_of(m).values()} for m in {module for module, *_ in listed}}
    gone = [key for key in listed if key not in there[key[0]]]
    assert not gone, "no longer in the engine as listed in deploy/mutants_known.toml"
    assert all(why for why in listed.values())
