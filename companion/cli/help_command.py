"""`companion help`: the pages that say more than `--help` does."""

from __future__ import annotations

import argparse
from pathlib import Path

import companion
from companion.errors import UserError

PAGES = Path(companion.__file__).parent / "help"
ORDER = ("practise", "learn", "find", "on-the-box", "hear", "takes", "microphone", "machine", "care")


def run(given: argparse.Namespace) -> None:
    """Print a page, or the list of them."""
    if given.page is None:
        for name in ORDER:
            print(f"{name:12}{page_text(name).splitlines()[0].removeprefix('# ')}")
        print("\n`companion help PAGE` shows one.")
        return
    if given.page not in ORDER:
        raise UserError(f"there is no page “{given.page[:40]}”; the pages are {', '.join(ORDER)}")
    print(page_text(given.page), end="")


def page_text(name: str) -> str:
    """The text of a page."""
    return (PAGES / f"{name}.md").read_text(encoding="utf-8")
