"""How many small faults in the engine the tests find: mutants are made of it, one at a time, and
the tests that reach the changed line are run until one fails.

python deploy/mutants.py --number 600 --seed 1 --json FILE.json   (from the repository root)

A fault is one of: a comparison, an operator or `and` exchanged for its neighbour, a whole number
one more or less, another number a quarter more or less, a truth negated, a `None` returned, a
statement left out. Words, annotations, docstrings, `assert` and the `strict` of `zip` (by which the
engine checks itself) are left as they are. Mutants are drawn by module in proportion to the faults
that can be made there.

First the tests are run once, to learn which of them reaches which block and how long each takes;
that is kept in --map, and learnt again for what has changed. Then each mutant has a process of its
own, in which the changed function takes the place of the one that is loaded; what is outside
functions is changed before it is loaded. What needs a running server or a browser is not run, and
the random cases are fewer. Hypothesis draws the same cases each time and does not shrink. The tests
that compare with the committed answers of the examples come last, so that a mutant that only they
find is told apart: they notice a change, and don't say what is right (the golden corpus, a test a
line, is one of them, of which those that reach the fault are asked). A test that takes ten times
as long as it did, and five seconds, has found an endless loop. A mutant that lasts past --budget
seconds is counted as a survivor. Seconds are of the processor.
"""

from __future__ import annotations

import argparse
import ast
import builtins
import copy
import functools
import gc
import hashlib
import importlib.abc
import importlib.util
import itertools
import json
import os
import random
import resource
import signal
import sys
import time
import tomllib
import traceback
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
ENGINE = ROOT / "service" / "engine"
TESTS = ("tests/engine", "tests/test_oracle.py", "tests/test_round_oracle.py",
         "tests/test_own_audits.py", "tests/renders", "tests/api", "tests/contract",
         "service/engine", "deploy/mutants_corpus.py")  # fmt: skip
CORPUS = "deploy/mutants_corpus.py"
# What notices a change and does not say what is right: answers as they were, or as they are made in
# another process, where no fault is.
PINNED = ("tests/contract/test_examples.py", "tests/contract/test_exact.py", CORPUS)
MOST_PINNED = 25
# Fewer random cases, and no answer is kept: one that is reaches nothing, and shows no fault.
SETTINGS = {"ORACLE_CASES": "500", "PROJECT_CASES": "200", "SIZING_KEPT_MEGABYTES": "0",
            "SIZING_SHARED_MEGABYTES": "0"}  # fmt: skip
# What is of kept answers, of generated documents and of other processes asks the engine nothing.
NOT_OF_IT = ("tests/api/test_answer_cache.py", "tests/api/test_direct.py",
             "tests/contract/test_documents.py", "tests/api/test_metrics.py")  # fmt: skip
SERVED = {"server", "browser", "page"}
MEMORY = 3 << 30
KILLED, SURVIVED, ENDLESS, OVER_BUDGET, BROKEN = 1, 0, 3, 4, 5


Result = dict[str, Any]

# What can be changed, and into what.

COMPARED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
RECKONED = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult, ast.Mod: ast.FloorDiv, ast.Pow: ast.Mult, ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}  # fmt: skip
DROPPED = (ast.Expr, ast.AugAssign, ast.Raise, ast.Break, ast.Continue)
FUNCTION = (ast.FunctionDef, ast.AsyncFunctionDef)


@dataclass(frozen=True)
class Mutant:
    module: str
    place: int  # the number of the node, walking the tree in order
    kind: int  # which of the changes that the node allows
    line: int
    was: str
    now: str


def is_text(node: ast.AST) -> bool:
    """Whether an expression is words alone, so that nothing is reckoned with it."""
    return isinstance(node, ast.JoinedStr) or (
        isinstance(node, ast.Constant) and isinstance(node.value, str)
    )


