"""What a book is called in the list of tunes."""

from __future__ import annotations

import re
from pathlib import Path

from companion.errors import UserError
from companion.notation.abc_text import decode
from companion.notation.book import read_bytes

_ABC = (".abc", ".txt")
_TUNE = re.compile(r"^X:", re.MULTILINE)
_TITLE = re.compile(r"^([TB]):[ \t]*(.*\S)", re.MULTILINE)


def book_title(path: Path) -> str:
    """The title that an ABC file gives itself before its first tune (`T:`, else `B:`); else the file's name."""
    plain = path.stem.replace("_", " ").strip() or path.name
    if path.suffix.lower() not in _ABC:
        return plain
    try:
        text = decode(read_bytes(path))
    except UserError:
        return plain
    first = _TUNE.search(text)
    titles = dict(reversed(_TITLE.findall(text[: first.start()] if first else "")))
    return titles.get("T") or titles.get("B") or plain
