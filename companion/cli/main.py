"""The `companion` command: reads the arguments, calls the command's own file, turns mistakes into one sentence.

Only the standard library is imported here, so that `--help` comes at once.
"""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn

from companion import __version__
from companion.errors import UserError

Adder = Callable[[argparse.ArgumentParser], None]


class _Parser(argparse.ArgumentParser):
    """Says a mistake in one sentence."""

    def error(self, message: str) -> NoReturn:
        raise UserError(f"{message}; `{self.prog} --help` lists what it takes")


_NAMES_A_TUNE = "the tune's number (X:; 3.2 is the second of several tunes 3), or words of its title"


def _voice(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--voice", metavar="NAME", help="the melody, where there are several voices, parts or tracks")


def _book(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("book", metavar="BOOK", help="a file of tunes (ABC, MusicXML or MIDI)")
    _voice(parser)


def _tune(parser: argparse.ArgumentParser) -> None:
    _book(parser)
    parser.add_argument(
        "--tune",
        metavar="N",
        help=f"{_NAMES_A_TUNE}; the first one by default",
    )


def _box(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--box", default="bc-21", metavar="BOX", help="B/C, C#/D …, a layout by name, or a file (default: bc-21)"
    )


def _json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON for other programs")


def _piece(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--piece", metavar="NAME", help="a piece as `companion pieces` names it (default: the round)")


def _tempo(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--tempo", metavar="60%|BPM", help="a share of the target, or beats a minute")


def _sounding(parser: argparse.ArgumentParser) -> None:
    _tune(parser)
    _box(parser)
    _piece(parser)
    _tempo(parser)
    parser.add_argument(
        "--rounds", default="1", metavar="K", help="how many rounds (default: 1); play takes endless too"
    )
    parser.add_argument("--count-in", default="0", metavar="BARS", help="bars of count-in, or short (default: 0)")
    how = parser.add_argument_group("how it sounds")
    how.add_argument("--click", default="beats", metavar="WHERE", help="on the beats, off-beats, or only the count-in")
    how.add_argument("--no-click", action="store_true", help="leave the click out (but for the count-in)")
    how.add_argument("--answer", action="store_true", help="leave as much room after each round, to answer in")
    how.add_argument("--plain", action="store_true", help="leave the ornaments out")
    how.add_argument("--basses", action="store_true", help="let the left hand play too, with the buttons of the box")
    how.add_argument(
        "--lift",
        default="0",
        metavar="0..100",
        help="how much the dance's lift is brought out, per cent; a take keeps the lift that you played",
    )
    how.add_argument("--concert", default="440", metavar="HZ", help="concert pitch, 430 to 450 (default: 440)")
    how.add_argument("--shift", type=int, default=0, metavar="N", help="so many semitones up, for a box in another key")
    how.add_argument(
        "--level",
        action="append",
        default=[],
        metavar="V=PER CENT",
        help="of melody, click, basses or take; again for more",
    )
    how.add_argument("--mute", action="append", default=[], metavar="V", help="leave melody, click, basses or take out")
    take = parser.add_argument_group(
        "a take of yours, beside the tune",
        "at any tempo, early and late as you were: the tune to the left, you to the right; with --answer after it. "
        "Of a take of several rounds, each round of --rounds has the next, and after the last the first again.",
    )
    take.add_argument(
        "--take", metavar="TAKE.mid", help="what you played, the tune or a piece of it; or a session's folder"
    )
    take.add_argument("--no-clock", action="store_true", help="you played with no beat: each note beside its own")
    own = parser.add_argument_group("a recording of your own", "in place of the melody, at any tempo, its pitch kept")
    own.add_argument("--recording", metavar="FILE", help="a WAV, FLAC, OGG or MP3 file of the tune")
    own.add_argument("--first-beat", metavar="S", help="when its first full bar begins, in seconds")
    own.add_argument("--bpm", metavar="BPM", help="its own beats a minute")
    own.add_argument("--taps", metavar="S,S,…", help="instead: moments of beats from its first full bar on")


def _device(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--device", metavar="NAME", help="the sound device (`companion ports` lists them)")


def _midi_out(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--midi-out", metavar="PORT", help="let this synthesiser play, the sound device be silent")
    parser.add_argument("--midi-delay", metavar="MS", help="by how much the synthesiser is late (0 to 1000)")


def _play(parser: argparse.ArgumentParser) -> None:
    _sounding(parser)
    _device(parser)
    _midi_out(parser)


def _delay(parser: argparse.ArgumentParser) -> None:
    _device(parser)
    parser.add_argument("--port", metavar="NAME", help="the MIDI input to listen to (`companion ports` lists them)")
    parser.add_argument("--midi-out", metavar="PORT", help="then a synthesiser's delay, beside the sound device's")
    parser.add_argument("--forget", action="store_true", help="forget what was measured for this device")


def _sought(wanted: argparse._ActionsContainer) -> None:
    wanted.add_argument("--title", metavar="WORDS", help="with these words in a title; accents and articles aside")
    wanted.add_argument("--rhythm", metavar="KIND", help="of this kind: reel, jig, hornpipe ...")
    wanted.add_argument("--key", metavar="KEY", help="in this key: D, Em, Amix ...")


def _tunes(parser: argparse.ArgumentParser) -> None:
    _book(parser)
    _json(parser)
    parser.add_argument("--notes", action="store_true", help="with --json: every note, and the order of playing")
    parser.add_argument(
        "--problems", action="store_true", help="each problem with its line and column (of one tune: always)"
    )
    wanted = parser.add_argument_group("only the tunes", "that answer to all of these, the nearest first")
    wanted.add_argument("--tune", metavar="N", help=_NAMES_A_TUNE)
    _sought(wanted)
    first = wanted.add_mutually_exclusive_group()
    first.add_argument("--first", metavar="NOTES", help='that begin like this, typed as in ABC: "d f a"')
    first.add_argument(
        "--played",
        nargs="?",
        const="",
        metavar="TAKE.mid",
        help="that begin like this take; without a file, like what you play on your instrument now",
    )


def _buttons(parser: argparse.ArgumentParser) -> None:
    _tune(parser)
    _box(parser)
    parser.add_argument("--explain", action="store_true", help="say why, for each reach and each choice of row")
    parser.add_argument("--transpose", metavar="N|best", help="in another key: so many semitones up, or best")
    _json(parser)


def _bellows(parser: argparse.ArgumentParser) -> None:
    _tune(parser)
    _box(parser)
    parser.add_argument("--loudness", default="mf", metavar="MARK", help="pp to ff: how much air a note takes (mf)")
    _json(parser)


def _boxes(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("box", nargs="?", metavar="BOX", help="draw this one; all are listed without it")
    parser.add_argument("-o", "--out", metavar="OUT", help="write the drawing to a .png or .svg file")


def _choose(parser: argparse.ArgumentParser) -> None:
    _book(parser)
    _box(parser)
    wanted = parser.add_argument_group("only the tunes", "that answer to all of these")
    wanted.add_argument("--level", metavar="LEVEL", help="of this level: first, easy, middling, hard, hardest")
    _sought(wanted)
    _json(parser)


def _lesson(parser: argparse.ArgumentParser) -> None:
    _tune(parser)
    _box(parser)
    where = parser.add_mutually_exclusive_group()
    where.add_argument("-o", "--output", metavar="FILE", help="write it to this file")
    where.add_argument("--write", action="store_true", help="write it beside the book, where it is used")


def _pieces(parser: argparse.ArgumentParser) -> None:
    _tune(parser)
    _box(parser)
    _json(parser)


def _render(parser: argparse.ArgumentParser) -> None:
    _sounding(parser)
    parser.add_argument("-o", "--out", required=True, metavar="OUT", help="a .wav, .flac, .ogg, .mp3 or .mid file")
    many = parser.add_argument_group(
        "a whole lesson", "then OUT is a folder, and each piece at each tempo is a file in it"
    )
    many.add_argument("--pieces", metavar="LIST", help="names, or all, bars, phrases, halves, parts, joins; by commas")
    many.add_argument("--tempi", metavar="LIST", help="tempi as for --tempo, by commas: 50%%,75%%,100%%")
    many.add_argument("--format", default="flac", metavar="KIND", help="wav, flac, ogg, mp3 or mid (default: flac)")


def _write(parser: argparse.ArgumentParser) -> None:
    _book(parser)
    parser.add_argument(
        "--tune",
        metavar="N",
        help=f"{_NAMES_A_TUNE}; a whole book goes into ABC only",
    )
    parser.add_argument("-o", "--out", required=True, metavar="OUT", help="a .abc, .musicxml or .mid file")


def _mark(parser: argparse.ArgumentParser) -> None:
    _book(parser)
    parser.add_argument("take", metavar="TAKE.mid", help="what was played, a Standard MIDI file; or a folder of them")
    parser.add_argument("-o", "--out", metavar="FOLDER", help="of a folder of takes: write a page for each here")
    parser.add_argument(
        "--tune",
        metavar="N",
        help=f"{_NAMES_A_TUNE}; the first one by default",
    )
    _box(parser)
    _piece(parser)
    parser.add_argument("--tempo", metavar="BPM", help="the tempo that was asked; found in the take by default")
    parser.add_argument("--no-clock", action="store_true", help="mark the order of the notes only")
    _json(parser)


def _practise(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("book", nargs="?", metavar="BOOK", help="a file of tunes (default: the demo tunes)")
    _voice(parser)
    parser.add_argument("--tune", metavar="N", help=f"{_NAMES_A_TUNE}; else choose it there")
    parser.add_argument("--box", metavar="BOX", help="a layout by name, or a file (default: as chosen in the window)")
    parser.add_argument("--port", metavar="NAME", help="the MIDI input to listen to (`companion ports` lists them)")
    parser.add_argument("--pedal", metavar="NAME", help="the MIDI input of a pedal that is not on the instrument")
    _device(parser)
    parser.add_argument("--no-standin", action="store_true", help="without the stand-in player")
    parser.add_argument(
        "--then",
        action="append",
        default=[],
        metavar="TUNE",
        help="a tune that follows in a set: its number or words of its title, a file, or FILE:NUMBER; again for more",
    )
    parser.add_argument("--minutes", type=float, metavar="M", help="how long the sitting is to be (default: 20)")
    parser.add_argument("--no-due", action="store_true", help="without the tunes that are about to be forgotten")
    parser.add_argument("--seconds", type=float, metavar="S", help="end by itself after so many seconds")
    parser.add_argument("--keep", metavar="FOLDER", help="leave a picture, the sound, the take and the marks here")
    parser.add_argument("--size", metavar="WxH", help="the size of the window (default: 1280x720)")
    parser.add_argument("--theme", metavar="NAME", help="the colours of the window")


def _progress(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tune", nargs="?", metavar="TUNE", help="words of a tune's title; all tunes without it")
    parser.add_argument("--box", metavar="BOX", help="on this box (default: the one practised on last)")
    parser.add_argument("-o", "--out", metavar="OUT", help="plot it: a .png or .svg file")
    parser.add_argument("--theme", default="light", metavar="NAME", help="the colours of the plot (default: light)")
    _json(parser)


def _record(parser: argparse.ArgumentParser) -> None:
    ways = parser.add_subparsers(dest="way", required=True, metavar="WAY", parser_class=_Parser)
    for name, help_ in (
        ("export", "write the whole record as JSON lines"),
        ("import", "read such a file into the record; what is there already is not doubled"),
        ("rescue", "read what can be read of a record that was set aside, or of a backup, into the record"),
    ):
        way = ways.add_parser(name, help=help_, description=help_[0].upper() + help_[1:] + ".")
        kind = "a record (.sqlite3)" if name == "rescue" else "a file of JSON lines (.jsonl)"
        way.add_argument("file", metavar="FILE", help=kind)


def _ports(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--test", nargs="?", const="", metavar="NAME", help="listen to an input for ten seconds and say what comes in"
    )
    _json(parser)


COMMANDS: tuple[tuple[str, str, Adder], ...] = (
    ("practise", "practise a tune: the window, the sound, the marks, the record", _practise),
    ("progress", "say what was practised, what goes wrong where, and what is due; as tables or plots", _progress),
    ("play", "hear a tune, or a piece of it", _play),
    ("tunes", "list the tunes of a book, and what is wrong in it", _tunes),
    ("buttons", "say for every note which button, push or pull, which finger", _buttons),
    ("bellows", "say how far the bellows are open, where air runs out, and what saves it", _bellows),
    ("basses", "say which bass and chord go with the right hand", _pieces),
    ("ornaments", "say which notes and fingers an ornament really has on a box", _pieces),
    ("boxes", "list the boxes, or draw one", _boxes),
    ("choose", "rank a book by how hard each tune is on a box, and say why", _choose),
    ("pieces", "cut a tune into bars, phrases, halves, parts and joins", _pieces),
    ("lesson", "say how a tune is learnt, as a file that a tutor can change", _lesson),
    ("render", "write a tune, or a piece of it, as sound or MIDI", _render),
    ("write", "write tunes in another notation: ABC, MusicXML, MIDI", _write),
    ("mark", "mark a take against a tune", _mark),
    ("record", "export the record of your practice, or read an exported one into it", _record),
    ("delay", "measure how late your notes come in, together with you", _delay),
    ("ports", "list the MIDI ports and the sound devices", _ports),
    ("check", "say what this machine has: MIDI, sound, screen, fonts, record", _json),
)


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    top = _Parser(prog="companion", description="A practice companion for the two-row button accordion.")
    top.add_argument("--version", action="version", version=f"companion {__version__}")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND", parser_class=_Parser)
    for name, help_, add in COMMANDS:
        add(commands.add_parser(name, help=help_, description=help_[0].upper() + help_[1:] + "."))
    return top


def _name(given: argparse.Namespace) -> str:
    """The name of the tune that is meant, in the book that is meant."""
    from companion.cli.named import name_in
    from companion.pages.books_at_hand import demo_book

    return name_in(Path(given.book) if given.book else demo_book(), given.tune, given.voice)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command. Gives 0 when done, 2 for a mistake of the user's, 1 for a fault of ours."""
    try:
        given = parser().parse_args(arguments)
        if given.command != "progress" and isinstance(getattr(given, "tune", None), str):
            given.tune = _name(given)
        command = importlib.import_module(f"companion.cli.{given.command}_command")
        command.run(given)
        sys.stdout.flush()
    except UserError as mistake:
        print(f"companion: {mistake}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        return 130
    except Exception as fault:
        if os.environ.get("COMPANION_DEBUG"):
            raise
        print(
            f"companion: a fault of ours, not yours ({type(fault).__name__}: {fault}); "
            "set COMPANION_DEBUG=1 to see where, and please report it",
            file=sys.stderr,
        )
        return 1
    return 0


def entry() -> NoReturn:
    """The console script."""
    sys.exit(main())