def changes(node: ast.AST, bound: set[str]) -> Iterator[ast.AST]:
    """What a node may be exchanged for. bound: names of the function that were bound before."""
    match node:
        case ast.Compare(ops=ops):
            for i, op in enumerate(ops):
                made = copy.deepcopy(node)
                made.ops[i] = COMPARED[type(op)]()
                yield made
        case ast.BinOp(op=op) if type(op) in RECKONED and not (
            is_text(node.left) or is_text(node.right)
        ):
            made = copy.deepcopy(node)
            made.op = RECKONED[type(op)]()
            yield made
        case ast.BoolOp(op=op):
            made = copy.deepcopy(node)
            made.op = ast.Or() if isinstance(op, ast.And) else ast.And()
            yield made
        case ast.UnaryOp(op=ast.Not() | ast.USub(), operand=operand):
            yield copy.deepcopy(operand)
        case ast.Constant(value=bool(value)):
            yield ast.Constant(not value)
        case ast.Constant(value=int(value)):
            yield from (ast.Constant(value + 1), ast.Constant(value - 1))
        case ast.Constant(value=float(value)) if value:
            yield from (ast.Constant(value * 1.25), ast.Constant(value * 0.75))
        case ast.Return(value=ast.Constant(value=None | False)):
            return  # what is false either way; the truth of it is negated
        case ast.Return(value=value) if value is not None:
            yield ast.Return(ast.Constant(None))
        case ast.Expr(value=ast.Constant()):
            return
        case ast.Assign(targets=[ast.Name(id=name)]) if name in bound:
            yield ast.Pass()
        case ast.Assign(targets=[ast.Attribute() | ast.Subscript()]):
            yield ast.Pass()
        case ast.If(orelse=[], body=body) if not isinstance(body[0], ast.Raise):
            yield ast.Pass()
        case _ if isinstance(node, DROPPED):
            yield ast.Pass()


def nodes(tree: ast.AST) -> Iterator[tuple[ast.AST, set[str]]]:
    """Every node where a change counts, in order, with the names that are bound before it."""

    def walk(node: ast.AST, bound: set[str]) -> Iterator[tuple[ast.AST, set[str]]]:
        yield node, bound
        if isinstance(node, FUNCTION):
            bound = {a.arg for a in (*node.args.args, *node.args.kwonlyargs)}
        if isinstance(node, ast.Assert | ast.Import | ast.ImportFrom | ast.JoinedStr):
            return
        if isinstance(node, ast.keyword) and node.arg == "strict":
            return
        for field, value in ast.iter_fields(node):
            if field in {"annotation", "returns", "decorator_list", "type_params"}:
                continue
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, ast.AST):
                    yield from walk(child, bound)
        if isinstance(node, ast.Assign):
            bound.update(t.id for t in node.targets if isinstance(t, ast.Name))

    return walk(tree, set())


def short(node: ast.AST) -> str:
    text = ast.unparse(ast.fix_missing_locations(node)).split("\n")
    return text[0] if len(text) == 1 else f"{text[0]} ..."


def mutants_of(path: Path) -> list[Mutant]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return [
        Mutant(path.stem, place, kind, node.lineno, short(node), short(made))  # type: ignore[attr-defined]
        for place, (node, bound) in enumerate(nodes(tree))
        for kind, made in enumerate(changes(node, bound))
    ]


def mutated(mutant: Mutant) -> tuple[ast.Module, int | None]:
    """The module with the change in it, and the first line of the outermost function that holds
    it, if one does (its default values are not in it)."""
    tree = ast.parse((ENGINE / f"{mutant.module}.py").read_text(encoding="utf-8"))
    node, bound = next(itertools.islice(nodes(tree), mutant.place, None))
    made = next(itertools.islice(changes(node, bound), mutant.kind, None))
    ast.copy_location(made, node)
    home: int | None = None

    class Put(ast.NodeTransformer):
        inside: ast.AST | None = None

        def visit(self, visited: ast.AST) -> ast.AST:
            nonlocal home
            if visited is node:
                home = getattr(self.inside, "lineno", None)
                return made
            if isinstance(visited, FUNCTION) and self.inside is None:
                visited.args = self.generic_visit(visited.args)  # type: ignore[assignment]
                self.inside = visited
                visited.body = [self.visit(statement) for statement in visited.body]
                self.inside = None
                return visited
            return self.generic_visit(visited)

    Put().visit(tree)
    return ast.fix_missing_locations(tree), home


