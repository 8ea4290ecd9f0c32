"""What the pages with a list share: where title, rows and notice lie; and the page for the settings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

import pygame

from companion.screen.actions import Action, Asked, Nav, Picked
from companion.screen.brush import Brush
from companion.screen.contrast import Colour
from companion.screen.foot import FootButton, draw_foot, foot_top, touched_foot
from companion.screen.list_values import SettingRow, SettingsList
from companion.screen.window_layout import Layout
from companion.screen.words import Words

Way = TypeVar("Way", bound=StrEnum)  # of showing a list
MOST = 9  # rows on a page
_SMALLER = 0.6  # a name keeps to one line down to this share of its size
_CAPITALS = 4.9  # the size of a row's main text in hundredths of the height: its capitals are 3.5 of them
_NARROW = 1.45  # a window narrower than this for its height gives a row two lines
SETTINGS_FOOT = (
    FootButton(Nav.LEAVE, "foot.back"),
    FootButton(Nav.ENTER, "foot.test"),
    FootButton(Action.TUNES, "foot.tunes"),
    FootButton(Action.PROGRESS, "foot.progress"),
    FootButton(Action.HELP, "foot.help"),
)


@dataclass(frozen=True, slots=True)
class ListLayout:
    """Where the parts of a list lie: `first` is the row at the top, `rows` the boxes from there on, `size` the em size
    of their main text in pixels, `narrow` whether a row has two lines."""

    head: pygame.Rect
    rows: tuple[pygame.Rect, ...]
    first: int
    notice: pygame.Rect
    size: float
    narrow: bool


def lay_list(
    layout: Layout, count: int, at: int, text: float, *, notice: bool = False, head: float = 0.0
) -> ListLayout:
    """Lay out a list of `count` rows, moved so that row `at` is seen with a row on either side of it.

    Room is kept for a notice, and between title and rows for what is `head` of the layout's units high.
    """
    u, (width, height) = layout.unit, layout.size
    left, inner = layout.margin, width - 2 * layout.margin
    over = pygame.Rect(left, round(layout.head.top + 6.8 * u), inner, round(head * u))
    below = pygame.Rect(left, foot_top(layout) - round(7.6 * u), inner, round(7 * u))
    top, bottom = over.bottom + u, (below.top if notice else foot_top(layout)) - 0.6 * u
    narrow = width < _NARROW * height
    size = _CAPITALS * height / 100 * text
    least = (1.15 * size + 6.5 * u if narrow else 1.5 * size) / text * min(text, 1.3)
    seen = max(1, min(MOST, int((bottom - top) // least)))
    step = (bottom - top) / seen
    first = max(0, min(at - seen // 2, count - seen))
    rows = [
        pygame.Rect(left, round(top + n * step), inner, round(step - 0.8 * u)) for n in range(min(seen, count - first))
    ]
    return ListLayout(over, tuple(rows), first, below, size, narrow)


# Where the parts of a setting lie in its row, as shares of its width: from where, how much. In a narrow window name and
# test lie over the value with its two arrows and over the result.
_WIDE = {
    "name": (0.015, 0.235), "less": (0.255, 0.045), "value": (0.305, 0.285), "more": (0.595, 0.045),
    "test": (0.65, 0.12), "result": (0.785, 0.205),
}  # fmt: skip
_STACKED = {
    "name": (0.015, 0.66), "less": (0.0, 0.08), "value": (0.08, 0.5), "more": (0.58, 0.08),
    "test": (0.7, 0.285), "result": (0.67, 0.32),
}  # fmt: skip


def setting_parts(row: pygame.Rect, *, narrow: bool = False) -> dict[str, pygame.Rect]:
    """Where name, value with its two arrows, test and result of a setting lie in its row."""
    found = {}
    for name, (start, share) in (_STACKED if narrow else _WIDE).items():
        top, high = (0.0, 1.0) if not narrow else (0.02, 0.56) if name in ("name", "test") else (0.58, 0.41)
        left, wide = row.left + start * row.width, share * row.width
        found[name] = pygame.Rect(round(left), round(row.top + top * row.height), round(wide), round(high * row.height))
    return found


def touched_setting(page: SettingsList, layout: Layout, text: float, at: tuple[int, int]) -> Asked | None:
    """Which setting, and what of it, or which button lies at a point."""
    lay = lay_list(layout, len(page.rows), page.at, text)
    for n, row in enumerate(lay.rows):
        if row.collidepoint(at):
            parts = setting_parts(row, narrow=lay.narrow)
            part = next((name for name in ("less", "more", "test") if parts[name].collidepoint(at)), "row")
            return Picked(lay.first + n, part)
    return touched_foot(SETTINGS_FOOT, layout, at) or touched_more(layout, lay, len(page.rows), at)


def draw_settings(brush: Brush, page: SettingsList, layout: Layout, words: Words, text: float) -> None:
    """Draw the page for the settings."""
    title = draw_title(brush, layout, words("setting.title"))
    where = (layout.size[0] - layout.margin, layout.head.top + 3 * layout.unit)
    room = where[0] - title.right - 4 * layout.unit
    how = words("setting.how")
    brush.write(how, 3.3 * layout.unit * text, brush.theme.soft, where, align="right", middle=True, width=room)
    lay = lay_list(layout, len(page.rows), page.at, text)
    for n, row in enumerate(lay.rows):
        _setting(brush, page.rows[lay.first + n], row, lay.first + n == page.at, lay, layout.unit, text)
    draw_more(brush, layout, lay, len(page.rows))
    draw_foot(brush, SETTINGS_FOOT, layout, words, text)


def _setting(
    brush: Brush, one: SettingRow, row: pygame.Rect, here: bool, lay: ListLayout, u: float, text: float
) -> None:
    theme = brush.theme
    row_face(brush, row, here, u)
    parts = setting_parts(row, narrow=lay.narrow)
    name, value, test = parts["name"], parts["value"], parts["test"]
    write_name(brush, one.name, lay.size, theme.ink, name, bold=True)
    brush.write_lines(one.value, min(lay.size, 4.2 * u * text), theme.ink, value, lines=2, align="centre", least=0.45)
    for side, way in () if one.fixed else (("less", -1), ("more", 1)):
        x, y = parts[side].center
        tip, base = x + way * 0.9 * u, x - way * 0.7 * u
        brush.polygon([(base, y - 1.3 * u), (base, y + 1.3 * u), (tip, y)], theme.ink if here else theme.soft)
    if one.test:
        frame = test.inflate(0, -round(min(1.2 * u, 0.15 * test.height)))
        brush.pill(frame, theme.ground)
        brush.pill(frame, theme.ink if here else theme.rule, line=max(1.2, 0.25 * u))
        size, room = min(3.3 * u * text, 0.6 * frame.height), frame.width - 2 * u
        brush.write(one.test, size, theme.ink, frame.center, align="centre", middle=True, width=room)
    result = parts["result"].copy()
    if one.level is not None:
        high = max(3, round(0.16 * result.height))
        _meter(brush, pygame.Rect(result.left, result.bottom - 2 * high, result.width, high), one.level)
        result.height -= 2 * high
    brush.write_lines(one.result, 3.0 * u * text, theme.ink, result, lines=2, least=0.5)


def _meter(brush: Brush, box: pygame.Rect, level: float) -> None:
    """How loud it is: a bar that fills from the left."""
    brush.pill(box, brush.theme.ground)
    wide = round(box.width * level)
    if wide >= box.height:
        brush.pill(pygame.Rect(box.left, box.top, wide, box.height), brush.theme.soft)


def row_face(brush: Brush, row: pygame.Rect, here: bool, u: float) -> None:
    """The ground of a row, with a line round the one that is picked out."""
    brush.pill(row, brush.theme.board, radius=1.4 * u)
    if here:
        brush.pill(row, brush.theme.ink, radius=1.4 * u, line=max(2.0, 0.4 * u))


def write_name(brush: Brush, said: str, size: float, colour: Colour, box: pygame.Rect, *, bold: bool = False) -> None:
    """Write a name into a box: in one line, smaller where it must be; in two where that would be too small."""
    size = min(size, 0.92 * box.height)
    if brush.width(said, max(7, int(_SMALLER * size)), bold) <= box.width:
        where = (box.left, box.centery)
        brush.write(said, size, colour, where, bold=bold, middle=True, width=box.width, least=_SMALLER)
    else:
        brush.write_lines(said, size, colour, box, lines=2, bold=bold, least=0.3)


def draw_title(brush: Brush, layout: Layout, title: str) -> pygame.Rect:
    """The title of a page; gives the box of its ink."""
    where = (layout.margin, layout.head.top + 3 * layout.unit)
    return brush.write(title, 5.2 * layout.unit, brush.theme.ink, where, bold=True, middle=True)


def lay_tabs(head: pygame.Rect, ways: Sequence[Way]) -> dict[Way, pygame.Rect]:
    """Where each way of showing the list is touched for, side by side."""
    wide = head.width / len(ways)
    return {
        way: pygame.Rect(round(head.left + n * wide), head.top, round(wide), head.height) for n, way in enumerate(ways)
    }


def draw_tabs(brush: Brush, said: Mapping[Way, str], here: Way, head: pygame.Rect, u: float, text: float) -> None:
    """The ways of showing the list, by their words; the one that holds is underlined."""
    theme = brush.theme
    for way, cell in lay_tabs(head, list(said)).items():
        colour = theme.ink if way == here else theme.soft
        ink = brush.write(
            said[way], 3.3 * u * min(text, 1.2), colour, cell.center, bold=way == here, align="centre", middle=True,
            width=cell.width - u,
        )  # fmt: skip
        if way == here:
            line = pygame.Rect(ink.left, cell.bottom - round(0.5 * u), ink.width, max(2, round(0.4 * u)))
            pygame.draw.rect(brush.surface, theme.ink, line)


def draw_share(brush: Brush, known: float, begun: float, row: pygame.Rect, over: pygame.Rect, u: float) -> None:
    """How far a tune is, at the foot of its row under `over`: the share that is known filled, what is begun half as
    high, the rest a line."""
    high = max(4, min(round(0.09 * row.height), round(0.9 * u)))
    bottom = row.bottom - max(2, round(0.5 * u))
    for share, part, colour in (
        (1.0, 0.25, brush.theme.rule),
        (begun, 0.6, brush.theme.soft),
        (known, 1.0, brush.theme.right),
    ):
        tall = max(1, round(part * high))
        piece = pygame.Rect(over.left, bottom - tall, round(min(1.0, share) * over.width), tall)
        pygame.draw.rect(brush.surface, colour, piece)


def draw_notice(brush: Brush, notice: str, box: pygame.Rect, u: float, text: float) -> None:
    """What must be seen."""
    brush.write_lines(notice, 3.6 * u * text, brush.theme.warn, box, lines=2, bold=True, least=0.5)


def _more(layout: Layout, lay: ListLayout, count: int) -> dict[Nav, pygame.Rect]:
    """Where it is shown that there are rows above or below those that are seen."""
    found: dict[Nav, pygame.Rect] = {}
    side = layout.size[0] - layout.margin
    if lay.first > 0 and lay.rows:
        found[Nav.UP] = pygame.Rect(side, lay.rows[0].top, layout.margin, lay.rows[0].height)
    if lay.rows and lay.first + len(lay.rows) < count:
        found[Nav.DOWN] = pygame.Rect(side, lay.rows[-1].top, layout.margin, lay.rows[-1].height)
    return found


def touched_more(layout: Layout, lay: ListLayout, count: int, at: tuple[int, int]) -> Nav | None:
    """Whether a point asks for the rows above or below."""
    return next((way for way, box in _more(layout, lay, count).items() if box.collidepoint(at)), None)


def draw_more(brush: Brush, layout: Layout, lay: ListLayout, count: int) -> None:
    """Arrowheads where there are rows above or below those that are seen."""
    u, theme = layout.unit, brush.theme
    for way, box in _more(layout, lay, count).items():
        x, y = box.center
        down = 0.8 * u if way is Nav.DOWN else -0.8 * u
        brush.polygon([(x - u, y - down), (x + u, y - down), (x, y + down)], theme.soft)
