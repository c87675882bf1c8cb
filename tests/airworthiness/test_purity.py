"""The core stands alone: standard library only, no clock, no environment, no files."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import fleet.airworthiness

CORE = Path(fleet.airworthiness.__file__).parent
MODULES = sorted(CORE.rglob("*.py"))
CLOCKS_AND_DOORS = {"now", "utcnow", "today", "open", "environ", "getenv", "print", "input", "random"}


def name(path: Path) -> str:
    return path.relative_to(CORE).as_posix()


@pytest.mark.parametrize("path", MODULES, ids=name)
def test_imports_nothing_but_the_core_and_the_standard_library(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text())):
        match node:
            case ast.Import(names=names):
                imported = [alias.name for alias in names]
            case ast.ImportFrom(module=str(module), level=0):
                imported = [module]
            case ast.ImportFrom():
                pytest.fail("relative import")
            case _:
                continue
        for module in imported:
            is_core = module.startswith("fleet.airworthiness")
            assert is_core or module.split(".")[0] in sys.stdlib_module_names, module


@pytest.mark.parametrize("path", MODULES, ids=name)
def test_reads_no_clock_and_opens_no_door(path: Path) -> None:
    called = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Call):
            called.add(node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", ""))
    assert not called & CLOCKS_AND_DOORS


def test_loads_without_django() -> None:
    script = (
        "import sys; from fleet.airworthiness import evaluate, limits, quantities, registration, risk;"
        " sys.exit(any(name.split('.')[0] in ('django', 'rest_framework', 'celery') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", script], cwd=CORE.parents[1], check=False).returncode == 0
