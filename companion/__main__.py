"""`python -m companion` is the same as `companion`."""

from companion.cli.main import entry

entry()
