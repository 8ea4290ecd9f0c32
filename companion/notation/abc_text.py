"""Bytes to text, and the text strings of ABC: accents, entities, escapes (ABC 2.1, 8.2 and 14.1)."""

from __future__ import annotations

import html
import re
import unicodedata

_COMBINING = {
    "`": "\u0300", "'": "\u0301", "^": "\u0302", "~": "\u0303", '"': "\u0308", "c": "\u0327", ",": "\u0327",
    "o": "\u030a", "u": "\u0306", "v": "\u030c", "H": "\u030b",
}  # fmt: skip
"""The accent that a mnemonic puts on the letter after it."""

_WHOLE = {
    "AA": "Å", "aa": "å", "/O": "Ø", "/o": "ø", "AE": "Æ", "ae": "æ", "OE": "Œ", "oe": "œ", "ss": "ß",
    "DH": "Ð", "dh": "ð", "TH": "Þ", "th": "þ",
}  # fmt: skip
"""Mnemonics that stand for one letter (14.1)."""

_ESCAPE = re.compile(
    r"\\(?:u([0-9a-fA-F]{4})|U([0-9a-fA-F]{8})|(AA|aa|/O|/o|AE|ae|OE|oe|ss|DH|dh|TH|th)"
    r"|([`'^~\"c,ouvH])([A-Za-z])|([\\%&]))"
)
_ENTITY = re.compile(r"(?<!\\)&(?:[A-Za-z]+|#\d{1,7}|#[xX][0-9a-fA-F]{1,6});")
_CHARSET = re.compile(rb"^(?:I:|%%)\s*abc-charset\s+([A-Za-z0-9-]+)", re.MULTILINE)
_START = re.compile(r"(?:\A|(?<=[\r\n]))X:[ \t]*(\d{0,9})")
_INDENTED = re.compile(r"(?:\A|(?<=[\r\n]))[^\S\r\n]+X:")
_LINE_END = re.compile(r"\r\n|\r|\n")
_CHARSETS = {"utf-8", "us-ascii"} | {f"iso-8859-{n}" for n in range(1, 11)}


def one_number(text: str, number: int | None, least: int = 1) -> str:
    """A book without its other tunes: the file header and the tunes of one number, on their lines of the book.

    `number` is a reference number, None that of the first tune. The whole book where its tunes cannot be told apart, or
    fewer than `least` have that number.
    """
    starts = [] if "%%begintext" in text or _INDENTED.search(text) else list(_START.finditer(text))
    if not starts or not all(start[1] for start in starts):
        return text
    numbers = [int(start[1]) for start in starts]
    number = numbers[0] if number is None else number
    if numbers.count(number) < least:
        return text
    first = done = starts[0].start()
    blank = "\r" if text[:first].endswith("\r") else "\n"  # "\r\n" would be one line end, not two
    kept = [text[:first]]
    for start, following, after in zip(starts, [*starts[1:], None], [*numbers[1:], None], strict=True):
        if int(start[1]) != number:
            continue
        kept.append(blank * sum(1 for _ in _LINE_END.finditer(text, done, start.start())))
        # Up to the number of the next tune: where no empty line comes before it, that is a problem of this one.
        done = len(text) if following is None else following.start() if after == number else following.end()
        kept.append(text[start.start() : done])
    return "".join(kept)


def text_string(text: str) -> str:
    """A text string with its accents, entities and escapes put in place."""
    if "&" in text:
        text = _ENTITY.sub(lambda m: html.unescape(m.group()), text)
    if "\\" in text:
        text = _ESCAPE.sub(_unescape, text)
    return text


def _unescape(match: re.Match[str]) -> str:
    short, long, whole, accent, letter, plain = match.groups()
    if short or long:
        code = int(short or long, 16)
        return chr(code) if code < 0x110000 and not 0xD800 <= code < 0xE000 else match.group()
    if whole:
        return _WHOLE[whole]
    if plain:
        return plain
    made = unicodedata.normalize("NFC", letter + _COMBINING[accent])
    # A letter that does not take this accent keeps the base letter (8.2).
    return made if len(made) == 1 else letter


def uncomment(line: str) -> str:
    """A line without its comment; `\\%` is a percent sign (2.2.5, 8.2)."""
    start = 0
    while True:
        at = line.find("%", start)
        if at < 0:
            return line
        if at == 0 or line[at - 1] != "\\":
            return line[:at]
        start = at + 1


def decode(data: bytes) -> str:
    """The text of a file: UTF-8 with or without a byte order mark, the charset that the file names, else Latin-1."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    if data.startswith(b"\xef\xbb\xbf"):
        data = data[3:]
    named = _CHARSET.search(data[:4000])
    if named:
        charset = named.group(1).decode("ascii").lower()
        if charset in _CHARSETS and charset != "us-ascii":
            try:
                return data.decode(charset)
            except UnicodeDecodeError:
                pass
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("latin-1")
