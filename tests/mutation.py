"""Would the tests notice? `python -m tests.mutation [MODULE ...] [--most N] [--jobs N]`.

Each small change of a boundary module (a comparison turned, a number off by one, a condition
negated, a statement left out) is run against the module's own tests, each in a process of
its own; a change that no test notices has survived. At least 85 % must be noticed. A survivor that
makes no difference to anybody stands in `SAME` with its reason and is counted apart; any other
counts, so that the figure is a lower bound.
"""

import argparse
import ast
import copy
import importlib.abc
import importlib.util
import json
import os
import random
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import cv2  # noqa: F401 - loaded once, before the processes are forked
import hypothesis  # noqa: F401
import numpy as np  # noqa: F401
import PIL.Image  # noqa: F401
import pydantic  # noqa: F401
import pytest
import yaml  # noqa: F401

ROOT = Path(__file__).resolve().parents[1]
LEAST = 85.0
OWN = "tests/hardening/test_boundary_branches.py"
SMALL = "tests/hardening/test_small_changes.py"
FAR = "tests/hardening/test_far_branches.py"
DESK = "tests/hardening/test_desk_branches.py"
CLIPS = "tests/hardening/test_clip_branches.py"
TESTS: dict[str, tuple[str, ...]] = {
    "reporter/yaml_source.py": (OWN, "tests/test_yaml_source.py", "tests/session/test_threats.py",
                                "tests/session/test_text_edit.py", "tests/session/test_load.py"),
    "reporter/safe_open.py": (OWN, "tests/test_safe_open.py"),
    "reporter/publish.py": (OWN, SMALL, "tests/test_publish.py"),
    "reporter/session/load.py": ("tests/session/test_load.py", "tests/session/test_threats.py",
                                 "tests/session/test_shots.py", "tests/hardening/test_loading.py"),
    "reporter/session/frames.py": (OWN, SMALL, "tests/session/test_frames.py"),
    "reporter/session/heic.py": (OWN, SMALL),
    "reporter/session/shots.py": (OWN, "tests/session/test_shots.py"),
    "reporter/pdf/carried.py": (FAR,),
    "reporter/archive/importing.py": (FAR, "tests/archive/test_joining.py"),
    "reporter/archive/reader_apart.py": (FAR,),
    "reporter/archive/read_record.py": (FAR, "tests/archive/test_finding.py"),
    "reporter/archive/sqlite/opening.py": (FAR, "tests/archive/test_opening.py"),
    "reporter/desk/guards.py": (DESK, "tests/desk/test_guards.py"),
    "reporter/desk/server.py": (DESK, "tests/desk/test_guards.py"),
    "reporter/video/container.py": (CLIPS, "tests/video/test_video_facts.py"),
    "reporter/video/tables.py": ("tests/hardening/test_clip_tables.py",),
    "reporter/video/reading.py": (CLIPS, "tests/video/test_video_facts.py"),
}  # fmt: skip
"""The modules that are changed, and the tests that must notice; a new boundary is one more line."""
SAME: dict[tuple[str, str, str], str] = {
    ("reporter/publish.py", "comparison",
     "if time.time() - entry.stat(follow_symlinks=False).st_mtime > _OLD_SECONDS:"):
        "an age of an hour to the last bit of a clock",
    ("reporter/publish.py", "returns nothing", "return False"): "None is as untrue",
    ("reporter/session/heic.py", "left out", "super().__init__(kind)"):
        "Python itself keeps what an exception is made of",
    ("reporter/session/heic.py", "number", "self._owner = 0"):
        "asked only where there is a process, which sets it",
    ("reporter/session/heic.py", "left out", "atexit.register(_WORKER.stop)"):
        "the worker ends by itself when its input does",
    ("reporter/session/frames.py", "number", "start = opened.read(32)"):
        "no pattern needs more than the first sixteen bytes",
    ("reporter/video/container.py", "comparison", "while at < size:"):
        "at the very end nothing is read, which ends it too",
    ("reporter/desk/server.py", "comparison",
     "while time.monotonic() - self.last_asked < IDLE_SECONDS:"):
        "two hours to the last bit of a clock",
    ("reporter/desk/server.py", "truth", "self.close_connection = True"):
        "the header of the answer does the same",
    ("reporter/desk/server.py", "returns nothing", "return False"): "None is as untrue",
    ("reporter/desk/server.py", "number", "if not self.connection.recv(65_536):"):
        "how much is read at once makes no difference",
}  # fmt: skip
"""Changes that make no difference: module, kind, line, and why. They are counted apart."""
COMPARISONS = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
ARITHMETIC = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Add, ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.BitOr: ast.BitAnd, ast.BitAnd: ast.BitOr, ast.Mod: ast.Mult,
}  # fmt: skip


