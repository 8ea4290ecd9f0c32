"""The tables that come with the program, for tests that say nothing of them."""

from __future__ import annotations

from companion.tables import read_tables

TABLES = read_tables()
