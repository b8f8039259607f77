"""The house keeps its rules: rooms, sizes, names, and the linters' word."""

import ast
import re
import subprocess
import sys
import tempfile
import tomllib
from collections import Counter
from pathlib import Path

import pytest

from pricing.basis.facts import facts
from tests.conftest import ROOT

MODULES = sorted((ROOT / "pricing").rglob("*.py"))
FLOATS = {"Floats", "float"}
# words that are their own unit: counts, shares, ratios (costing and prices deal in money and shares alone)
PURE = {
    "value",
    "share",
    "price",
    "cost",
    "margin",
    "salvage",
    "years",
    "factor",
    "quantity",
    "extra",
    "parts",
    "deposit",
    "amount",
    "target",
    "net",
    "again",
    "jobs",
    "count",
    "per_load",
    "x",
    "y",
    "a",
    "b",
    "spokes",
    "bars",
    "holes",
    "corner_factor",
    "emissivity",
    "efficiency",
    "discharge",
    "cycles",
    "grade",
    "terms",
    "number",
    "chance",
    "rate",
    "low",
    "likely",
    "high",
    "billable_hours",
    "excess_air",
    "viscosity_ratio",
    "limit",
    "carbon",
    "hydrogen",
    "oxygen",
    "confidence",
    "heat_ratio",
    "rating",
}
UNIT = re.compile(
    r"_(mm|tmu|mm2|mm3|m|m2|m3|um|kg|g|lb|degC|K|Ks|min|h|s|kW|W|kWh|kwh|kw|J|kJ|Pa|bar|y|share|shares|per_\w+|"
    r"\w*_per_\w+|degCs|um_per\w*|mol|counts|loads|hours|points)$|^utilisation$|^density$"
)


def _lines(path: Path) -> int:
    return len(path.read_text("utf-8").splitlines())