def is_text_only(node: ast.AST) -> bool:
    """Tell whether a part only makes or names words: a message, a docstring, a type."""
    return isinstance(node, (ast.JoinedStr, ast.arguments, ast.AnnAssign)) or (
        isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    )


def is_default_of_getattr(node: ast.AST, around: ast.AST) -> bool:
    """Tell whether a part stands in for what another system lacks: here it is never used."""
    return (
        isinstance(around, ast.Call)
        and isinstance(around.func, ast.Name)
        and around.func.id == "getattr"
        and node is around.args[-1]
    )


def places(tree: ast.AST) -> Iterator[ast.AST]:
    """Yield every part of a module that may be changed, passing over words and types."""
    for child in ast.iter_child_nodes(tree):
        if is_text_only(child) or is_default_of_getattr(child, tree):
            continue
        if isinstance(child, ast.Assign) and all(
            isinstance(target, ast.Name) and target.id == "message" for target in child.targets
        ):
            continue
        yield child
        yield from places(child)


def changes(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    """Yield each changed form of one part, and what was done."""
    if isinstance(node, ast.Compare) and type(node.ops[0]) in COMPARISONS:
        other = copy.deepcopy(node)
        other.ops[0] = COMPARISONS[type(node.ops[0])]()
        yield "comparison", other
    elif isinstance(node, ast.BinOp) and type(node.op) in ARITHMETIC:
        other = copy.deepcopy(node)
        other.op = ARITHMETIC[type(node.op)]()
        yield "arithmetic", other
    elif isinstance(node, ast.BoolOp):
        other = copy.deepcopy(node)
        other.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        yield "and/or", other
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield "not", copy.deepcopy(node.operand)
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
        yield "truth", ast.Constant(not node.value)
    elif isinstance(node, ast.Constant) and isinstance(node.value, int):
        yield "number", ast.Constant(node.value + 1)
    elif isinstance(node, (ast.If, ast.While)) and not isinstance(
        node.test, (ast.Compare, ast.BoolOp)
    ):
        other = copy.deepcopy(node)
        other.test = ast.UnaryOp(ast.Not(), other.test)
        yield "condition", other
    elif isinstance(node, (ast.Raise, ast.AugAssign)) or (
        isinstance(node, ast.Expr) and isinstance(node.value, ast.Call)
    ):
        yield "left out", ast.Pass()
    elif isinstance(node, ast.Return) and node.value is not None:
        if not (isinstance(node.value, ast.Constant) and node.value.value is None):
            yield "returns nothing", ast.Return(ast.Constant(None))
    elif isinstance(node, ast.Continue):
        yield "break", ast.Break()


class Exchange(ast.NodeTransformer):
    """Puts one part in the place of another."""

    def __init__(self, old: ast.AST, new: ast.AST) -> None:
        self._old, self._new = old, new

    def visit(self, node: ast.AST) -> ast.AST:
        """Exchange it where it stands."""
        if node is self._old:
            return ast.copy_location(self._new, node)
        return self.generic_visit(node)


def mutants(text: str) -> list[tuple[int, str, int, int]]:
    """Return line, kind, number of the part and of its change, of every changed module."""
    found = []
    for index, node in enumerate(places(ast.parse(text))):
        for which, (kind, _) in enumerate(changes(node)):
            found.append((getattr(node, "lineno", 0), kind, index, which))
    return found


def changed_text(text: str, index: int, which: int) -> str:
    """Return a whole module with one change."""
    tree = ast.parse(text)
    node = list(places(tree))[index]
    _, new = list(changes(node))[which]
    return ast.unparse(ast.fix_missing_locations(Exchange(node, new).visit(tree)))


class Changed(importlib.abc.MetaPathFinder, importlib.abc.InspectLoader):
    """Gives one module of the program with other text, in this process only."""

    def __init__(self, name: str, path: Path, text: str) -> None:
        self._name, self._path, self._text = name, path, text

    def find_spec(self, fullname, path=None, target=None):
        """Answer for the one module."""
        if fullname != self._name:
            return None
        spec = importlib.util.spec_from_loader(fullname, self, origin=str(self._path))
        spec.has_location = True
        return spec

    def get_source(self, fullname):
        """Return the changed text."""
        return self._text

    def exec_module(self, module):
        """Run the changed text."""
        module.__file__ = str(self._path)
        exec(compile(self._text, str(self._path), "exec"), module.__dict__)


SECONDS = 90


def run_tests(module: str, text: str, tests: tuple[str, ...]) -> int:
    """Begin a process in which the tests meet the changed module; return its number.

    It is forked from this one, which has the libraries loaded and nothing of the program.
    """
    number = os.fork()
    if number:
        return number
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 5))
        nowhere = os.open(os.devnull, os.O_RDWR)
        for handle in (0, 1, 2):
            os.dup2(nowhere, handle)
        os.setpgid(0, 0)
        name = module.removesuffix(".py").replace("/", ".")
        sys.meta_path.insert(0, Changed(name, ROOT / module, text))
        code = pytest.main(
            ["-q", "-x", "-p", "no:cacheprovider", "-p", "no:xdist", "--tb=no", *tests]
        )
        os._exit(0 if code == 0 else 1)
    finally:
        os._exit(1)


