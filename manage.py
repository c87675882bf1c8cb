#!/usr/bin/env python
"""Django's command line for Witnessmark."""

import os
import sys

from django.core.management import execute_from_command_line

from config.embedded.environment import prepare

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    if sys.argv[1:2] == ["demo"]:
        prepare(os.environ)
    execute_from_command_line(sys.argv)
