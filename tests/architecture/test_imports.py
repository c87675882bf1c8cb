"""Who may know whom."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.architecture.measures import ROOMS, ROOT, imported, sources


def test_every_import_points_downwards() -> None:
    contracts = subprocess.run(
        [Path(sys.executable).parent / "lint-imports"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert "0 broken" in contracts.stdout, contracts.stdout


@pytest.mark.parametrize("file", sources("fleet/airworthiness"), ids=lambda file: file.name)
def test_the_core_imports_the_standard_library_and_itself(file: Path) -> None:
    foreign = {name for name in imported(file) if name.split(".")[0] not in sys.stdlib_module_names}
    assert {name for name in foreign if not name.startswith("fleet.airworthiness")} == set()


def test_nothing_below_the_edges_speaks_http() -> None:
    inner = [file for file in sources(*ROOMS[1:]) if not {"api", "pages"} & set(file.parts) and file.name != "admin.py"]
    speaks = {
        file.relative_to(ROOT) for file in inner if any(name.startswith("django.http") for name in imported(file))
    }
    assert speaks <= {Path("fleet/services/access.py")}  # failed sign-ins are counted by where the request came from


def test_no_business_logic_hides_in_signals() -> None:
    signals = ("django.dispatch", "django.db.models.signals", "django.core.signals")
    assert {str(file) for file in sources(*ROOMS[1:]) if imported(file) & set(signals)} == set()


def test_no_source_imports_the_tests() -> None:
    assert {
        str(file) for file in sources(*ROOMS) if any(name.split(".")[0] == "tests" for name in imported(file))
    } == set()
