"""What each command takes: a function for each, which adds it to the command's parser, and those that several share.

Only the standard library is imported here, so that `--help` comes at once.
"""

from __future__ import annotations

import argparse

from companion.cli.command_parser import CommandParser

_NAMES_A_TUNE = "the tune: its number in the book (3.2 is the second of several tunes 3), or words of its title"
_FIRST = f"{_NAMES_A_TUNE} (default: the first)"


def voice(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--voice", metavar="NAME", help="the voice, part or track of the melody (default: the first)")


def book(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "book", nargs="?", metavar="BOOK", help="your file of tunes: ABC, MusicXML or MIDI (default: the demo tunes)"
    )
    voice(parser)


def tune(parser: argparse.ArgumentParser) -> None:
    book(parser)
    parser.add_argument("--tune", metavar="N", help=_FIRST)


def box(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--box",
        default="bc-21",
        metavar="BOX",
        help="your box: B/C, C#/D …, a name from `companion boxes`, or a file (default: bc-21)",
    )


def hand(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--hand",
        metavar="HAND",
        help="the hand that fingers it: plain, flowing, or your own (default: plain)",
    )


def json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON, for other programs")


def piece(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--piece", metavar="NAME", help="one piece, by its name in `companion pieces` (default: the whole tune)"
    )


def tempo(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--tempo", metavar="60%|BPM", help="part of the full tempo, or beats a minute")


def ear(parser: argparse._ActionsContainer) -> None:
    parser.add_argument(
        "--ear", metavar="BOX.ear", help="for recordings: how your box sounds, as `companion microphone` learnt it"
    )


def sounding(parser: argparse.ArgumentParser) -> None:
    tune(parser)
    box(parser)
    piece(parser)
    tempo(parser)
    parser.add_argument(
        "--rounds", default="1", metavar="K", help="how many times through (default: 1; play can go on: endless)"
    )
    parser.add_argument("--count-in", default="0", metavar="BARS", help="bars of count-in, or short (default: 0)")
    how = parser.add_argument_group("how it sounds")
    how.add_argument("--click", default="beats", metavar="WHERE", help="click on beats, off-beats or count-in only")
    how.add_argument("--no-click", action="store_true", help="no click after the count-in")
    how.add_argument("--answer", action="store_true", help="after each round, leave room for you to play it back")
    how.add_argument("--plain", action="store_true", help="no ornaments")
    how.add_argument("--basses", action="store_true", help="play the left hand too, with the buttons of your box")
    how.add_argument(
        "--lift",
        default="0",
        metavar="0..100",
        help="how much of the dance's lift (uneven time within the beat) to play, per cent; a take keeps your own",
    )
    how.add_argument("--concert", default="440", metavar="HZ", help="concert pitch, 430 to 450 (default: 440)")
    how.add_argument("--shift", type=int, default=0, metavar="N", help="semitones up, for a box in another key")
    how.add_argument(
        "--level",
        action="append",
        default=[],
        metavar="V=PER CENT",
        help="how loud melody, click, basses or take is: click=50; once for each",
    )
    how.add_argument("--mute", action="append", default=[], metavar="V", help="leave out melody, click, basses or take")
    take = parser.add_argument_group(
        "your own take beside the tune",
        "The tune on the left, you on the right, at any tempo; early and late as you played. With --answer you come "
        "after the tune. If your take has several rounds, each round of --rounds plays the next of them.",
    )
    take.add_argument(
        "--take", metavar="TAKE", help="what you played: a MIDI file, a recording, or the folder a session left"
    )
    ear(take)
    take.add_argument("--no-clock", action="store_true", help="you played with no beat: put each note beside its own")
    own = parser.add_argument_group("a recording in place of the melody", "At any tempo; its pitch stays.")
    own.add_argument("--recording", metavar="FILE", help="a WAV, FLAC, OGG or MP3 file of the tune")
    own.add_argument("--first-beat", metavar="S", help="where its first full bar begins, in seconds")
    own.add_argument("--bpm", metavar="BPM", help="its beats a minute")
    own.add_argument("--taps", metavar="S,S,…", help="or instead: the second of each beat, from its first full bar")


def device(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--device", metavar="NAME", help="the sound device (`companion ports` lists them)")


def midi_out(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--midi-out", metavar="PORT", help="play on this synthesiser instead of the sound device")
    parser.add_argument("--midi-delay", metavar="MS", help="how late the synthesiser sounds (0 to 1000)")


def play(parser: argparse.ArgumentParser) -> None:
    sounding(parser)
    device(parser)
    midi_out(parser)


def port(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--port", metavar="NAME", help="your instrument's MIDI port (`companion ports` lists them)")


def delay(parser: argparse.ArgumentParser) -> None:
    device(parser)
    port(parser)
    parser.add_argument(
        "--microphone", nargs="?", const="", metavar="NAME", help="measure how late this microphone hears the click"
    )
    parser.add_argument("--midi-out", metavar="PORT", help="measure this synthesiser's delay too")
    parser.add_argument("--forget", action="store_true", help="forget the delay measured for this device")


def sought(wanted: argparse._ActionsContainer) -> None:
    wanted.add_argument("--title", metavar="WORDS", help="words of the title, accents and articles aside")
    wanted.add_argument("--rhythm", metavar="KIND", help="the kind: reel, jig, hornpipe …")
    wanted.add_argument("--key", metavar="KEY", help="the key: D, Em, Amix …")


def tunes(parser: argparse.ArgumentParser) -> None:
    book(parser)
    json(parser)
    parser.add_argument("--notes", action="store_true", help="with --json: every note, and the order you play them in")
    parser.add_argument("--problems", action="store_true", help="list every problem with its line and column")
    wanted = parser.add_argument_group("which tunes", "Only those that match all of these, the nearest first.")
    wanted.add_argument("--tune", metavar="N", help=_NAMES_A_TUNE)
    sought(wanted)
    first = wanted.add_mutually_exclusive_group()
    first.add_argument("--first", metavar="NOTES", help='the first notes, typed as in ABC: "d f a"')
    first.add_argument(
        "--played",
        nargs="?",
        const="",
        metavar="TAKE",
        help="the first notes as you play them now, or as in this take: a MIDI file or a recording",
    )
    ear(wanted)


def buttons(parser: argparse.ArgumentParser) -> None:
    tune(parser)
    box(parser)
    hand(parser)
    parser.add_argument(
        "--beside", nargs="?", const="flowing", metavar="HAND", help="side by side with another hand (default: flowing)"
    )
    parser.add_argument("--explain", action="store_true", help="say why, where you would wonder")
    parser.add_argument("--all", action="store_true", help="--explain for every reach and every choice of row")
    parser.add_argument(
        "--learn",
        nargs="+",
        metavar="FILE",
        help="learn a tutor’s own hand from these books, with fingers in their tunes or pins beside them",
    )
    parser.add_argument("--name", default="own", metavar="NAME", help="what the learnt hand is called (default: own)")
    parser.add_argument("--transpose", metavar="N|best", help="in another key: semitones up, or best for your box")
    json(parser)


def bellows(parser: argparse.ArgumentParser) -> None:
    tune(parser)
    box(parser)
    parser.add_argument("--loudness", default="mf", metavar="MARK", help="how loud you play, pp to ff (default: mf)")
    json(parser)


def boxes(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("box", nargs="?", metavar="BOX", help="the box to draw (default: list them all)")
    parser.add_argument("-o", "--out", metavar="OUT", help="write the drawing to a .png or .svg file")


def choose(parser: argparse.ArgumentParser) -> None:
    book(parser)
    box(parser)
    wanted = parser.add_argument_group("which tunes", "Only those that match all of these.")
    wanted.add_argument("--level", metavar="LEVEL", help="how hard: first, easy, middling, hard, hardest")
    sought(wanted)
    json(parser)


def lesson(parser: argparse.ArgumentParser) -> None:
    tune(parser)
    box(parser)
    where = parser.add_mutually_exclusive_group()
    where.add_argument("-o", "--output", metavar="FILE", help="write it to this file")
    where.add_argument("--write", action="store_true", help="write it beside your book, where practise uses it")


def pieces(parser: argparse.ArgumentParser) -> None:
    tune(parser)
    box(parser)
    json(parser)


def render(parser: argparse.ArgumentParser) -> None:
    sounding(parser)
    parser.add_argument("-o", "--out", required=True, metavar="OUT", help="a .wav, .flac, .ogg, .mp3 or .mid file")
    many = parser.add_argument_group("many files at once", "OUT is then a folder: a file for each piece and tempo.")
    many.add_argument(
        "--pieces", metavar="LIST", help="names, or all, bars, phrases, halves, parts, joins; commas between"
    )
    many.add_argument("--tempi", metavar="LIST", help="tempi as for --tempo, commas between: 50%%,75%%,100%%")
    many.add_argument("--format", default="flac", metavar="KIND", help="wav, flac, ogg, mp3 or mid (default: flac)")


def write(parser: argparse.ArgumentParser) -> None:
    book(parser)
    parser.add_argument("--tune", metavar="N", help=f"{_FIRST}; ABC takes the whole book")
    parser.add_argument("-o", "--out", required=True, metavar="OUT", help="a .abc, .musicxml or .mid file")


def mark(parser: argparse.ArgumentParser) -> None:
    book(parser)
    parser.add_argument(
        "take", metavar="TAKE", help="what was played: a MIDI file, a recording (M4A, WAV …), or a folder of them"
    )
    parser.add_argument("-o", "--out", metavar="FOLDER", help="for a folder of takes: write a page for each here")
    parser.add_argument("--tune", metavar="N", help=_FIRST)
    box(parser)
    piece(parser)
    parser.add_argument("--tempo", metavar="BPM", help="the tempo it should have (default: found in the take)")
    parser.add_argument("--no-clock", action="store_true", help="mark the notes and their order, not their time")
    ear(parser)
    parser.add_argument(
        "--playback",
        metavar="FILE",
        help="for a recording: what the program played meanwhile, from its first moment on",
    )
    json(parser)


def which_microphone(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--microphone", metavar="NAME", help="be heard through this microphone: a part of its name is enough"
    )


def practise(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("book", nargs="?", metavar="BOOK", help="your file of tunes (default: choose in the window)")
    voice(parser)
    parser.add_argument("--tune", metavar="N", help=f"{_NAMES_A_TUNE} (default: choose in the window)")
    parser.add_argument("--box", metavar="BOX", help="your box, by name, or a file (default: as set in the window)")
    port(parser)
    which_microphone(parser)
    parser.add_argument("--pedal", metavar="NAME", help="the MIDI port of a pedal that is not on your instrument")
    device(parser)
    parser.add_argument(
        "--no-demonstration",
        "--no-standin",
        dest="no_standin",
        action="store_true",
        help="no demonstration, even with no instrument",
    )
    parser.add_argument(
        "--then",
        action="append",
        default=[],
        metavar="TUNE",
        help="the next tune of a set: its number, words of its title, a file, or FILE:NUMBER; once for each",
    )
    parser.add_argument(
        "--piece", metavar="NAME", help="round and round with this piece, until you go back to the lesson: “A bar 5”"
    )
    parser.add_argument("--tempo", metavar="60%|BPM", help="at this part of the full tempo, or beats a minute")
    parser.add_argument("--no-clock", action="store_true", help="--piece with no beat: the right notes, in order")
    parser.add_argument("--minutes", type=float, metavar="M", help="how long you want to practise (default: 20)")
    parser.add_argument("--no-due", action="store_true", help="leave out the tunes that are due for review")
    parser.add_argument("--seconds", type=float, metavar="S", help="end by itself after this many seconds")
    parser.add_argument("--keep", metavar="FOLDER", help="leave a picture, the sound, your take and its marks here")
    parser.add_argument("--size", metavar="WxH", help="the size of the window (default: as the screen has room)")
    parser.add_argument("--theme", metavar="NAME", help="the colour theme: dark, light or high-contrast")


def progress(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("tune", nargs="?", metavar="TUNE", help="words of a tune's title (default: all your tunes)")
    parser.add_argument("--box", metavar="BOX", help="on this box (default: the last you practised on)")
    parser.add_argument("-o", "--out", metavar="OUT", help="draw plots: a .png or .svg file")
    parser.add_argument("--theme", default="light", metavar="NAME", help="colour theme of the plots (default: light)")
    json(parser)


def record(parser: argparse.ArgumentParser) -> None:
    ways = parser.add_subparsers(dest="way", required=True, metavar="WAY", parser_class=CommandParser)
    for name, help_ in (
        ("export", "write your whole record as JSON lines"),
        ("import", "read such a file into your record; nothing is counted twice"),
        ("rescue", "read what can be read of a damaged record, or of a backup"),
    ):
        way = ways.add_parser(name, help=help_, description=help_[0].upper() + help_[1:] + ".")
        kind = "a record (.sqlite3)" if name == "rescue" else "a file of JSON lines (.jsonl)"
        way.add_argument("file", metavar="FILE", help=kind)


def ports(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--test", nargs="?", const="", metavar="NAME", help="listen to an instrument for ten seconds and show its notes"
    )
    json(parser)


def microphone(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--learn",
        nargs="?",
        const="",
        metavar="FILE",
        help="learn your box from this recording: each note once, in order (no FILE: note by note, now)",
    )
    which_microphone(parser)
    parser.add_argument("--pitches", metavar="LIST", help="the notes in it, as MIDI numbers: 57-88, or 57,59,61-64")
    parser.add_argument("--box", metavar="BOX", help="or: all notes of this box, from the lowest up")
    parser.add_argument("-o", "--out", metavar="BOX.ear", help="write what was learnt to this file")
    json(parser)


def help(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("page", nargs="?", metavar="PAGE", help="the page to read (default: list them)")