def test_modules_stay_short() -> None:
    assert not {str(p.relative_to(ROOT)): _lines(p) for p in MODULES if _lines(p) > 400}
    sizes = sorted(map(_lines, MODULES))
    assert sizes[len(sizes) // 2] < 200


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_a_module_says_what_it_is_and_offers_few_names(path: Path) -> None:
    tree = ast.parse(path.read_text("utf-8"))
    assert ast.get_docstring(tree)
    kinds = ast.FunctionDef | ast.ClassDef
    public = [node.name for node in tree.body if isinstance(node, kinds) and not node.name.startswith("_")]
    assert len(public) <= 10, public


_PRODUCT = "\n".join(
    path.read_text("utf-8")
    for room, pattern in (
        ("pricing", "*.py"),
        ("pricing", "*.js"),
        ("notebooks", "*.ipynb"),
        ("data/shop/templates", "*"),
    )
    for path in sorted((ROOT / room).rglob(pattern))
    if path.is_file()
)
_WORDS = Counter(re.findall(r"\w+", _PRODUCT))


def test_what_nothing_reaches_is_gone() -> None:
    """A public function or class whose name stands once, where it is made, is called by no command, page or paper."""
    made = [(path, node) for path in MODULES for node in ast.parse(path.read_text("utf-8")).body]
    assert not [
        f"{path.relative_to(ROOT)}: {node.name}"
        for path, node in made
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.decorator_list
        if _WORDS[node.name] == 1 and not node.name.startswith("__")
    ]


def test_every_fact_is_read() -> None:
    made = re.findall(r'f"([\w{}.]*\.[\w{}]+|[\w.]+\.\w*{[\w.]+})"', _PRODUCT)  # such as f"{name}.density"
    patterns = [re.compile(re.sub(r"\\{.*?\\}", r"[\\w.]+", re.escape(one))) for one in set(made)]
    unread = [key for key in facts() if f'"{key}"' not in _PRODUCT and not any(one.fullmatch(key) for one in patterns)]
    assert not unread


def _public_names(tree: ast.Module) -> list[str]:
    """Names that a module makes; a command of the command line is called as it is typed, and counts for nothing."""
    names = []
    for node in tree.body:
        if isinstance(node, ast.ClassDef) or (isinstance(node, ast.FunctionDef) and not _is_command(node)):
            names.append(node.name)
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names += [target.id for target in targets if isinstance(target, ast.Name)]
    return [name for name in names if not name.startswith("_")]


def _is_command(node: ast.FunctionDef) -> bool:
    return any("command(" in ast.unparse(decorator) for decorator in node.decorator_list)


def test_the_guide_names_what_is_there() -> None:
    marked = re.findall(r"`([^`\n]+)`", (ROOT / "DEVELOPERS.md").read_text("utf-8"))
    paths = {one for one in marked if re.fullmatch(r"[\w/]+\.(py|js|typ)", one)}
    there = {str(path.relative_to(ROOT)) for room in ("pricing", "tests") for path in (ROOT / room).rglob("*.*")}
    assert not [one for one in paths if not any(f"/{path}".endswith(f"/{one}") for path in there)]
    tests = [path.read_text("utf-8") for path in [*(ROOT / "tests").rglob("*.py"), ROOT / "pyproject.toml"]]
    words = _WORDS.keys() | set(re.findall(r"\w+", "\n".join(tests)))
    names = {one for one in marked if re.fullmatch(r"[A-Za-z_]\w*(\.[A-Za-z_]\w*)*", one)}
    assert not [one for one in names if not set(one.split(".")) <= words]


def test_no_public_name_stands_in_two_modules() -> None:
    homes: dict[str, list[str]] = {}
    for path in MODULES:
        for name in set(_public_names(ast.parse(path.read_text("utf-8")))):
            homes.setdefault(name, []).append(str(path.relative_to(ROOT)))
    assert not {name: paths for name, paths in homes.items() if len(paths) > 1}


@pytest.mark.parametrize("path", [p for p in MODULES if p.name == "__init__.py" and p.parent.name != "pricing"])
def test_a_room_opens_with_one_sentence_and_no_import(path: Path) -> None:
    tree = ast.parse(path.read_text("utf-8"))
    assert len(tree.body) == 1
    assert ast.get_docstring(tree)


@pytest.mark.parametrize(
    "path",
    [p for p in MODULES if p.parts[-2] in {"physics", "steps"}],
    ids=lambda p: str(p.relative_to(ROOT)),
)
def test_numbers_say_their_unit_in_their_name(path: Path) -> None:
    bare = []
    for node in ast.parse(path.read_text("utf-8")).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            for arg in [*node.args.args, *node.args.kwonlyargs]:
                kind = ast.unparse(arg.annotation) if arg.annotation else ""
                if kind in FLOATS and arg.arg not in PURE and not UNIT.search(arg.arg):
                    bare.append(f"{node.name}({arg.arg}) line {node.lineno}")
    assert not bare, f"say the unit in the name, as in mass_kg: {bare}"


def _public_functions() -> list[tuple[str, ast.FunctionDef]]:
    found = []
    for path in MODULES:
        if path.parts[-2] in {"show", "papers", "screens", "commands"}:
            continue
        found += [
            (f"{path.relative_to(ROOT)}:{node.name}", node)
            for node in ast.parse(path.read_text("utf-8")).body
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
        ]
    return found


def test_public_functions_say_what_they_take_and_raise() -> None:
    silent = []
    for name, node in _public_functions():
        doc = ast.get_docstring(node) or ""
        raises = any(isinstance(n, ast.Raise) for n in ast.walk(node))
        if raises and "Raises" not in doc and "refuse" not in doc.casefold():
            silent.append(name)
    assert not silent


def test_a_formula_of_physics_names_its_source() -> None:
    silent = []
    for path in [path for path in MODULES if path.parts[-2] == "physics"]:
        body = ast.parse(path.read_text("utf-8")).body
        for node in [*body, *(one for made in body if isinstance(made, ast.ClassDef) for one in made.body)]:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                sums = [one for one in ast.walk(node) if isinstance(one, ast.BinOp)]
                formula = sum(isinstance(one.op, ast.Mult | ast.Div | ast.Pow) for one in sums) > 1
                if formula and "Source: " not in (ast.get_docstring(node) or ""):
                    silent.append(f"{path.name}: {node.name}")
    assert not silent


def test_no_tracked_file_names_a_place_of_this_machine() -> None:
    here = {str(ROOT), str(Path.home()), tempfile.gettempdir(), str(Path(sys.prefix).parent)}
    places = re.compile("|".join(re.escape(f"{place}/") for place in here if len(Path(place).parts) > 1))
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout.split()
    guilty = [
        f"{name}: {found[0]}"
        for name in tracked
        if (ROOT / name).is_file() and (found := places.search((ROOT / name).read_text("utf-8", errors="ignore")))
    ]
    assert not guilty


def _pinned(name: str) -> dict[str, str]:
    text = (ROOT / ".locks" / name).read_text("utf-8").replace("\\\n", "")
    pin = (
        r"([a-z0-9-]+)(?:\[[a-z,]+\])?==([A-Za-z0-9.+!]+)( ; [a-z_'0-9 .<>=!()]+?)?((?: +--hash=sha256:[0-9a-f]{64})+)"
    )
    rows = [re.fullmatch(pin, line.strip(), re.IGNORECASE) for line in text.splitlines()]
    assert all(rows), [line for line, row in zip(text.splitlines(), rows, strict=True) if not row]
    return {f"{row[1]}{row[3] or ''}": row[2] for row in rows if row}


def test_versions_are_pinned_with_hashes_without_naming_where_packages_come_from() -> None:
    start, test = _pinned("start.txt"), _pinned("test.txt")
    assert len(start) > 100
    assert {"hatchling", "numpy", "pydantic", "colorama ; sys_platform == 'win32'"} <= set(start)
    names = {name.split(" ;")[0] for name in test}
    assert {name.split(" ;")[0] for name in start} <= names, "the second line of the README adds to the first"
    assert all(test.get(name, version) == version for name, version in start.items())
    wanted = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    asked = [*wanted["dependencies"], *(one for extra in wanted["optional-dependencies"].values() for one in extra)]
    words = {re.split(r"[\[><=!]", one)[0].lower().replace("_", "-") for one in asked} - {wanted["name"]}
    assert words <= names, "run .locks/make"


def test_the_top_level_is_what_the_owner_was_promised() -> None:
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout.split()
    top = {name.split("/")[0] for name in tracked if not name.startswith(".")}
    assert top <= {"README.md", "DEVELOPERS.md", "pyproject.toml", "pricing", "notebooks", "tests", "data"}


@pytest.mark.parametrize(
    "words",
    [
        ("-m", "ruff", "check", "pricing", "tests"),
        ("-m", "ruff", "format", "--check", "pricing", "tests"),
        pytest.param(("-m", "mypy"), marks=pytest.mark.slow),
        ("-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"),
    ],
    ids=["ruff", "format", "mypy", "import contracts"],
)
def test_the_linters_have_nothing_to_say(words: tuple[str, ...]) -> None:
    done = subprocess.run([sys.executable, *words], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-2000:]