def judge(module: str, most: int, jobs: int, seed: int) -> tuple[int, list[str], list[str]]:
    """Return how many changes were tried, those nobody noticed, and those that change nothing."""
    text = (ROOT / module).read_text("utf-8")
    lines = text.splitlines()
    every = mutants(text)
    chosen = every if len(every) <= most else random.Random(seed).sample(every, most)
    tests = tuple(name for name in TESTS[module] if (ROOT / name).exists())
    _, status = os.waitpid(run_tests(module, ast.unparse(ast.parse(text)), tests), 0)
    if status:
        sys.exit(f"{module}: its tests fail without any change")
    running: dict[int, tuple[str, str, float]] = {}
    survivors: list[str] = []
    same: list[str] = []
    waiting = list(reversed(chosen))
    while waiting or running:
        while waiting and len(running) < jobs:
            line, kind, index, which = waiting.pop()
            told = f"{module}:{line}: {kind}: {lines[line - 1].strip()[:90]}"
            number = run_tests(module, changed_text(text, index, which), tests)
            reason = SAME.get((module, kind, lines[line - 1].strip()), "")
            running[number] = (told, reason, time.monotonic())
        number, status = os.waitpid(-1, os.WNOHANG)
        if number in running:
            told, reason, _ = running.pop(number)
            if status == 0:
                (same if reason else survivors).append(f"{told}{reason and ': ' + reason}")
        elif not number:
            for late, (_, _, begun) in running.items():
                if time.monotonic() - begun > 4 * SECONDS:
                    os.kill(late, signal.SIGKILL)
            time.sleep(0.02)
    return len(chosen), survivors, same


def main() -> None:
    """Change, run and count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("modules", nargs="*", default=list(TESTS))
    parser.add_argument("--most", type=int, default=10**6, help="changes tried in one module")
    parser.add_argument("--jobs", type=int, default=len(os.sched_getaffinity(0)))
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", type=Path, help="write the figures there")
    asked = parser.parse_args()
    told: dict[str, dict[str, object]] = {}
    tried_in_all = lost = 0
    for module in asked.modules:
        tried, survivors, same = judge(module, asked.most, asked.jobs, asked.seed)
        counted = tried - len(same)
        noticed = counted - len(survivors)
        share = 100.0 * noticed / counted
        apart = f", {len(same)} that change nothing apart" if same else ""
        print(f"{module}: {noticed} of {counted} noticed{apart}, {share:.0f} %", flush=True)
        print("".join(f"    {one}\n" for one in survivors), end="", flush=True)
        print("".join(f"    (same) {one}\n" for one in same), end="", flush=True)
        told[module] = {"tried": tried, "noticed": noticed, "survivors": survivors, "same": same}
        tried_in_all, lost = tried_in_all + counted, lost + len(survivors)
    share = 100.0 * (tried_in_all - lost) / tried_in_all
    print(f"in all {tried_in_all - lost} of {tried_in_all} noticed, {share:.1f} %")
    if asked.json:
        asked.json.write_text(json.dumps(told, indent=1), "utf-8")
    sys.exit(0 if share >= LEAST else 1)


if __name__ == "__main__":
    main()
