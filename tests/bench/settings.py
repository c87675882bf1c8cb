"""Production settings with one more address: the plain view set that the board is compared with."""

from config.settings import *  # noqa: F403

ROOT_URLCONF = "tests.bench.urls"
