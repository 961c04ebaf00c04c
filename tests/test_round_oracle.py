"""An oracle for pieces in the round: counts from 2 pi r, slants and quarter ellipses alone.

Nothing here comes from the engine. The rules are those of the published contract (a round's count
is the circumference at its outer end over a stitch's width; whole counts by the multiple and the
rounding, ties up) and of geometry. ``ORACLE_CASES`` sets how many requests go in.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import accumulate, pairwise
from math import ceil, cos, floor, hypot, pi, sin, sqrt
from typing import Any

import pytest
from flask.testing import FlaskClient

from service import create_app

from .test_oracle import (
    CASES,
    Counts,
    Json,
    ask,
    check_mend,
    check_problem,
    counts,
    exact,
    holds,
    mm,
    near,
    no_disagreement,
    out_of_range,
    same,
)
from .test_oracle import Random as Flat

FEWEST = 3  # stitches that can be worked round (the published schema's least)
HAIR = 1e-7  # of a count: an irrational length nearer to a tie than this is left alone
QUARTER = 4096  # steps that a quarter ellipse is summed by; good to a ten-millionth


class Unsure(Exception):
    """A tie that a float cannot decide."""


@dataclass
class Refusal(Exception):
    pointer: str


def whole(size: float | Fraction, allowed: Counts, rounding: str, hair: float = HAIR) -> int | None:
    """The count for a size in stitches or rounds (contract, rule 1); none under the fewest."""
    if isinstance(size, float):
        repeats = (size - allowed.plus) / allowed.multiple
        edge = repeats + 0.5 if rounding == "nearest" else repeats
        if abs(edge - round(edge)) < hair:
            raise Unsure
    return allowed.nearest(Fraction(size), rounding)


def half_up(size: float | Fraction, hair: float = HAIR) -> int:
    edge = size + Fraction(1, 2) if isinstance(size, Fraction) else size + 0.5
    if isinstance(size, float) and abs(edge - round(edge)) < hair:
        raise Unsure
    return floor(edge)


@dataclass
class Plan:
    """What is expected, as it is worked out from the start on."""

    order: Json
    stitches: int = 0
    side: int | None = None
    chain: int | None = None
    rounds: int = 0
    sections: list[list[int]] = field(default_factory=list)
    rises: list[float | None] = field(default_factory=list)
    finished: dict[str, float | Fraction] = field(default_factory=dict)

    def __post_init__(self) -> None:
        gauge = self.order["gauge"]
        self.w = mm(gauge["width"]) / exact(gauge["stitches"])
        self.h = mm(gauge["height"]) / exact(gauge["rows"])
        self.rounding = self.order.get("rounding", "nearest")
        self.wide, self.tall = (counts(self.order.get(f"{x}_multiple")) for x in ("stitch", "row"))

    @property
    def radius(self) -> float:
        """From 2 pi r; the straight sides of an oval are no part of its round ends."""
        around = max(0, self.stitches - 2 * (self.side or 0))
        return around * float(self.w) / (2 * pi)

    def length(self, name: str) -> Fraction:
        return mm(self.order["measurements"][name])

    def count(
        self, name: str, size: float | Fraction, tall: bool = False, rounding: str | None = None
    ) -> int:
        unit = self.h if tall else self.w
        counted: float | Fraction = (
            size / unit if isinstance(size, Fraction) else size / float(unit)
        )
        found = whole(counted, self.tall if tall else self.wide, rounding or self.rounding)
        if found is None:
            raise Refusal(f"/measurements/{name}")
        return found

    def tell(self, name: str | None, finished: float | Fraction) -> None:
        if name:
            self.finished.setdefault(name, finished)

    def begin(self, start: Json) -> None:
        if start["kind"] == "chain":
            name = start["circumference"]
            self.stitches = self.chain = self.count(name, self.length(name))
            self.tell(name, self.stitches * self.w)
        if start["kind"] == "oval":
            across, along = self.length(start["width"]), self.length(start["length"])
            if along <= across:
                raise Refusal(f"/measurements/{start['length']}")
            rounds = self.count(start["width"], across / 2, tall=True)
            self.side = max(1, half_up((along - 2 * rounds * self.h) / self.w))
            self.tell(start["length"], 2 * rounds * self.h + self.side * self.w)
            self.tell(start["width"], 2 * rounds * self.h)
            self.stitches = 2 * self.side

    def add(self, section: Json) -> None:
        worked, rise = getattr(self, section["shape"])(section)
        # A ring of one or two cannot be worked round: three are made instead, and told of.
        self.sections.append([max(FEWEST, n) for n in worked])
        self.rises.append(rise)
        self.stitches = self.sections[-1][-1]
        self.rounds += len(worked)

    def even(self, section: Json) -> tuple[list[int], Fraction]:
        if "height" in section:
            name, before = section["height"], 0
        else:
            name, before = section["reaches"], self.rounds
        left = self.length(name) - before * self.h
        if before and left < self.h / 2:
            raise Refusal(f"/measurements/{name}")
        rounds = self.count(name, left, tall=True)
        self.tell(name, (before + rounds) * self.h)
        return [self.stitches] * rounds, rounds * self.h

    def straight(self, end: int, rounds: int) -> list[int]:
        step = Fraction(end - self.stitches, rounds)
        return [half_up(self.stitches + i * step) for i in range(1, rounds + 1)]

    def disc(self, section: Json) -> tuple[list[int], Fraction]:
        """Flat: a round's radius is a row more than the last's, so it has 2 pi h / w more.

        A circumference is kept to the stitch: the last round takes what that leaves.
        """
        name = section.get("to_diameter") or section["to_circumference"]
        size = self.length(name)
        at_end = size / 2 if "to_diameter" in section else float(size) / (2 * pi)
        grown = at_end - self.radius if self.radius else at_end
        chosen = section.get("increases", self.order.get("increases"))
        around = "to_circumference" in section and not chosen
        rounds = self.count(name, grown, tall=True, rounding="nearest" if around else None)
        end = self.count(name, size) if around else None
        more = chosen or 2 * pi * float(self.h / self.w)
        made = [half_up(self.stitches + i * more) for i in range(1, rounds + 1)]
        if (self.wide.multiple, self.wide.plus) != (1, 0):
            end = end or self.wide.nearest(Fraction(made[-1]), "nearest") or self.wide.fewest
            made = self.straight(end, rounds)
        elif end:
            below = [self.stitches, *made][-2]
            made = [*made[:-1], end] if end > below else self.straight(end, rounds)
        reached = 2 * (self.radius + rounds * float(self.h))
        self.tell(section.get("to_diameter"), reached)
        self.tell(section.get("to_circumference"), made[-1] * self.w)
        return made, Fraction(0)

    def cone(self, section: Json) -> tuple[list[int], float]:
        """A frustum rolls out flat: its rounds go up its slant."""
        across, around = section.get("to_diameter"), section.get("to_circumference")
        if across:
            end = self.count(across, float(self.length(across)) * pi)
        elif around:
            end = self.count(around, self.length(around))
        else:
            end = section["to_stitches"]
            if not self.wide.allows(end):
                raise Refusal(f"/template/sections/{len(self.sections)}/to_stitches")
        wider = end * float(self.w) / (2 * pi) - self.radius
        if "rounds" in section and not self.tall.allows(section["rounds"]):
            raise Refusal(f"/template/sections/{len(self.sections)}/rounds")
        rounds = section.get("rounds")
        if rounds is None:
            slant = hypot(float(self.length(section["height"])), wider)
            rounds = self.count(section["height"], slant, tall=True)
        rise = sqrt(max(0.0, float(rounds * self.h) ** 2 - wider**2))
        self.tell(across, end * float(self.w) / pi)
        self.tell(around, end * self.w)
        self.tell(section.get("height"), rise)
        return self.straight(end, rounds), rise

    def profile(self, section: Json) -> tuple[list[int], None]:
        """Round by round along quarter ellipses and lines, by the length of the way."""
        ways, radii = [0.0], [self.radius]
        for segment in section["profile"]:
            out, up = (self.signed(segment[x]) for x in ("out", "up"))
            level = segment.get("bend") == "level-first"
            steps = 1 if segment.get("bend", "line") == "line" else QUARTER
            turn = [i * pi / 2 / steps for i in range(steps + 1)]
            if steps == 1:
                far = [radii[-1], radii[-1] + out]
                pace = [hypot(out, up)] * 2
            else:
                far = [radii[-1] + out * (sin(t) if level else 1 - cos(t)) for t in turn]
                a, b = (out, up) if level else (up, out)
                pace = [hypot(a * cos(t), b * sin(t)) * pi / 2 for t in turn]
            parts = [(a + b) / 2 / steps for a, b in pairwise(pace)]
            ways += [*accumulate(parts, initial=ways[-1])][1:]
            radii += far[1:]
        if min(radii) < -float(self.h) / 2:
            raise Refusal("/template/sections/0/profile")
        rounds = whole(ways[-1] / float(self.h), self.tall, self.rounding, 1e-3)
        if rounds is None:
            raise Refusal("/template/sections/0/profile")
        made, at = [], 0
        for i in range(1, rounds + 1):
            way = ways[-1] * i / rounds
            while at < len(ways) - 2 and ways[at + 1] < way:
                at += 1
            part = (way - ways[at]) / (ways[at + 1] - ways[at])
            radius = radii[at] + min(1.0, part) * (radii[at + 1] - radii[at])
            around = 2 * pi * radius / float(self.w)
            made.append(half_up(max(0.0, around), 1e-4 * max(1.0, around)) if around > 1e-3 else 0)
        if section.get("closes"):
            while len(made) > 1 and made[-1] < FEWEST:
                made.pop()
        elif made[-1] < FEWEST:
            raise Refusal("/template/sections/0/profile")
        elif (self.wide.multiple, self.wide.plus) != (1, 0):
            # What the multiple adds to the last round or takes off it is led to evenly.
            end = self.wide.nearest(Fraction(made[-1]), "nearest") or self.wide.fewest
            step = Fraction(end - made[-1], rounds)
            made = [n + half_up(i * step) for i, n in enumerate(made, 1)]
        return made, None

    def signed(self, term: Any) -> float:
        if isinstance(term, str):
            return float(self.length(term))
        return float(self.length(term["measurement"]) * exact(term["times"]))


def half(name: str, sign: float = 0.5) -> Json:
    return {"measurement": name, "times": sign}


BALL = [
    {"out": half("diameter"), "up": half("diameter"), "bend": "level-first"},
    {"out": half("diameter", -0.5), "up": half("diameter"), "bend": "upright-first"},
]
RING: Json = {"kind": "ring"}
# The built-in templates in the round, from the contract's tables: start, and sections.
BUILT_IN: dict[str, tuple[Json, list[Json]]] = {
    "disc": (RING, [{"shape": "disc", "to_diameter": "diameter"}]),
    "oval": (
        {"kind": "oval", "length": "length", "width": "width"},
        [{"shape": "disc", "to_diameter": "width"}],
    ),
    "tube": (
        {"kind": "chain", "circumference": "circumference"},
        [{"shape": "even", "height": "height"}],
    ),
    "cone": (RING, [{"shape": "cone", "to_diameter": "base_diameter", "height": "height"}]),
    "cup": (
        RING,
        [{"shape": "disc", "to_diameter": "diameter"}, {"shape": "even", "height": "height"}],
    ),
    "cap": (
        RING,
        [
            {"shape": "disc", "to_circumference": "circumference"},
            {"shape": "even", "reaches": "depth"},
        ],
    ),
    "ball": (RING, [{"shape": "profile", "closes": True, "profile": BALL}]),
}


class Random(Flat):
    def round_order(self, inline: bool) -> Json:
        gauge = self.gauge()
        order: Json = {"gauge": gauge, "detail": "rows"} | self.some(
            0.25,
            stitch_multiple=self.multiple,
            row_multiple=self.multiple,
            rounding=lambda: self.choice(("nearest", "at-least", "at-most")),
            units=lambda: self.choice(("metric", "imperial")),
        )
        choice = self.some(
            0.25,
            rounds=lambda: self.choice(("joined", "spiral")),
            offset=lambda: self.chance(0.5),
            increases=lambda: self.randint(4, 16),
        )
        if choice:
            order["in_the_round"] = choice
        w = mm(gauge["width"]) / exact(gauge["stitches"])
        if inline:
            start, sections = self.shapes()
        else:
            name = self.choice([*BUILT_IN])
            start, sections = BUILT_IN[name]
            order["template"] = name
        order["measurements"] = {}
        for part in (start, *sections):
            for key, value in part.items():
                if key in ("circumference", "to_circumference"):
                    order["measurements"].setdefault(value, self.length(w, 200))
                elif key in ("height", "reaches", "length", "width", "to_diameter"):
                    order["measurements"].setdefault(value, self.length(w, 60))
            for segment in part.get("profile", ()):
                for term in (segment["out"], segment["up"]):
                    name = term if isinstance(term, str) else term["measurement"]
                    order["measurements"].setdefault(name, self.length(w, 60))
        if order.get("template") == "cap":
            order["measurements"]["depth"] = self.length(w, 150)
        if inline:
            order["template"] = {
                "name": "of-our-own",
                "title": "Of our own",
                "measurements": [{"name": n, "meaning": n} for n in order["measurements"]],
                "start": start,
                "sections": [{"name": f"part {i}", **s} for i, s in enumerate(sections)],
            }
        return order

    def shapes(self) -> tuple[Json, list[Json]]:
        start = self.choice((RING, {"kind": "chain", "circumference": "start"}))
        if self.chance(0.25):  # a bowl, or a vase on a foot
            bends = ("line", "level-first", "upright-first")
            segments = [{"out": "out", "up": "up", "bend": self.choice(bends)}]
            if self.chance(0.6):
                sign = self.choice((-0.9, -0.4, 0.3, 0.7))
                segments.append(
                    {"out": half("out", sign), "up": "more", "bend": self.choice(bends)}
                )
            return start, [{"shape": "profile", "profile": segments}]
        sections: list[Json] = []
        for i in range(self.randint(1, 4)):
            shape = self.choice(("cone", "cone", "disc", "even") if i or start != RING else
                                ("cone", "disc"))  # fmt: skip
            part: Json = {"shape": shape}
            if shape == "even":
                part["reaches" if i and self.chance(0.3) else "height"] = f"tall_{i}"
            elif shape == "disc":
                part[self.choice(("to_diameter", "to_circumference"))] = f"to_{i}"
                part |= self.some(0.2, increases=lambda: self.randint(3, 14))
            else:
                ends: list[Json] = [{"to_diameter": f"to_{i}"}, {"to_circumference": f"to_{i}"},
                                    {"to_stitches": self.randint(3, 90)}]  # fmt: skip
                part |= self.choice(ends)
                part |= self.choice(({"height": f"tall_{i}"}, {"rounds": self.randint(1, 40)}))
            sections.append(part)
        return start, sections


def judge(client: FlaskClient, order: Json) -> None:
    asked = order | {"increases": order.get("in_the_round", {}).get("increases")}
    template = order["template"]
    if isinstance(template, str):
        start, sections = BUILT_IN[template]
    else:
        start, sections = template["start"], template["sections"]
    status, answer = ask(client, "pieces", order)
    plan, wrong = Plan(asked), set[str]()
    if isinstance(template, str):  # limits are told before anything is counted
        wrong = out_of_range(template, order["measurements"])
    try:
        if wrong:
            raise Refusal(min(wrong))
        plan.begin(start)
        for section in sections:
            plan.add(section)
    except Refusal as refused:
        wrong.add(refused.pointer)
    except Unsure:
        return
    how = f"answered {status}: {answer.get('detail')} {answer.get('errors')}; oracle: {wrong}"
    holds("feasible", bool(wrong) == (status == 422), how)
    if wrong:
        check_problem(wrong, {}, answer)
        check_mend(client, "pieces", order, answer)
        return
    check(plan, start, answer)


def check(plan: Plan, start: Json, answer: Json) -> None:
    same("start", [answer["start"].get(k) for k in ("kind", "side_stitches")],
         [start["kind"], plan.side])  # fmt: skip
    if start["kind"] == "chain":
        same("chain", answer["start"]["chain"], plan.chain)
    found = [section["row_counts"] for section in answer["sections"]]
    same("counts", found, plan.sections)
    same("totals", answer["totals"],
         {"rows": sum(map(len, found)), "stitches": sum(map(sum, found))})  # fmt: skip
    for section, rise in zip(answer["sections"], plan.rises, strict=True):
        told, last = section["finished"], section["row_counts"][-1]
        same("rounds and stitches", [section["rows"], section["stitches_at_end"]],
             [len(section["row_counts"]), last])  # fmt: skip
        near("around", told["circumference_at_end"], last * plan.w)
        near("across", told["diameter_at_end"], Fraction(last * float(plan.w) / pi))
        near("along the fabric", told["along_fabric"], section["rows"] * plan.h)
        if rise is not None:
            near("rise", told["height"], Fraction(rise))
        before = section["stitches_at_start"]
        for run in section["schedule"]:
            before += run["times"] * run["change"]
            same("stitches after a run", run["stitches_after"], before)
    for name, finished in plan.finished.items():
        near("measurement", answer["measurements"][name]["finished"], Fraction(finished))


@pytest.fixture(scope="module")
def client() -> FlaskClient:
    return create_app().test_client()


def judged(client: FlaskClient) -> Callable[[Json], None]:
    return lambda order: judge(client, order)


def test_built_in_rounds_are_as_the_oracle_has_them(client: FlaskClient) -> None:
    rng = Random("rounds")
    no_disagreement(CASES // 8, lambda: rng.round_order(False), judged(client))


def test_rounds_of_inline_templates_are_as_the_oracle_has_them(client: FlaskClient) -> None:
    rng = Random("inline rounds")
    no_disagreement(CASES // 8, lambda: rng.round_order(True), judged(client))


@pytest.mark.parametrize("across", [20, 55, 90])
@pytest.mark.parametrize("rows", [12, 19, 24])
def test_totals_are_surfaces(client: FlaskClient, across: int, rows: int) -> None:
    """Stitches in all are the surface over a stitch's: a disc's pi r2, a ball's 4 pi r2, a cone's
    pi r s. Each round is counted at its outer end, so half a round is to be taken off a disc's or
    cone's last; each round is rounded by half a stitch at most, and the rounds by half a round.
    """
    gauge: Json = {"stitch": "single-crochet", "stitches": 16, "width": {"value": 10, "unit": "cm"},
                   "rows": rows, "height": {"value": 10, "unit": "cm"}}  # fmt: skip
    w, h = 100 / 16, 100 / rows
    size = {"value": across, "unit": "cm"}
    radius = across * 5
    slant = hypot(radius, 2 * radius)
    surfaces: dict[str, tuple[Json, float, float]] = {
        "disc": ({"diameter": size}, pi * radius**2, radius),
        "ball": ({"diameter": size}, 4 * pi * radius**2, pi * radius),
        "cone": ({"base_diameter": size, "height": size}, pi * radius * slant, slant),
    }
    for template, (measurements, surface, way) in surfaces.items():
        order = {"gauge": gauge, "template": template, "measurements": measurements}
        status, answer = ask(client, "pieces", order)
        assert status == 200
        last = 0 if template == "ball" else answer["sections"][0]["stitches_at_end"]
        made = (answer["totals"]["stitches"] - last / 2) * w * h
        widest = 2 * pi * radius
        half_a_round = (2 if template == "disc" else 1) * h / 2 * (
            widest if template == "disc" else surface / way)  # fmt: skip
        half_a_stitch = ceil(way / h) * w * h / 2
        assert abs(made - surface) <= half_a_round + half_a_stitch, (template, made, surface)
