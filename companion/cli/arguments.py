"""The command line: every command, grouped by what one wants to do.

Only the standard library is imported here, so that `--help` comes at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence

from companion import __version__
from companion.cli import options
from companion.cli.command_parser import CommandParser
from companion.errors import UserError

Adder = Callable[[argparse.ArgumentParser], None]

GROUPS: tuple[tuple[str, tuple[tuple[str, str, Adder], ...]], ...] = (
    (
        "practise",
        (
            ("practise", "practise in the window (`companion` alone does this too)", options.practise),
            ("progress", "see what you have learnt, what goes wrong and what is due", options.progress),
            ("record", "copy your practice record out, or read one in", options.record),
        ),
    ),
    (
        "find",
        (
            ("tunes", "list the tunes of a book, or find one", options.tunes),
            ("choose", "list the tunes by how hard they are on your box, and why", options.choose),
        ),
    ),
    (
        "the tune on the box",
        (
            ("buttons", "show the button, push or pull, and finger of every note", options.buttons),
            ("bellows", "show how far the bellows are open, and where to take air", options.bellows),
            ("ornaments", "show which notes and fingers each roll or cut has", options.pieces),
            ("basses", "show which bass and chord go with the right hand", options.pieces),
            ("pieces", "list the bars, phrases, parts and joins you learn the tune in", options.pieces),
            ("lesson", "write down how the tune is learnt, for a tutor to change", options.lesson),
            ("boxes", "list the boxes, or draw one", options.boxes),
        ),
    ),
    (
        "hear and take along",
        (
            ("play", "hear a tune, or a piece of it", options.play),
            ("render", "write a tune, or a piece of it, as a sound or MIDI file", options.render),
            ("write", "write tunes in another notation: ABC, MusicXML, MIDI", options.write),
        ),
    ),
    ("takes", (("mark", "mark a take, note by note, and say what to work on", options.mark),)),
    (
        "this machine",
        (
            ("check", "see what this machine has, and where your record is", options.json),
            ("ports", "list instruments, sound devices and microphones, or test an instrument", options.ports),
            ("microphone", "list microphones, or learn how your box sounds", options.microphone),
            ("delay", "measure how late your notes come in, and allow for it", options.delay),
            ("help", "read more: companion help lists the pages", options.help),
        ),
    ),
)
COMMANDS = tuple(command for _, commands in GROUPS for command in commands)


class _Top(CommandParser):
    """The whole command line, whose help groups the commands by what one wants to do."""

    def settled(self, arguments: Sequence[str]) -> argparse.Namespace:
        """What is asked for, every word of it understood."""
        # The window opens with no command named, so what comes in place of one is the window's.
        if not arguments or (arguments[0].startswith("-") and arguments[0] not in ("-h", "--help", "--version")):
            arguments = ["practise", *arguments]
        given, extra = self.parse_known_args(arguments)
        if extra:
            more = f"`companion {given.command} --help` lists what you can add"
            raise UserError(f"“{' '.join(extra)}” means nothing here; {more}")
        return given

    def format_help(self) -> str:
        lines = [
            "companion COMMAND [BOOK] …",
            "",
            "Learn dance tunes on the two-row button accordion.",
            "`companion` alone opens the window. Where you name no BOOK, you get the demo tunes.",
        ]
        for title, commands in GROUPS:
            lines += ["", f"{title}:", *(f"  {name:11}{help_}" for name, help_, _ in commands)]
        lines += [
            "",
            "`companion COMMAND --help` shows what each can do, `companion --version` which version you have.",
        ]
        return "\n".join(lines) + "\n"


def parser() -> _Top:
    """The whole command line."""
    top = _Top(prog="companion")
    top.add_argument("--version", action="version", version=f"companion {__version__}")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND", parser_class=CommandParser)
    for name, help_, add in COMMANDS:
        command = commands.add_parser(name, description=help_[0].upper() + help_[1:] + ".")
        add(command)
        command.usage = f"companion {name} {_named(command)}"
    return top


def _named(command: argparse.ArgumentParser) -> str:
    """What a command's usage names: what stands without a dash, what cannot be left out, and that there is more."""
    named = []
    for action in command._actions:
        if not action.option_strings:
            named.append(f"[{action.metavar}]" if action.nargs == "?" else str(action.metavar))
        elif action.required:
            named.append(f"{action.option_strings[0]} {action.metavar}")
    return " ".join([*named, "…"])
