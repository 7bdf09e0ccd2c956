#!/usr/bin/env python
"""Groundwork's command line."""

import os
import sys


def main() -> None:
    """Run one management command; the demo keeps a database of its own."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "club.settings")
    if sys.argv[1:2] == ["demo"]:
        os.environ.setdefault("GROUNDWORK_DEMO", "1")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
