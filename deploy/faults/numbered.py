"""Questions never asked before, each made from a number."""

from __future__ import annotations

# What is sent before the measurement that the answer tells again, between it and another, and
# after; the other's least, and how much more it may be (0: there is no other).
Template = tuple[bytes, bytes, bytes, int, int]
FIRST, WHOLES = 11, 13
_PARTS = 900_000
# They share no divisor with what they count through, so that no value comes twice before all have.
_STEP, _OTHER = 7_230_001, 10_007


def filled(template: Template, told: bytes, number: int) -> bytes:
    """The question with both its measurements put in; the second goes by the number."""
    before, between, after, low, span = template
    if not span:
        return before + told + between
    whole, part = divmod(1000 * low + number * _OTHER % (1000 * span), 1000)
    return before + told + between + b"%d.%03d" % (whole, part) + after


def fresh(template: Template, number: int) -> tuple[bytes, bytes]:
    """A question that no other number gives, and what its answer must hold.

    Six decimals of which the last is not 0, so that the measurement is written as it was read.
    Numbers that follow on are far apart, so that counts differ.

    >>> fresh((b"<", b" ", b">", 20, 40), 9)
    (b'<18.300011 30.063>', b'"value": 18.300011')
    """
    whole, part = divmod(number * _STEP % (WHOLES * _PARTS), _PARTS)
    text = b"%d.%06d" % (FIRST + whole, part // 9 * 10 + part % 9 + 1)
    return filled(template, text, number), b'"value": ' + text
