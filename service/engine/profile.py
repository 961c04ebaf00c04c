"""A surface of revolution told by its profile: how far from the axis, along the way it grows."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from math import cos, hypot, pi, sin
from typing import Literal

Bend = Literal["line", "level-first", "upright-first"]

STEPS = 256
"""Chords to a quarter of an ellipse: its length is then right to a millionth."""


@dataclass(frozen=True, slots=True)
class Segment:
    """From where the profile stands: so far out from the axis (or in, negative), and so far up.

    A quarter of an ellipse starts level, as at the top of a ball, or upright, as at its equator.
    Millimetres.
    """

    out: float
    up: float
    bend: Bend = "line"


@dataclass(frozen=True, slots=True)
class Profile:
    """Points of the profile: way along it, radius and height there, in millimetres."""

    ways: tuple[float, ...]
    radii: tuple[float, ...]
    heights: tuple[float, ...]

    @property
    def length(self) -> float:
        return self.ways[-1]

    def radius(self, way: float) -> float:
        """Distance from the axis, ``way`` millimetres along.

        >>> round(profile(0, (Segment(10, 10, "level-first"),)).radius(5 * pi), 4)
        10.0
        """
        return self._at(self.radii, way)

    def height(self, way: float) -> float:
        """Height over the start, ``way`` millimetres along."""
        return self._at(self.heights, way)

    def _at(self, values: tuple[float, ...], way: float) -> float:
        i = min(max(bisect_left(self.ways, way), 1), len(self.ways) - 1)
        before, after = self.ways[i - 1], self.ways[i]
        part = 1.0 if after == before else min(1.0, max(0.0, (way - before) / (after - before)))
        return values[i - 1] + part * (values[i] - values[i - 1])


def profile(radius: float, segments: tuple[Segment, ...]) -> Profile:
    """The profile that starts ``radius`` millimetres from the axis and follows the segments.

    Source: geometry.

    >>> ball = (Segment(10, 10, "level-first"), Segment(-10, 10, "upright-first"))
    >>> round(profile(0, ball).length / pi, 4)
    10.0
    """
    ways, radii, heights = [0.0], [radius], [0.0]
    for segment in segments:
        steps = 1 if segment.bend == "line" else STEPS
        start_radius, start_height = radii[-1], heights[-1]
        for i in range(1, steps + 1):
            out, up = _along(segment, i / steps)
            radii.append(start_radius + out)
            heights.append(start_height + up)
            ways.append(ways[-1] + hypot(radii[-1] - radii[-2], heights[-1] - heights[-2]))
    return Profile(tuple(ways), tuple(radii), tuple(heights))


def _along(segment: Segment, part: float) -> tuple[float, float]:
    if segment.bend == "line":
        return segment.out * part, segment.up * part
    angle = part * pi / 2
    if segment.bend == "level-first":
        return segment.out * sin(angle), segment.up * (1 - cos(angle))
    return segment.out * (1 - cos(angle)), segment.up * sin(angle)