def sample(number: int, seed: int) -> list[Mutant]:
    draw = random.Random(seed)
    by_module = {path.stem: mutants_of(path) for path in sorted(ENGINE.glob("*.py"))}
    total = sum(map(len, by_module.values()))
    drawn = []
    for found in by_module.values():
        share = number * len(found) / total
        wanted = int(share) + (draw.random() < share % 1)
        drawn += draw.sample(found, min(max(wanted, 1), len(found)))
    draw.shuffle(drawn)  # so that a run that is broken off is a sample as well
    return drawn


# Which tests reach which block.

HITS: dict[int, bool] = {}


@dataclass(frozen=True)
class Block:
    module: str
    first: int
    last: int


def instrumented(path: Path, blocks: list[Block]) -> ast.Module:
    """The module, telling which of its blocks are entered."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    inside = {node for top in ast.walk(tree) if isinstance(top, FUNCTION) for node in ast.walk(top)}
    for node in ast.walk(tree):
        if node not in inside or isinstance(node, ast.ClassDef | ast.Lambda):
            continue
        for field in ("body", "orelse", "finalbody"):
            body = getattr(node, field, None)
            if not isinstance(body, list) or not body:
                continue
            told = isinstance(node, FUNCTION) and ast.get_docstring(node, clean=False) is not None
            # No call: there are tests that count those.
            hit = ast.parse(f"__hit__[{len(blocks)}] = True").body[0]
            ast.copy_location(hit, body[0])
            ast.fix_missing_locations(hit)
            blocks.append(Block(path.stem, body[0].lineno, body[-1].end_lineno))
            body.insert(1 if told else 0, hit)
    return tree


class Loader(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Loads the modules of the engine that are given as trees."""

    def __init__(self, trees: dict[str, ast.Module]) -> None:
        self.trees = trees

    def find_spec(self, name: str, path: Any, target: Any = None) -> Any:
        stem = name.removeprefix("service.engine.")
        if stem == name or stem not in self.trees:
            return None
        return importlib.util.spec_from_file_location(name, ENGINE / f"{stem}.py", loader=self)

    def create_module(self, spec: Any) -> None:
        return None

    def exec_module(self, module: Any) -> None:
        stem = module.__name__.rsplit(".", 1)[1]
        exec(compile(self.trees[stem], module.__file__, "exec"), module.__dict__)

    def get_source(self, name: str) -> str:
        return (ENGINE / f"{name.rsplit('.', 1)[1]}.py").read_text(encoding="utf-8")


OF_TYPES = {"service.api.audit_requests", "service.api.answers"}
"""What these keep are classes, which no fault changes, and which the documents name once."""


def forget() -> None:
    """Empty every cache of the engine and of the tests."""
    for clear in CLEARED or caches():
        clear()


CLEARED: list[Callable[[], None]] = []


def caches() -> list[Callable[[], None]]:
    """What empties each: of functions, and of what is worked once for a thing (memo)."""
    CLEARED.clear()
    for found in gc.get_objects():
        if isinstance(found, functools._lru_cache_wrapper):
            home = found.__module__ or ""
            if home.split(".")[0] in {"service", "tests"} and home not in OF_TYPES:
                CLEARED.append(found.cache_clear)
        elif isinstance(found, FunctionType) and found.__code__.co_name == "remembered":
            kept = [cell.cell_contents for cell in found.__closure__ or ()]
            CLEARED.extend(one.clear for one in kept if isinstance(one, dict))
    return CLEARED


def failed(item: Any, following: Any) -> bool:
    from _pytest.runner import runtestprotocol

    return any(report.failed for report in runtestprotocol(item, log=False, nextitem=following))


