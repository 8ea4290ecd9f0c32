"""Where in the text of a TOML file a key or a value stands, so that a complaint can name the line.

`tomllib` gives places for faults of syntax only. This finds the rest in files shaped as ours are: plain keys, tables,
arrays of tables, and arrays of strings that may run over several lines.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

_HEADER = re.compile(r"\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?")
_STRING = re.compile(r'"(?:[^"\\]|\\.)*"|\'[^\']*\'|[^\s,\[\]#]+')


def line_of(text: str, path: Sequence[str | int]) -> tuple[int, int]:
    """The line and column (from 1) of what `path` names, or of the nearest thing around it that can be found.

    Parameters
    ----------
    text : the file.
    path : keys and positions from 0: `("rows", 1, "push", 4)` is the fifth value of `push` in the second `[[rows]]`.
    """
    lines = text.splitlines()
    keys = list(path)
    start, place = 0, (1, 1)
    if len(keys) >= 2 and isinstance(keys[0], str) and isinstance(keys[1], int):
        found = _header(lines, keys[0], keys[1])
        if found is None:
            return _key_line(lines, 0, keys[0]) or place
        name = str(keys[0])
        start, place, keys = found + 1, (found + 1, 1), keys[2:]
        if len(keys) >= 2 and isinstance(keys[1], str):  # a table within: [rows.names] after [[rows]]
            inside = _header(lines[start:], f"{name}.{keys[0]}", 0)
            if inside is not None:
                start, place, keys = start + inside + 1, (start + inside + 1, 1), keys[1:]
    elif len(keys) >= 2 and isinstance(keys[1], str):
        dotted = ".".join(str(k) for k in keys[:2])
        found = _header(lines, dotted, 0)
        if found is not None:
            start, place, keys = found + 1, (found + 1, 1), keys[2:]
        else:
            found = _header(lines, str(keys[0]), 0)
            if found is not None:
                start, place, keys = found + 1, (found + 1, 1), keys[1:]
    elif len(keys) == 1 and isinstance(keys[0], str):
        found = _header(lines, keys[0], 0)
        if found is not None:
            return found + 1, 1
    if not keys or not isinstance(keys[0], str):
        return place
    at = _key_line(lines, start, keys[0])
    if at is None:
        return place
    if len(keys) > 1 and isinstance(keys[1], int):
        return _item(lines, at[0] - 1, keys[1]) or at
    return at


def _header(lines: Sequence[str], name: str, nth: int) -> int | None:
    """The index of the `nth` (from 0) line that opens the table `name`."""
    seen = -1
    for index, line in enumerate(lines):
        match = _HEADER.match(line)
        if match and match.group(2) == name:
            seen += 1
            if seen == nth:
                return index
    return None


def _key_line(lines: Sequence[str], start: int, key: str) -> tuple[int, int] | None:
    """Where `key =` stands at or after `start`, before the next table."""
    pattern = re.compile(rf"""(\s*)(?:"{re.escape(key)}"|'{re.escape(key)}'|{re.escape(key)})\s*=""")
    for index in range(start, len(lines)):
        if _HEADER.match(lines[index]):
            return None
        match = pattern.match(lines[index])
        if match:
            return index + 1, len(match.group(1)) + 1
    return None


def _item(lines: Sequence[str], at: int, nth: int) -> tuple[int, int] | None:
    """Where the `nth` value (from 0) of the array that opens on line index `at` stands."""
    begin = lines[at].index("=") + 1
    seen = -1
    for index in range(at, len(lines)):
        for match in _STRING.finditer(lines[index], begin):
            if "#" in lines[index][begin : match.start()] and not _inside_string(lines[index], match.start()):
                break  # the rest of the line is a comment
            seen += 1
            if seen == nth:
                return index + 1, match.start() + 1
        begin = 0
    return None


def _inside_string(line: str, column: int) -> bool:
    """Whether every `#` before `column` stands inside a string."""
    bare = re.sub(r'"(?:[^"\\]|\\.)*"', "", line[:column])
    return "#" not in bare
