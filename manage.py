#!/usr/bin/env python
"""Seabed Squares from the command line: `python manage.py shed` starts the record."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "records.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError as missing:
        raise SystemExit(
            "Django is not installed in this environment. "
            "Run: python -m pip install -r requirements.txt"
        ) from missing
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
