"""Small modules, small functions, empty ``__init__`` files: held by a test, so that nothing grows unseen."""

import ast
from pathlib import Path
from statistics import median

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "benchmon"
MODULES = sorted(PACKAGE.rglob("*.py"))

MOST_LINES = 350
MOST_LINES_MEDIAN = 90
MOST_FUNCTION_LINES = 50

# Exemptions may only shrink: an entry that is no longer needed fails the test below.
TOO_LONG_MODULES: dict[str, int] = {}
"""Path below ``benchmon/`` → lines it may have."""
TOO_LONG_FUNCTIONS: dict[str, int] = {}
"""``path:function`` → lines it may have."""


def name_of(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def line_count(path: Path) -> int:
    return len(path.read_text().splitlines())


def function_lengths(path: Path) -> dict[str, int]:
    """Lines of each function without its decorators and docstring: words that explain are not what makes it long."""
    lengths = {}
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            assert node.end_lineno is not None
            length = node.end_lineno - node.lineno + 1
            if ast.get_docstring(node, clean=False) is not None:
                docstring = node.body[0]
                length -= docstring.end_lineno - docstring.lineno + 1
            lengths[f"{name_of(path)}:{node.name}"] = length
    return lengths


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_module_is_small(path):
    assert line_count(path) <= TOO_LONG_MODULES.get(name_of(path), MOST_LINES)


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_functions_are_small(path):
    too_long = {
        name: length
        for name, length in function_lengths(path).items()
        if length > TOO_LONG_FUNCTIONS.get(name, MOST_FUNCTION_LINES)
    }
    assert too_long == {}


def test_the_usual_module_is_a_page_or_two():
    lengths = [line_count(path) for path in MODULES if path.name != "__init__.py"]
    assert median(lengths) <= MOST_LINES_MEDIAN


@pytest.mark.parametrize("path", [path for path in MODULES if path.name == "__init__.py"], ids=name_of)
def test_init_is_a_docstring_and_nothing_else(path):
    """Import contracts do not see what a parent package's ``__init__`` imports."""
    tree = ast.parse(path.read_text())
    rest = tree.body[1:]
    if path.parent == PACKAGE:  # the version lives here, read by setuptools without importing anything
        rest = [node for node in rest if not (isinstance(node, ast.Assign) and node.targets[0].id == "__version__")]
    assert ast.get_docstring(tree)
    assert rest == []


def test_exemptions_shrink():
    for name, most in TOO_LONG_MODULES.items():
        assert MOST_LINES < line_count(PACKAGE / name) == most, f"lower or delete the exemption of {name}"
    lengths = {name: length for path in MODULES for name, length in function_lengths(path).items()}
    for name, most in TOO_LONG_FUNCTIONS.items():
        assert MOST_FUNCTION_LINES < lengths.get(name, 0) == most, f"lower or delete the exemption of {name}"
