"""Which rules no test would miss: each is deleted by itself, and the tests are run against what is left.

    python -m tests.benchmarks.missed_rules MODULE[,MODULE …] TESTS… [--processes N] [--lines 20,34]

    python -m tests.benchmarks.missed_rules benchmon.analysis.compare.comparable tests/unit/analysis/compare

Deleted are: a condition (always true, always false), an operand of ``and`` and ``or``, a filter, a ``not``, the sense of a
comparison, a statement that only calls or yields, an item of a list; ``min`` and ``max``, ``any`` and ``all`` change
places; a decimal number becomes 1.3 and 0.7 times as large. The working tree is not touched: every process puts the
changed source in the module's place before anything loads it. Prints a line for each that no test missed. A line may be
equal in all it does (a guard for mypy, an annotation); that is for a reader to judge.
"""

from __future__ import annotations

import argparse
import ast
import copy
import importlib.abc
import importlib.util
import os
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).resolve().parents[2]
LONGEST_S = 180
_SENSE: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
_PLACES = {"max": "min", "min": "max", "any": "all", "all": "any"}
Change = Callable[[ast.AST], ast.AST | None]
"""From a node to what stands in its place; None = nothing does."""


class _Put(ast.NodeTransformer):
    """Puts something else in the place of the node with a number, in the order of ``ast.walk``."""

    def __init__(self, node: ast.AST, change: Change) -> None:
        self.node, self.change = node, change

    def visit(self, node: ast.AST) -> ast.AST | None:
        return self.change(node) if node is self.node else self.generic_visit(node)


def changes(node: ast.AST) -> Iterator[tuple[str, Change]]:
    """What may be deleted of a node, in words."""
    text = ast.unparse(node)[:70] if isinstance(node, ast.expr | ast.stmt | ast.comprehension) else ""
    if isinstance(node, ast.If | ast.IfExp | ast.While):
        for value in (True, False):
            yield f"always {value}: {ast.unparse(node.test)[:70]}", _with("test", lambda _, v=value: ast.Constant(v))
    elif isinstance(node, ast.BoolOp):
        for place, value in enumerate(node.values):
            yield f"without {ast.unparse(value)[:50]}: {text}", _with("values", lambda all_, p=place: _less(all_, p))
    elif isinstance(node, ast.comprehension):
        for place, value in enumerate(node.ifs):
            yield f"without the filter {ast.unparse(value)[:50]}", _with("ifs", lambda all_, p=place: _less(all_, p))
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield f"without not: {text}", lambda found: found.operand
    elif isinstance(node, ast.Compare) and len(node.ops) == 1:
        yield f"the other way: {text}", _with("ops", lambda all_: [_SENSE[type(all_[0])]()])
    elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Yield | ast.YieldFrom | ast.Call):
        yield f"without {text}", lambda _: ast.Pass()
    elif isinstance(node, ast.Tuple | ast.List | ast.Set) and len(node.elts) > 1 and not _is_target(node):
        for place, value in enumerate(node.elts):
            yield f"without {ast.unparse(value)[:40]} of {text}", _with("elts", lambda all_, p=place: _less(all_, p))
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in _PLACES:
        yield f"{_PLACES[node.func.id]} for {text}", _with("func", lambda f: ast.Name(_PLACES[f.id], ast.Load()))
    elif isinstance(node, ast.Constant) and isinstance(node.value, float) and node.value:
        for factor in (1.3, 0.7):
            yield f"{node.value * factor:g} for {text}", _with("value", lambda value, f=factor: value * f)


def _is_target(node: ast.Tuple | ast.List | ast.Set) -> bool:
    return isinstance(getattr(node, "ctx", None), ast.Store | ast.Del)


def _less(values: list[ast.AST], place: int) -> list[ast.AST]:
    return [*values[:place], *values[place + 1 :]]


def _with(field: str, change: Callable[..., object]) -> Change:
    def changed(node: ast.AST) -> ast.AST:
        setattr(node, field, change(getattr(node, field)))
        return node

    return changed


def mutants(source: str) -> Iterator[tuple[int, str, str]]:
    """Line, what is deleted, and the source without it."""
    tree = ast.parse(source)
    annotations = {id(inner) for node in ast.walk(tree) for part in _annotations(node) for inner in ast.walk(part)}
    for place, node in enumerate(ast.walk(tree)):
        if id(node) in annotations:
            continue
        for words, change in changes(node):
            changed = copy.deepcopy(tree)
            there = next(one for at, one in enumerate(ast.walk(changed)) if at == place)
            new = ast.fix_missing_locations(_Put(there, change).visit(changed))
            yield getattr(node, "lineno", 0) or node.target.lineno, words, ast.unparse(new)  # type: ignore[attr-defined]


def _annotations(node: ast.AST) -> Iterator[ast.AST]:
    for name in ("annotation", "returns"):
        part = getattr(node, name, None)
        if part is not None:
            yield part


class _InPlace(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Loads one module from other source."""

    def __init__(self, name: str, path: Path, source: str) -> None:
        self.name, self.path, self.source = name, path, source

    def find_spec(self, fullname: str, path: object = None, target: object = None) -> object:  # type: ignore[override]
        same = fullname == self.name
        return importlib.util.spec_from_loader(fullname, self, origin=str(self.path)) if same else None

    def exec_module(self, module: ModuleType) -> None:
        module.__file__ = str(self.path)
        exec(compile(self.source, str(self.path), "exec"), module.__dict__)


def is_missed(name: str, path: Path, source: str, tests: list[str]) -> bool:
    """Whether a test fails with this source in the module's place; in a process of its own."""
    child = os.fork()
    if child == 0:
        code = 1
        try:
            import signal

            import pytest

            signal.alarm(LONGEST_S)
            nothing = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nothing, 1)
            os.dup2(nothing, 2)
            sys.meta_path.insert(0, _InPlace(name, path, source))
            code = int(
                pytest.main(["-x", "-q", "-o", "addopts=--import-mode=importlib", "-p", "no:cacheprovider", *tests])
            )
        finally:
            os._exit(min(code, 250))
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status) != 0


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("modules")
    parser.add_argument("tests", nargs="+")
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--lines", default="", help="only these, of the module")
    args = parser.parse_args()
    os.nice(10)
    os.chdir(ROOT)
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    import numpy  # noqa: F401  (loaded once, for all)
    import pytest  # noqa: F401
    import scipy.stats  # noqa: F401

    for name in args.modules.split(","):
        path = ROOT / (name.replace(".", "/") + ".py")
        source = path.read_text(encoding="utf-8")
        if is_missed(name, path, source, args.tests):
            sys.exit(f"the tests fail with {name} as it is")
        wanted = {int(line) for line in args.lines.split(",") if line}
        tried = [one for one in mutants(source) if not wanted or one[0] in wanted]
        with ThreadPoolExecutor(args.processes) as pool:
            missed = list(pool.map(lambda one: is_missed(name, path, one[2], args.tests), tried))
        for (line, words, _), was in zip(tried, missed, strict=True):
            if not was:
                print(f"{path.relative_to(ROOT)}:{line}: {words}", flush=True)
        print(f"{name}: {len(tried)} deleted, {len(tried) - sum(missed)} not missed", flush=True)


if __name__ == "__main__":
    main()
