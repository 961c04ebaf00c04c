"""What to look out for when buying yarn."""

from __future__ import annotations

from .cautions import Caution
from .errors import Path
from .yarn import Estimate


def yarn_cautions(yarn: Estimate, of: str = "", own: bool = False) -> tuple[Caution, ...]:
    """When the balls reckoned may not be enough, when several are bought, and when another yarn is.

    ``of`` names the colour, where there are several; own: its yarn is told by itself.
    Source: common-practice.

    >>> from .foundation import Turning
    >>> from .gauge import square
    >>> from .yarn import estimate
    >>> from .yarnorder import YarnOrder
    >>> from .yarnwork import Part, Work
    >>> work = Work((Part("fabric", stitches={"single-crochet": 2508}),), Turning(1, False))
    >>> known = YarnOrder(weight_category=4)
    >>> [c.code for c in yarn_cautions(estimate(work, square(16, 19), known))]
    ['yarn-may-run-out', 'one-dye-lot']
    """
    at: Path = ("yarns", of) if own else ("yarn",)
    raised, least, most = [], yarn.balls, yarn.balls_at_most
    in_colour = f" of {of}" if of else ""
    if least is not None and most is not None and most > least:
        raised.append(
            Caution(
                "yarn-may-run-out",
                f"The estimate{in_colour} may be up to {yarn.interval_percent:.0f} % short:"
                f" {least} {'ball' if least == 1 else 'balls'} should do, {most} if the work takes"
                " the most of it. Weigh or unravel a swatch for a closer figure.",
                at,
                "common-practice",
            )
        )
    if most is not None and most > 1:
        raised.append(
            Caution(
                "one-dye-lot",
                "Buy all balls of a colour from one dye lot, and one more than you think: the same"
                " colour dyed on another day may not match. Many shops take back whole balls.",
                at,
                "common-practice",
            )
        )
    if yarn.substitute:
        off = yarn.substitute.heavier_percent
        differs = (
            ""
            if off is None or abs(off) < 1
            else f" It is {abs(off):.0f} % {'heavier' if off > 0 else 'lighter'} to a length."
        )
        raised.append(
            Caution(
                "swatch-the-substitute",
                "Another yarn takes the same length only if it works to the same gauge: make a"
                f" swatch of it first.{differs}",
                (*at, "substitute"),
                "common-practice",
            )
        )
    return tuple(raised)
