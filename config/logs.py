"""One log format for Django, Celery and gunicorn: JSON lines on standard error, or coloured text while developing."""

from typing import Any

import structlog
from structlog.typing import Processor

SHARED: list[Processor] = [
    structlog.contextvars.merge_contextvars,
    structlog.stdlib.add_logger_name,
    structlog.stdlib.add_log_level,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
    structlog.processors.format_exc_info,
]


def logging_settings(*, json: bool, level: str) -> dict[str, Any]:
    """Configures structlog and returns Django's LOGGING setting, so that both write through the same handler."""
    structlog.configure(
        processors=[structlog.stdlib.filter_by_level, *SHARED, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
        logger_factory=structlog.stdlib.LoggerFactory(),
        cache_logger_on_first_use=True,
    )
    renderer: Processor = structlog.processors.JSONRenderer() if json else structlog.dev.ConsoleRenderer()
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {
            "structured": {
                "()": structlog.stdlib.ProcessorFormatter,
                "foreign_pre_chain": SHARED,
                "processors": [structlog.stdlib.ProcessorFormatter.remove_processors_meta, renderer],
            }
        },
        "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "structured"}},
        "root": {"handlers": ["stderr"], "level": level},
        "loggers": {
            "django": {"handlers": [], "propagate": True},
            "django.server": {"handlers": [], "propagate": True},
        },
    }
