"""How large the files and functions are: ``python -m tests.architecture.measures`` prints what DEVELOPERS.md aims at."""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path
from statistics import median, quantiles

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("config", "fleet", "defects", "inspections")


def sources(*rooms: str) -> list[Path]:
    """The Python files of the rooms; generated migrations are nobody's prose."""
    return sorted(file for room in rooms for file in (ROOT / room).rglob("*.py") if "migrations" not in file.parts)


def lines(file: Path) -> int:
    return len(file.read_text().splitlines())


def functions(file: Path) -> Iterator[tuple[str, int]]:
    """Name and length in lines from the first one of the body: a long list of named arguments is not complexity."""
    for node in ast.walk(ast.parse(file.read_text())):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield f"{file.relative_to(ROOT)}:{node.name}", (node.end_lineno or node.lineno) - node.body[0].lineno + 1


def imported(file: Path) -> set[str]:
    """Absolute names of the modules that a file imports, wherever in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text())):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add(node.module or ".")
    return found


def report(name: str, sizes: list[int]) -> str:
    return (
        f"{name}: {len(sizes)}, median {median(sizes):.0f}, p90 {quantiles(sizes, n=10)[8]:.0f}, largest {max(sizes)}"
    )


if __name__ == "__main__":
    code, tests = sources(*ROOMS), sources("tests")
    sys.stdout.write(report("source files (lines)", [lines(file) for file in code if lines(file)]) + "\n")
    sys.stdout.write(report("functions (lines)", [size for file in code for _, size in functions(file)]) + "\n")
    sys.stdout.write(f"lines of code {sum(map(lines, code))}, lines of tests {sum(map(lines, tests))}\n")