def pytest_in_process(plugin: object, *arguments: str) -> int:
    import pytest
    from hypothesis import HealthCheck, Phase, settings

    settings.register_profile(
        "mutants", database=None, derandomize=True, deadline=None,
        phases=(Phase.explicit, Phase.generate), suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    settings.load_profile("mutants")
    return int(pytest.main(
        ["-p", "no:cacheprovider", "-p", "no:xdist", "-p", "no:cov",
         "-p", "no:faulthandler", "--assert=plain", *arguments],
        plugins=[plugin],
    ))  # fmt: skip


def left_in(items: list[Any]) -> list[Any]:
    return [
        item for item in items
        if not SERVED & set(getattr(item, "fixturenames", ()))
        and not item.nodeid.startswith(NOT_OF_IT)
    ]  # fmt: skip


class Mapping:
    """Runs the tests one by one and writes down what each of them enters, beside what is kept of
    the files that are as they were."""

    def __init__(self, file: Path, blocks: list[Block], before: Result, files: set[str]) -> None:
        self.file, self.blocks, self.kept, self.files = file, blocks, before["tests"], files
        self.loading = set(before["loading"])

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        items[:] = left_in(items)

    def pytest_runtestloop(self, session: Any) -> bool:
        reached: dict[int, list[int]] = defaultdict(list)
        seconds, broken, loading = [], [], sorted({*HITS, *self.loading})
        for i, item in enumerate(session.items):
            HITS.clear()
            forget()
            began = time.process_time()
            following = session.items[i + 1] if i + 1 < len(session.items) else None
            if failed(item, following):
                broken.append(item.nodeid)
            seconds.append(round(time.process_time() - began, 4))
            for hit in HITS:
                reached[hit].append(i)
        made = [
            {"name": item.nodeid, "seconds": took, "broken": item.nodeid in broken}
            for item, took in zip(session.items, seconds, strict=True)
        ]
        for block, tests in reached.items():
            for i in tests:
                made[i].setdefault("reached", []).append(block)
        kept = [one for one in self.kept if one["name"].split("::")[0] not in self.files]
        blocks = [[b.module, b.first, b.last] for b in self.blocks]
        told = {"of": fingerprints(), "blocks": blocks, "tests": [*kept, *made], "loading": loading}
        self.file.write_text(json.dumps(told))
        return True


def fingerprints() -> dict[str, str]:
    """One of every file of tests, and under "" one of all else that they depend on."""
    found = {"": hashlib.sha256()}
    for folder in ("service", "tests", "openapi/examples"):
        for path in sorted((ROOT / folder).rglob("*.*")):
            if path.suffix in {".py", ".json"}:
                told = path.stem.startswith("test_")
                own = str(path.relative_to(ROOT)) if told else ""
                found.setdefault(own, hashlib.sha256()).update(path.read_bytes())
    return {name: one.hexdigest() for name, one in found.items()}


def apart(work: Any, seconds: float) -> int:
    """What a process of its own makes of the work; ENDLESS when it takes longer."""
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        code = BROKEN
        try:
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
            quiet = os.open(os.devnull, os.O_WRONLY)
            loud = os.dup(2)
            os.dup2(quiet, 1)
            os.dup2(quiet, 2)
            code = work()
        except BaseException:
            traceback.print_exc(file=os.fdopen(loud, "w"))
        finally:
            os._exit(code)
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status) % 256
        time.sleep(0.005)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return ENDLESS


@functools.cache
def text_of(file: str) -> str:
    return (ROOT / file).read_text(encoding="utf-8")


def imports(test: str, module: str) -> bool:
    """Whether the file of a test names a module of the engine."""
    return f"service.engine.{module} " in text_of(test.split("::")[0])


