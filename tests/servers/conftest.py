"""In which order the tests on servers run: four files at a time, the longest first."""

from __future__ import annotations

import pytest


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: item.path.name != "test_window.py")
