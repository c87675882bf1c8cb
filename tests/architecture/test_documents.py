"""What the documents copy from the code is still what the code says."""

import re
from pathlib import Path

from django.conf import settings

from defects.lifecycle import mermaid

ROOT = Path(settings.BASE_DIR)


def test_the_diagram_of_a_defect_is_that_of_the_act_table() -> None:
    drawn = re.findall(r"```mermaid\n(.*?)\n```", (ROOT / "DEVELOPERS.md").read_text(), re.DOTALL)
    assert drawn == [mermaid()]


def test_the_readme_begins_with_the_job_and_then_the_two_commands() -> None:
    readme = (ROOT / "README.md").read_text()
    commands = re.findall(r"```\n(python3 .*)\n```", readme)
    assert len(commands) == 2
    assert commands[0].endswith("manage.py demo")
    assert commands[1].endswith("-m pytest")
    assert readme.index("Witnessmark keeps") < readme.index(commands[0]) < readme.index("##")