class Tests:
    """The map, read."""

    def __init__(self, file: Path) -> None:
        told = json.loads(file.read_text())
        self.names: list[str] = [one["name"] for one in told["tests"]]
        self.seconds: list[float] = [one["seconds"] for one in told["tests"]]
        self.broken = {one["name"] for one in told["tests"] if one["broken"]}
        self.blocks = [Block(*block) for block in told["blocks"]]
        self.loading = set(told["loading"])
        self.reached: dict[int, list[int]] = defaultdict(list)
        for i, one in enumerate(told["tests"]):
            for block in one.get("reached", ()):
                self.reached[block].append(i)

    def is_pinned(self, test: int) -> bool:
        return self.names[test].split("::")[0] in PINNED

    def block(self, mutant: Mutant) -> int | None:
        """The innermost block of a function that holds the mutant."""
        here = [
            (b.last - b.first, i) for i, b in enumerate(self.blocks)
            if b.module == mutant.module and b.first <= mutant.line <= b.last
        ]  # fmt: skip
        return min(here)[1] if here else None

    def when_loaded(self, mutant: Mutant) -> bool:
        """Whether its block is entered when the modules are loaded, and not by a test."""
        here = self.block(mutant)
        return here in self.loading and not self.reached.get(here)

    def reaching(self, mutant: Mutant, home: int | None) -> list[int]:
        """The tests that enter the mutant's block, or for one outside functions its module: some
        quick ones of each file first, then all by how long they take, the examples last."""
        here = self.block(mutant)
        if home is None or here is None:
            found = {
                test for i, block in enumerate(self.blocks) if block.module == mutant.module
                for test in self.reached.get(i, ())
            }  # fmt: skip
            # A test may read a table, and enter nothing.
            found |= {i for i, name in enumerate(self.names) if imports(name, mutant.module)}
            found = found or set(range(len(self.names)))
        else:
            found = set(self.reached.get(here, ()))
        found -= {i for i in found if self.names[i] in self.broken}
        files: dict[str, list[int]] = defaultdict(list)
        for i in sorted(found, key=lambda i: self.seconds[i]):
            files[self.names[i].split("::")[0]].append(i)
        last = [i for file in PINNED for i in files.pop(file, [])[:MOST_PINNED]]
        pinned = {i for i in found if self.is_pinned(i)}
        early = [i for of_file in files.values() for i in of_file[:4]]
        own = files.get(f"service/engine/{mutant.module}.py", [])
        rest = sorted(found - {*early, *pinned}, key=lambda i: self.seconds[i])
        return list(
            dict.fromkeys([*own, *sorted(early, key=lambda i: self.seconds[i]), *rest, *last])
        )


def run(items: list[Any], seconds: list[float], budget: float, report: int) -> int:
    """Run the tests until one fails, and tell which. What is pinned is always run."""
    end = time.process_time() + budget
    code = SURVIVED
    signal.signal(signal.SIGPROF, lambda *_: os._exit(ENDLESS))
    following = None
    for i, item in enumerate(items):
        if item.nodeid.split("::")[0] not in PINNED and time.process_time() > end:
            code = OVER_BUDGET
            continue
        os.pwrite(report, f"{item.nodeid}\n".encode().ljust(400), 0)
        signal.setitimer(signal.ITIMER_PROF, 10 * seconds[i] + 5)
        if item is not following:  # some were passed over: what those share is still set up
            item.session._setupstate.teardown_exact(item)
        following = items[i + 1] if i + 1 < len(items) else None
        if failed(item, following):
            return KILLED
    signal.setitimer(signal.ITIMER_PROF, 0)
    return code


def put_in_place(mutant: Mutant, tree: ast.Module, home: int, loaded: list[FunctionType]) -> None:
    file = str(ENGINE / f"{mutant.module}.py")

    def codes(code: CodeType) -> Iterator[CodeType]:
        for inner in code.co_consts:
            if isinstance(inner, CodeType):
                yield inner
                yield from codes(inner)

    made = {(c.co_qualname, c.co_firstlineno): c for c in codes(compile(tree, file, "exec"))}
    lines = {n.lineno: n for n in ast.walk(tree) if isinstance(n, FUNCTION)}
    decorated = min([home, *(d.lineno for d in lines[home].decorator_list)])
    there = [f for f in loaded if f.__code__.co_filename == file
             and f.__code__.co_firstlineno == decorated]  # fmt: skip
    for found in there:
        found.__code__ = made[found.__code__.co_qualname, decorated]
    if not there:
        raise LookupError(mutant)


OUTCOME = {
    BROKEN: "not tried", KILLED: "killed", SURVIVED: "survived", ENDLESS: "endless",
    OVER_BUDGET: "over budget",
}  # fmt: skip


