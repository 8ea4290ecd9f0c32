"""What the player can do, and the keys for it (`config/keys.toml`)."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, StrEnum
from functools import lru_cache

from companion.places import shipped, table
from companion.toml_file import TomlFile, read_toml


class Action(StrEnum):
    """What the player can ask for. Every action has a key; the help page lists them."""

    PAUSE = "pause"  # stop, or go on
    AGAIN = "again"  # this piece from its count-in
    ON = "on"  # the next step or piece; in a list: choose
    BACK = "back"  # the step or piece before; in a list: leave
    FASTER = "faster"  # in a list: one up
    SLOWER = "slower"  # in a list: one down
    LOOP = "loop"  # the bar that is played now, round and round
    FROM_HERE = "from_here"  # what goes round and round begins at the note played now
    TO_HERE = "to_here"  # it ends there
    WHOLE = "whole"  # the whole tune, played along
    FREE = "free"  # no tune: what you press is shown
    LESSON = "lesson"  # back to the lesson, where it was
    TAP = "tap"  # the tempo, tapped
    BY_HEART = "by_heart"  # how much is shown
    MELODY = "melody"
    CLICK = "click"
    BASSES = "basses"
    ORNAMENTS = "ornaments"
    LIFT = "lift"
    ANSWER = "answer"  # it plays, then leaves room
    BEAT = "beat"  # in time, or right notes in order with no beat
    CLIMB = "climb"  # faster by itself
    MARKS = "marks"  # marked or not
    COUNT_IN = "count_in"
    LOUDER = "louder"
    SOFTER = "softer"
    STANDIN = "standin"
    TUNES = "tunes"
    SETTINGS = "settings"
    PROGRESS = "progress"
    HELP = "help"
    THEME = "theme"
    FACING = "facing"
    LEFT_HANDED = "left_handed"
    LARGER = "larger"
    SMALLER = "smaller"
    MOTION = "motion"
    NAMES = "names"  # of the notes
    STAFF = "staff"  # the piece in notes
    FULL_SCREEN = "full_screen"
    QUIT = "quit"


class Nav(StrEnum):
    """A key on a page with a list; LEAVE goes one page back on every page."""

    UP = "up"
    DOWN = "down"
    LEFT = "left"
    RIGHT = "right"
    ENTER = "enter"
    LEAVE = "leave"
    OPEN_BOOK = "open_book"  # a file of tunes, into the list
    REMOVE = "remove"  # a book, from the list


@dataclass(frozen=True, slots=True)
class Typed:
    """Letters typed on a page that takes them; "\b" takes one back, "\t" completes."""

    text: str


@dataclass(frozen=True, slots=True)
class Picked:
    """A row of a list that was touched, and what in it: "row", "less", "more", "test", or the name of a heading."""

    row: int
    part: str = "row"


@dataclass(frozen=True, slots=True)
class ChosenNotes:
    """Notes of the tune that were picked out on its map or on the bellows line, to go round and round: the first and
    the last of them, by index."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class ChosenBar:
    """A bar that was typed, by its number in the part."""

    number: int


@dataclass(frozen=True, slots=True)
class ChosenTempo:
    """A tempo that was typed or pointed at, in per cent of the tune's."""

    per_cent: float


@dataclass(frozen=True, slots=True)
class Dropped:
    """A file that was dragged into the window."""

    path: str


class Closed(Enum):
    """The window itself was closed."""

    CLOSED = "closed"


CLOSED = Closed.CLOSED
Asked = Action | Nav | Typed | Picked | ChosenNotes | ChosenBar | ChosenTempo | Dropped | Closed

# One page back, everywhere: no table can give this key to anything else.
BACK_KEY = "escape"
# On a page with a list a few keys mean the same for everyone; the pedals' keys move up and down.
NAV_KEYS = {
    "up": Nav.UP,
    "down": Nav.DOWN,
    "left": Nav.LEFT,
    "right": Nav.RIGHT,
    "page up": Nav.UP,
    "page down": Nav.DOWN,
    "return": Nav.ENTER,
    "enter": Nav.ENTER,
    "f3": Nav.OPEN_BOOK,
    "delete": Nav.REMOVE,
}

# These only change how the window looks. While you play, only those that cannot be mistaken for a change of the music.
IN_PLAY = frozenset({Action.THEME, Action.LARGER, Action.SMALLER, Action.NAMES, Action.STAFF})
LOOKS = frozenset(
    {
        Action.THEME,
        Action.FACING,
        Action.LEFT_HANDED,
        Action.LARGER,
        Action.SMALLER,
        Action.MOTION,
        Action.NAMES,
        Action.STAFF,
        Action.FULL_SCREEN,
    }
)


@lru_cache(maxsize=2)
def load_keys() -> dict[Action, tuple[str, ...]]:
    """The keys of every action, the first of each being the one that is shown.

    What a player's own table leaves out (a table made for an earlier version knows less) keeps the keys that come with
    the program, but for those that the table gives to something else; it may be left without one.

    Raises
    ------
    UserError
        Where the table cannot be read, an action is given no key, a figure, or a key that would do two things.
    """
    own = read_toml(table("keys.toml"))
    found: dict[Action, tuple[str, ...]] = {}
    used: dict[str, Action] = {}
    for action in Action:
        if action.value in own.table("keys"):
            found[action] = _keys_of(own, action, used)
    ours = read_toml(shipped("config", "keys.toml"))
    for action in Action:
        if action not in found:
            found[action] = tuple(key for key in _keys_of(ours, action, {}) if key not in used)
    return {action: found[action] for action in Action}


def _keys_of(file: TomlFile, action: Action, used: dict[str, Action]) -> tuple[str, ...]:
    """The keys that a table gives to an action; they are entered into `used`."""
    where = ("keys", action.value)
    keys = file.get(*where)
    if not isinstance(keys, list) or not keys or not all(isinstance(key, str) and key for key in keys):
        raise file.wrong(f'Give {action.value} at least one key: {action.value} = ["f3"].', *where)
    for index, key in enumerate(keys):
        if key.lower() in used:
            both = f"{used[key.lower()].value} and to {action.value}"
            raise file.wrong(f"The key '{key}' is given to {both}; remove it from one.", *where, index)
        if key.isdecimal() and len(key) == 1:
            said = f"The key '{key}' is given to {action.value}, but figures choose a bar; use another key."
            raise file.wrong(said, *where, index)
        used[key.lower()] = action
    names = tuple(key.lower() for key in keys)
    return tuple(name for name in names if name != BACK_KEY) or names


@lru_cache(maxsize=2)
def actions_by_key() -> dict[str, Action]:
    """The action of each key."""
    return {key: action for action, keys in load_keys().items() for key in keys}
