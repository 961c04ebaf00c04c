"""The foundation: how many chains to make, and into which the first stitch goes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from .errors import Refusal, Refused
from .stitches import Stitch


@dataclass(frozen=True, slots=True)
class Turning:
    """The turning chain in force: its length, and whether it stands for a stitch."""

    chains: int
    counts: bool


@dataclass(frozen=True, slots=True)
class Foundation:
    chain: Annotated[int, "chains to make"]
    first_stitch_in_chain: Annotated[int, "chain the first stitch goes into, from the hook"]
    turning_chain_counts: Annotated[bool, "whether the chains skipped stand for a stitch"]
    turning_chain: Annotated[int, "chains to turn with at the start of each row"]
    stitches: Annotated[int, "stitches of the first row worked even"]


def turning(stitch: Stitch, chains: int | None = None, counts: bool | None = None) -> Turning:
    """The turning chain: the stitch's usual one, unless the maker's custom differs.

    chains: 1 to one more than the stitch's usual turning chain. counts: stands for a stitch.
    Raises Refused for a chain the stitch has no custom of, or a chain of one that should count.
    Source: all-in-one.

    >>> from .stitches import STITCHES
    >>> turning(STITCHES["half-double-crochet"], chains=1, counts=False)
    Turning(chains=1, counts=False)
    """
    if chains is not None and chains not in (stitch.turning_chain, stitch.other_turning_chain):
        usual = [n for n in (stitch.turning_chain, stitch.other_turning_chain) if n is not None]
        raise Refused(
            Refusal(
                "turning-chain-length",
                ("foundation", "turning_chain"),
                f"{stitch.us.full} turns with {' or '.join(map(str, usual))}"
                f" {'chain' if usual == [1] else 'chains'}, not {chains}",
                {"chains": usual},
            )
        )
    chosen = stitch.turning_chain if chains is None else chains
    if counts and chosen < 2:
        raise Refused(
            Refusal(
                "turning-chain-too-short-to-count",
                ("foundation", "turning_chain_counts"),
                "a turning chain of one is too short to stand for a stitch",
                {"turning_chain_counts": False},
            )
        )
    # A chain of one never counts, even for a stitch whose usual chain does.
    return Turning(chosen, stitch.turning_chain_counts and chosen > 1 if counts is None else counts)


def foundation(stitches: int, turn: Turning) -> Foundation:
    """Chains for a first row of ``stitches``: n + t - 1 where the turning chain counts, else n + t.

    The first stitch goes into chain t + 1 from the hook; where it is the only one, into the last
    chain. Source: all-in-one.

    >>> foundation(38, Turning(1, False)).chain
    39
    >>> foundation(11, Turning(2, True)).chain
    12
    """
    return Foundation(
        chain=stitches + turn.chains - turn.counts,
        first_stitch_in_chain=turn.chains + 1 - (turn.counts and stitches == 1),
        turning_chain_counts=turn.counts,
        turning_chain=turn.chains,
        stitches=stitches,
    )