class Trying:
    """Tries mutants of functions in a process where all tests are loaded already."""

    def __init__(
        self, drawn: list[Mutant], tests: Tests, budget: float, file: Path, until: float
    ) -> None:
        self.drawn, self.tests, self.budget, self.file = drawn, tests, budget, file
        self.until = until

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        items[:] = left_in(items)

    def pytest_runtestloop(self, session: Any) -> bool:
        items = {item.nodeid: item for item in session.items}
        caches()
        loaded = [f for f in gc.get_objects() if isinstance(f, FunctionType)]
        gc.freeze()
        parent = os.getppid()
        for mutant in self.drawn:
            if os.getppid() != parent or time.monotonic() > self.until:
                return True  # it was stopped, or its time is over
            tree, home = mutated(mutant)
            assert home is not None
            reaching = self.tests.reaching(mutant, home)

            def work(m: Mutant = mutant, t: ast.Module = tree, h: int = home,
                     order: list[int] = reaching) -> int:  # fmt: skip
                put_in_place(m, t, h, loaded)
                forget()
                wanted = [items[self.tests.names[i]] for i in order]
                return run(wanted, [self.tests.seconds[i] for i in order], self.budget, by.fileno())

            told(mutant, work, len(reaching), self.budget, self.file, by)
        return True


class Trying1:
    """Tries one mutant outside functions, loaded with the change in it."""

    def __init__(self, order: list[str], seconds: list[float], budget: float, report: int) -> None:
        self.order, self.seconds, self.budget, self.report = order, seconds, budget, report
        self.code = KILLED

    def pytest_runtestloop(self, session: Any) -> bool:
        items = {item.nodeid: item for item in session.items}
        kept = [i for i, name in enumerate(self.order) if name in items]
        self.code = run([items[self.order[i]] for i in kept], [self.seconds[i] for i in kept],
                        self.budget, self.report)  # fmt: skip
        return True


by: Any = None  # a file that the children share; set in main


Key = tuple[str, str, str, str, int]


@functools.cache
def keys_of(module: str) -> dict[Mutant, Key]:
    """What the mutants of a module are known by when lines move: the module, the source line, the
    change, and which it is of those that read alike."""
    source, seen = text_of(f"service/engine/{module}.py").splitlines(), Counter[Any]()
    found: dict[Mutant, Key] = {}
    for mutant in mutants_of(ENGINE / f"{module}.py"):
        here = mutant.line, mutant.was, mutant.now
        told = source[mutant.line - 1].strip(), mutant.was, mutant.now
        found[mutant] = (module, *told, seen[here])
        seen[here] += 1
    return found


@functools.cache
def known() -> dict[Key, str]:
    """The mutants that are the same engine, with why (deploy/mutants_known.toml)."""
    told = tomllib.loads(text_of("deploy/mutants_known.toml"))["same"]
    return {(*key,): one["why"] for one in told for key in one["mutants"]}


def told(mutant: Mutant, work: Any, reaching: int, budget: float, file: Path, by: Any) -> None:
    os.pwrite(by.fileno(), b" " * 400, 0)
    began = time.monotonic()
    code = apart(work, 10 * budget + 60) if reaching else SURVIVED
    name = os.pread(by.fileno(), 400, 0).decode(errors="replace").strip()
    outcome = OUTCOME.get(code, "killed") if reaching else "not reached"
    key = keys_of(mutant.module)[mutant]
    same = known().get(key)
    if same and outcome in {"survived", "over budget", "not reached"}:
        outcome = "equivalent"
    found = {
        **asdict(mutant), "source": key[1], "outcome": outcome, "tests": reaching,
        "by": name if outcome in {"killed", "endless"} else None,
        "seconds": round(time.monotonic() - began, 1),
    }  # fmt: skip
    with file.open("a") as lines:
        lines.write(json.dumps(found) + "\n")
    if outcome == "killed" and same:
        print(f"killed, though held to be the same engine: {key}: {name}", flush=True)
    dead = outcome in {"killed", "endless"}
    if outcome != "equivalent" and not (dead and name.split("::")[0] not in PINNED):
        by_what = " (by what is pinned)" if dead else ""
        place = f"{mutant.module}.py:{mutant.line}"
        print(f"{outcome}{by_what}: {place}  {mutant.was}  ->  {mutant.now}", flush=True)


