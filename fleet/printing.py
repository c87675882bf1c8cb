"""Print: a template and data become a tagged PDF (PDF/UA-1) that people with a screen reader can read too.

Data reach the template as JSON, so what people wrote is text there and never markup.
"""

import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import orjson

TYPESETTER = Path(__file__).with_name("typesetting.py")
LONGEST_SECONDS = 60


class NotPrinted(RuntimeError):
    """The typesetter refused the template, or did not finish in time."""


def pdf(template: Path, data: Mapping[str, Any]) -> bytes:
    """The PDF of a template, which reads its data by ``json(bytes(sys.inputs.data))``. Raises NotPrinted.

    Starts a process of its own: about a tenth of a second, and the memory is given back.
    """
    command: list[str | Path] = [sys.executable, "-I", TYPESETTER, template]
    try:
        done = subprocess.run(
            command, input=orjson.dumps(data, default=str), capture_output=True, check=True, timeout=LONGEST_SECONDS
        )
    except subprocess.CalledProcessError as error:
        raise NotPrinted(error.stderr.decode(errors="replace")) from error
    except subprocess.TimeoutExpired as error:
        raise NotPrinted(f"not finished within {LONGEST_SECONDS} seconds") from error
    return done.stdout
