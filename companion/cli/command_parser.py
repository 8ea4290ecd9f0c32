"""A parser of one command's words, which says any mistake in one sentence.

Only the standard library is imported here, so that `--help` comes at once.
"""

from __future__ import annotations

import argparse
import difflib
import re
from typing import NoReturn

from companion.errors import UserError

# What is asked for where something without which a command can do nothing is left out.
_NEEDED = {
    "mark": "name a take: companion mark my-tunes.abc take.m4a",
    "render": "name the file to write: companion render my-tunes.abc -o tune.flac",
    "write": "name the file to write: companion write my-tunes.abc --tune 3 -o tune.musicxml",
    "record": "say export, import or rescue: companion record export mine.jsonl",
    "export": "name the file to write: companion record export mine.jsonl",
    "import": "name the file to read: companion record import mine.jsonl",
    "rescue": "name the damaged record: companion record rescue record.damaged.sqlite3",
}


class CommandParser(argparse.ArgumentParser):
    """Says a mistake in one sentence of ours."""

    def __init__(self, **given: object) -> None:
        super().__init__(**given, add_help=False)  # type: ignore[arg-type]
        self._positionals.title, self._optionals.title = "you name", "you can add"
        self.add_argument("-h", "--help", action="help", help="show this")

    def error(self, message: str) -> NoReturn:
        raise UserError(_plainly(message, self.prog))


def _plainly(message: str, prog: str) -> str:
    """What argparse complains of, as we say it."""
    more = f"`{prog} --help` lists what you can add"
    if message.startswith("the following arguments are required"):
        return _NEEDED[prog.split()[-1]]
    if found := re.match(r"argument (\S+): invalid choice: '(.*?)' \(choose from (.*)\)", message):
        known = re.findall(r"[\w-]+", found[3])
        near = difflib.get_close_matches(found[2], known, 1)
        meant = f"did you mean {near[0]}?" if near else f"`{prog} --help` lists what there is"
        return f"there is no “{found[2]}”; {meant}"
    if found := re.match(r"argument (\S+?)(?:/\S+)?: expected one argument", message):
        return f"say what {found[1]} is to be; {more}"
    if found := re.match(r"argument (\S+?)(?:/\S+)?: invalid \w+ value: '(.*)'", message):
        return f"{found[1]} takes a number, not “{found[2]}”"
    if found := re.match(r"argument (\S+?)(?:/\S+)?: not allowed with argument (\S+?)(?:/\S+)?$", message):
        return f"give either {found[2]} or {found[1]}, not both"
    if found := re.match(r"ambiguous option: (\S+) could match (.*)", message):
        return f"{found[1]} could be any of {found[2]}; write it out"
    return f"{message}; {more}"