def outside(mutant: Mutant, tests: Tests, budget: float, file: Path) -> None:
    tree, _ = mutated(mutant)
    order = tests.reaching(mutant, None)
    names = [tests.names[i] for i in order]
    seconds = [tests.seconds[i] for i in order]
    files = list(dict.fromkeys(name.split("::")[0] for name in names))

    def work() -> int:
        sys.meta_path.insert(0, Loader({mutant.module: tree}))
        trying = Trying1(names, seconds, budget, by.fileno())
        return KILLED if pytest_in_process(trying, *files) else trying.code

    told(mutant, work, len(order), budget, file, by)


def place_of(found: Result) -> tuple[Any, ...]:
    return found["module"], found["place"], found["kind"]


def table(results: list[Result], seed: int) -> str:
    """By module: tried, the same engine, and of the rest killed by tests that say what is right."""
    rows = []
    for module in [*sorted({r["module"] for r in results}), ""]:
        here = [r for r in results if r["module"] == module or not module]
        same = sum(r["outcome"] == "equivalent" for r in here)
        dead = [r for r in here if r["outcome"] in {"killed", "endless"}]
        pinned = sum((r["by"] or "").split("::")[0] in PINNED for r in dead)
        rows.append((module or f"all, seed {seed}", len(here), same, len(dead) - pinned, pinned))
    lines = [
        f"{name:<22}{made:>7}{same:>6}{meant:>8}{meant / max(made - same, 1):>8.1%}"
        f"{pinned:>8}{(meant + pinned) / max(made - same, 1):>8.1%}"
        for name, made, same, meant, pinned in rows
    ]
    outcomes = Counter(r["outcome"] for r in results)
    _, made, same, meant, pinned = rows[-1]
    return "\n".join([
        f"{'module':<22}{'mutants':>7}{'same':>6}{'killed':>8}{'':>8}{'pinned':>8}{'both':>8}",
        *lines,
        ", ".join(f"{number} {outcome}" for outcome, number in outcomes.most_common()),
        f"of all {made}, the same engine among them: {meant / made:.1%} killed by tests of"
        f" meaning, {(meant + pinned) / made:.1%} by those and the pinned answers",
    ])  # fmt: skip


def warm_up() -> None:
    """Load what the tests use and what is not under test, once."""
    for name in ("pytest", "hypothesis", "flask", "marshmallow", "requests", "jsonschema", "pint",
                 "shapely", "shapely.geometry", "PIL.Image", "apispec",
                 "apispec.ext.marshmallow"):  # fmt: skip
        __import__(name)


def learn(file: Path) -> None:
    """Make the map; again for what has changed since."""
    told = json.loads(file.read_text()) if file.exists() else {"of": {}, "tests": [], "loading": []}
    now = fingerprints()
    files = {name for name in now if now[name] != told["of"].get(name)}
    if told["of"].get("") != now[""]:
        told["tests"] = told["loading"] = []
    elif files:
        files &= {
            str(p.relative_to(ROOT)) for t in TESTS for p in [ROOT / t, *(ROOT / t).rglob("*")]
        }
    if told["tests"] and not files:
        return
    print("Running the tests once, to learn what they reach ...", flush=True)
    blocks: list[Block] = []
    trees = {path.stem: instrumented(path, blocks) for path in sorted(ENGINE.glob("*.py"))}

    def work() -> int:
        builtins.__hit__ = HITS  # type: ignore[attr-defined]
        sys.meta_path.insert(0, Loader(trees))
        wanted = sorted(files) if told["tests"] else TESTS
        return pytest_in_process(Mapping(file, blocks, told, files), *wanted)

    code = apart(work, 3600)
    if code:
        sys.exit(f"The tests could not be run: {code}.")


