"""How many small faults the tests see: each is planted alone in a copy of the tree, nearby tests and doctests run on it.

    python -m tests.benchmarks.planted_faults                  sixty faults, twelve a room
    python -m tests.benchmarks.planted_faults 5 --seed 2       five a room, others
    python -m tests.benchmarks.planted_faults --room prices    one room
    python -m tests.benchmarks.planted_faults --at pricing/steps/coat.py:41   every fault of one line

Faults: another constant, another sign, another comparison, arguments or choices swapped, a term left out. A fault that
no nearby test sees is printed with its line; some change nothing that anybody could see (a tolerance, an error's text).
"""

import argparse
import ast
import copy
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
NEAR = {
    "steps": ("tests/steps", "tests/costing", "tests/prices"),
    "costing": (
        "tests/costing",
        "tests/prices",
        "tests/published/test_costing.py",
        "tests/published/test_decisions.py",
    ),
    "prices": ("tests/prices", "tests/published/test_costing.py", "tests/published/test_decisions.py"),
    "physics": ("tests/physics", "tests/published"),
    "ledger": ("tests/ledger", "tests/published/test_ledger.py"),
}
SIGNS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}
COMPARED = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
}
EITHER_WAY = {
    "max",
    "min",
    "most",
    "least",
    "maximum",
    "minimum",
    "hypot",
    "multiply",
    "add",
}  # swapped arguments change nothing


def changed(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    """Yield each small change of one node: what it is, and the node to put in its place."""
    other = copy.deepcopy(node)
    match node, other:
        case ast.Constant(value=float() | int() as value), ast.Constant() if not isinstance(value, bool):
            other.value = value + 1 if isinstance(value, int) else value * 1.25 + 0.01
            yield f"{value} is {other.value}", other
        case ast.BinOp(op=op), ast.BinOp() if type(op) in SIGNS and not _of_text(node):
            other.op = SIGNS[type(op)]()
            yield f"{type(op).__name__} is {type(other.op).__name__}", other
            if isinstance(op, ast.Add):
                yield "a term is left out", node.left
        case ast.Compare(ops=[op]), ast.Compare() if type(op) in COMPARED:
            other.ops = [COMPARED[type(op)]()]
            yield f"{type(op).__name__} is {type(other.ops[0]).__name__}", other
        case ast.IfExp(), ast.IfExp():
            other.body, other.orelse = node.orelse, node.body
            yield "choices are swapped", other
        case ast.Call(func=func, args=[first, second]), ast.Call() if ast.dump(first) != ast.dump(second):
            if ast.unparse(func).rpartition(".")[2] in EITHER_WAY:
                return
            other.args = [second, first]
            yield "arguments are swapped", other


def _of_text(node: ast.BinOp) -> bool:
    kinds = ast.JoinedStr | ast.List | ast.Tuple | ast.Dict
    return any(isinstance(side, kinds) or _is_text(side) for side in (node.left, node.right))


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, str)


def faults(path: Path) -> list[tuple[int, str, str]]:
    """Work out every fault that can be planted in a module: line, what it is, and the module's text with it."""
    tree = ast.parse(path.read_text("utf-8"))
    found = []
    for function in ast.walk(tree):
        if not isinstance(function, ast.FunctionDef) or "repr" in function.name:
            continue
        for node in (inner for part in function.body for inner in ast.walk(part) if not isinstance(part, ast.Raise)):
            for what, other in changed(node):
                planted = ast.fix_missing_locations(copy.deepcopy(tree, {id(node): other}))
                found.append((getattr(node, "lineno", 0), what, ast.unparse(planted)))
    return found


def seen(copy_of: Path, module: str, text: str, tests: tuple[str, ...]) -> bool:
    """Say whether a nearby test fails with this text in the module's place."""
    path = copy_of / module
    kept = path.read_text("utf-8")
    path.write_text(text, "utf-8")
    try:
        words = [sys.executable, "-m", "pytest", "-q", "-x", "-n", "2", "-m", "not slow", *tests]
        env = {**os.environ, "PYTHONPATH": str(copy_of), "PYTHONDONTWRITEBYTECODE": "1"}
        return subprocess.run(words, cwd=copy_of, env=env, capture_output=True, check=False).returncode != 0
    finally:
        path.write_text(kept, "utf-8")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("count", nargs="?", type=int, default=12)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--room", choices=NEAR)
    parser.add_argument("--at", help="PATH:LINE")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        copy_of = Path(folder) / "tree"
        listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
        names = listed.stdout.split("\n")
        for name in filter(None, names):
            (copy_of / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, copy_of / name)
        for room in [asked.room] if asked.room else NEAR:
            if asked.at:
                path, _, line = asked.at.partition(":")
                room = Path(path).parts[1]  # noqa: PLW2901
                chosen = [(path, *fault) for fault in faults(ROOT / path) if fault[0] == int(line)]
            else:
                modules = sorted((ROOT / "pricing" / room).glob("*.py"))
                all_faults = [(str(p.relative_to(ROOT)), *fault) for p in modules for fault in faults(p)]
                chosen = random.Random(f"{asked.seed} {room}").sample(all_faults, min(asked.count, len(all_faults)))
            missed = 0
            for path, line, what, text in chosen:
                if not seen(copy_of, path, text, (*NEAR[room], path)):
                    missed += 1
                    print(f"  not seen: {path}:{line}: {what}", flush=True)
            print(f"{room}: {missed} of {len(chosen)} not seen", flush=True)
            if asked.at:
                break


if __name__ == "__main__":
    main()
