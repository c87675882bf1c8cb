"""What gunicorn serves in a benchmark: the bare handlers, and beside them the application as it is."""

import os
from collections.abc import Iterable
from typing import Any

from django.core.wsgi import get_wsgi_application

from tests.bench import bare

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.bench.settings")
_django = get_wsgi_application()


def application(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
    """By path."""
    handler = bare.HANDLERS.get(environ["PATH_INFO"])
    answer: Iterable[bytes] = handler(start_response) if handler else _django(environ, start_response)
    return answer