def options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--number", type=int, default=600)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--budget", type=float, default=8)
    parser.add_argument("--minutes", type=float, default=600, help="then no more are begun")
    parser.add_argument("--only", help="modules, with commas between: every mutant of these")
    parser.add_argument("--again", type=Path, help="the survivors of that JSON file")
    parser.add_argument("--go-on", action="store_true", help="where the last run broke off")
    parser.add_argument("--map", type=Path, default=ROOT / "build" / "mutants-map.json")
    parser.add_argument("--json", type=Path, default=ROOT / "build" / "mutants.json")
    return parser.parse_args()


def drawn_for(asked: argparse.Namespace) -> list[Mutant]:
    """The mutants to try: those that survived a run before, all of some modules, or a sample."""
    if asked.again:
        return survivors(asked.again)
    if asked.only:
        return [m for stem in asked.only.split(",") for m in mutants_of(ENGINE / f"{stem}.py")]
    return sample(asked.number, asked.seed)


def survivors(file: Path) -> list[Mutant]:
    before = json.loads(file.read_text())["mutants"]
    old = {(r["module"], r["was"], r["now"]) for r in before
           if r["outcome"] not in {"killed", "endless", "equivalent"}
           or (r["by"] or "").split("::")[0] in PINNED}  # fmt: skip
    lines = {(r["module"], r["was"], r["now"], r["line"]) for r in before}
    return [m for path in sorted(ENGINE.glob("*.py")) for m in mutants_of(path)
            if (m.module, m.was, m.now) in old
            and (m.module, m.was, m.now, m.line) in lines]  # fmt: skip


def try_all(drawn: list[Mutant], tests: Tests, asked: argparse.Namespace, lines: Path) -> None:
    """Try those that the file has no line of yet, in their order, as long as there is time."""
    global by
    until = time.monotonic() + 60 * asked.minutes
    homes = {m: None if tests.when_loaded(m) else mutated(m)[1] for m in drawn}
    done = {place_of(json.loads(line)) for line in lines.read_text().splitlines()}
    todo = [m for m in drawn if place_of(asdict(m)) not in done]
    with asked.json.with_suffix(".test").open("wb+") as by:
        inside = [m for m in todo if homes[m] is not None]

        def trying() -> int:
            return pytest_in_process(Trying(inside, tests, asked.budget, lines, until), *TESTS)

        child = os.fork()
        if child == 0:
            os._exit(trying())
        os.waitpid(child, 0)
        done = {place_of(json.loads(line)) for line in lines.read_text().splitlines()}
        tried = [i for i, m in enumerate(drawn) if place_of(asdict(m)) in done]
        # As many of those outside functions as were drawn before the last that was tried.
        whole = len(done) == len(drawn) - sum(homes[m] is None for m in drawn)
        for mutant in drawn if whole else drawn[: max(tried, default=0)]:
            if homes[mutant] is None and place_of(asdict(mutant)) not in done:
                outside(mutant, tests, asked.budget, lines)


def main() -> None:
    asked = options()
    os.chdir(ROOT)
    os.nice(10)
    sys.path.insert(0, str(ROOT))
    sys.dont_write_bytecode = True
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    os.environ |= SETTINGS
    for file in (asked.map, asked.json):
        file.parent.mkdir(parents=True, exist_ok=True)
    warm_up()

    learn(asked.map)
    tests = Tests(asked.map)
    if tests.broken:
        print(f"Left out, for they fail on the engine as it is: {sorted(tests.broken)}")

    drawn = drawn_for(asked)
    lines = asked.json.with_suffix(".lines")
    if not asked.go_on:
        lines.unlink(missing_ok=True)
    lines.touch()
    try_all(drawn, tests, asked, lines)
    results = [json.loads(line) for line in lines.read_text().splitlines()]
    results.sort(key=lambda r: (r["module"], r["line"], r["place"], r["kind"]))
    if len(results) != len(drawn):
        print(f"{len(drawn) - len(results)} of the mutants drawn were not tried.")
    asked.json.write_text(json.dumps({"seed": asked.seed, "mutants": results}, indent=1) + "\n")
    print(table(results, asked.seed))


if __name__ == "__main__":
    main()
