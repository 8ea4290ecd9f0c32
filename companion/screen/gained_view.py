"""The page of what was gained: tune by tune, the days, the diary. Drawing and touching share its layout."""

from __future__ import annotations

import pygame

from companion.screen.actions import Action, Asked, Nav, Picked
from companion.screen.brush import Brush
from companion.screen.foot import FootButton, draw_foot, foot_top, touched_foot
from companion.screen.list_values import DiaryLine, GainedPage, Gains, TuneGain
from companion.screen.lists import (
    ListLayout,
    draw_more,
    draw_notice,
    draw_share,
    draw_tabs,
    draw_title,
    lay_list,
    lay_tabs,
    row_face,
    touched_more,
    write_name,
)
from companion.screen.window_layout import Layout
from companion.screen.words import Words

# Where the parts of a row lie: shares of its width; in a narrow window the title has a line of its own.
_TUNE = {"title": 0.39, "bars": 0.13, "tempo": 0.12, "wrong": 0.21, "due": 0.15}
_DAY = {"day": 0.15, "title": 0.37, "rounds": 0.22, "tempo": 0.13, "minutes": 0.13}
_TUNE_BELOW = {"bars": 0.23, "tempo": 0.19, "wrong": 0.35, "due": 0.23}
_DAY_BELOW = {"rounds": 0.5, "tempo": 0.28, "minutes": 0.22}
_TABS = {view: f"gain.{view.value}" for view in Gains}
_WEEKS = {False: 8, True: 5}  # weeks that are seen, in a narrow window fewer
FOOT = (
    FootButton(Nav.LEAVE, "foot.back"),
    FootButton(Nav.ENTER, "gain.practise"),
    FootButton(Action.TUNES, "foot.tunes"),
    FootButton(Action.SETTINGS, "foot.settings"),
    FootButton(Action.HELP, "foot.help"),
)


def _lay(page: GainedPage, layout: Layout, text: float) -> ListLayout:
    return lay_list(layout, len(page.rows), page.at, text, notice=bool(page.notice), head=5.4)


def touched_gained(page: GainedPage, layout: Layout, text: float, at: tuple[int, int]) -> Asked | None:
    """Which view, row or button lies at a point."""
    lay = _lay(page, layout, text)
    for view, cell in lay_tabs(lay.head, list(Gains)).items():
        if cell.collidepoint(at):
            return Picked(-1, view.value)
    for n, row in enumerate(lay.rows, lay.first):
        if row.collidepoint(at):
            return Picked(n)
    if page.view is Gains.DAYS:
        found = next((way for way, box in _turns(page, layout, lay).items() if box.collidepoint(at)), None)
        return found or touched_foot(FOOT, layout, at)
    return touched_foot(FOOT, layout, at) or touched_more(layout, lay, len(page.rows), at)


def draw_gained_page(brush: Brush, page: GainedPage, layout: Layout, words: Words, text: float) -> None:
    """Draw the page over the whole of the brush's surface."""
    u, theme = layout.unit, brush.theme
    title = draw_title(brush, layout, words("gain.title"))
    where = (layout.size[0] - layout.margin, layout.head.top + 3 * u)
    lay = _lay(page, layout, text)
    if page.rows or page.weeks:
        room = where[0] - title.right - 4 * u
        brush.write(page.said, 3.4 * u * text, theme.soft, where, align="right", middle=True, width=room, least=0.5)
    else:
        below = pygame.Rect(layout.margin, lay.head.bottom + round(4 * u), lay.head.width, round(14 * u))
        brush.write_lines(page.said, 4.6 * u * text, theme.ink, below)
    draw_tabs(brush, {view: words(key) for view, key in _TABS.items()}, page.view, lay.head, u, text)
    if page.view is Gains.DAYS:
        _days(brush, page, layout, lay, u, text)
    for n, row in enumerate(lay.rows, lay.first):
        one = page.rows[n]
        row_face(brush, row, n == page.at, u)
        if isinstance(one, TuneGain):
            _tune(brush, one, row, n == page.at, lay, u, words, text)
        else:
            _day(brush, one, row, n == page.at, lay, u, text)
    draw_more(brush, layout, lay, len(page.rows))
    draw_notice(brush, page.notice, lay.notice, u, text)
    draw_foot(brush, FOOT, layout, words, text)


def _cells(row: pygame.Rect, u: float, narrow: bool, tune: bool) -> dict[str, pygame.Rect]:
    """Where the parts of a row lie."""
    left, room = row.left + 1.6 * u, row.width - 3.2 * u
    top, high = (row.top + 0.6 * row.height, 0.3 * row.height) if narrow else (row.top, row.height)
    shares = (_TUNE_BELOW if tune else _DAY_BELOW) if narrow else (_TUNE if tune else _DAY)
    cells = {}
    for name, share in shares.items():
        cells[name] = pygame.Rect(round(left), round(top), round(share * room - 1.6 * u), round(high))
        left += share * room
    if narrow:
        line = pygame.Rect(round(row.left + 1.6 * u), round(row.top + 0.03 * row.height), 0, round(0.56 * row.height))
        day = 0 if tune else round(0.24 * room)
        cells["day"] = pygame.Rect(line.left, line.top, day, line.height)
        cells["title"] = pygame.Rect(line.left + day, line.top, round(room) - day, line.height)
    return cells


def _tune(
    brush: Brush, one: TuneGain, row: pygame.Rect, here: bool, lay: ListLayout, u: float, words: Words, text: float
) -> None:
    theme = brush.theme
    cells = _cells(row, u, lay.narrow, tune=True)
    known, begun, bars = one.bars
    title = cells["title"].move(0, 0 if lay.narrow or not bars else -round(0.08 * row.height))
    write_name(brush, one.title, lay.size, theme.ink, title, bold=True)
    said = {
        "bars": words("gain.bars", n=bars, known=known) if bars else "", "tempo": one.tempo, "wrong": one.wrong,
        "due": one.due,
    }  # fmt: skip
    _small(brush, said, cells, here, lay, u, text, warn="due" if one.now else "")
    if bars:
        draw_share(brush, known / bars, begun / bars, row, cells["title"], u)


def _day(brush: Brush, one: DiaryLine, row: pygame.Rect, here: bool, lay: ListLayout, u: float, text: float) -> None:
    cells = _cells(row, u, lay.narrow, tune=False)
    day = cells["day"].inflate(-round(u), 0)
    brush.write_lines(one.day, min(lay.size, 3.9 * u * text), brush.theme.ink, day, least=0.5)
    write_name(brush, one.title, lay.size, brush.theme.ink, cells["title"], bold=True)
    said = {"rounds": one.rounds, "tempo": one.tempo, "minutes": one.minutes}
    _small(brush, said, cells, here, lay, u, text)


def _small(
    brush: Brush, said: dict[str, str], cells: dict[str, pygame.Rect], here: bool, lay: ListLayout, u: float,
    text: float, warn: str = "",
) -> None:  # fmt: skip
    """The parts of a row beside its title."""
    theme = brush.theme
    for name, what in said.items():
        cell, now = cells[name], name == warn
        colour = theme.ink if here else theme.warn if now else theme.soft
        write_name(brush, what, 0.7 * cell.height if lay.narrow else 3.5 * u * text, colour, cell, bold=now)


def _seen(page: GainedPage, narrow: bool) -> tuple[int, int]:
    """Which weeks are seen: from where, and up to where."""
    most = _WEEKS[narrow]
    last = max(min(len(page.weeks), most), len(page.weeks) - page.at)
    return max(0, last - most), last


def _field(layout: Layout, lay: ListLayout) -> pygame.Rect:
    """Where the bars of the days stand."""
    u = layout.unit
    top = lay.head.bottom + 5 * u
    return pygame.Rect(layout.margin, round(top), lay.head.width, round(foot_top(layout) - 12 * u - top))


def _turns(page: GainedPage, layout: Layout, lay: ListLayout) -> dict[Nav, pygame.Rect]:
    """Where earlier and later weeks are touched for, where there are any."""
    first, last = _seen(page, lay.narrow)
    field, side = _field(layout, lay), layout.margin
    found = {}
    if first > 0:
        found[Nav.UP] = pygame.Rect(0, field.top, side, field.height)
    if last < len(page.weeks):
        found[Nav.DOWN] = pygame.Rect(field.right, field.top, side, field.height)
    return found


def _days(brush: Brush, page: GainedPage, layout: Layout, lay: ListLayout, u: float, text: float) -> None:
    """A bar for each day, as high as it was long; under each week its Monday and what it came to."""
    theme, field = brush.theme, _field(layout, lay)
    first, last = _seen(page, lay.narrow)
    shown = page.weeks[first:last]
    most = max((minutes for week in shown for minutes in week.minutes), default=0.0)
    wide = field.width / _WEEKS[lay.narrow]
    for n, week in enumerate(shown):
        left = field.left + n * wide
        for day, minutes in enumerate(week.minutes):
            high = max(round(0.3 * u), round(field.height * minutes / most)) if minutes else max(1, round(0.2 * u))
            x, step = left + 0.05 * wide + day * 0.9 * wide / 7, 0.9 * wide / 7
            bar = pygame.Rect(round(x), field.bottom - high, max(2, round(0.75 * step)), high)
            pygame.draw.rect(brush.surface, theme.right if minutes else theme.rule, bar)
            if minutes and minutes == most:
                where = (bar.centerx, bar.top - 2.4 * u)
                brush.write(f"{minutes:.0f}", 3.2 * u * text, theme.ink, where, bold=True, align="centre", middle=True)
        below = pygame.Rect(round(left), field.bottom + round(0.8 * u), round(0.95 * wide), round(3.8 * u))
        brush.write(
            week.monday, 3.3 * u * min(text, 1.2), theme.ink, (below.left + 0.05 * wide, below.centery), middle=True,
            width=below.width,
        )  # fmt: skip
        below = below.move(round(0.05 * wide), round(4 * u))
        below.width, below.height = round(0.85 * wide), round(6.2 * u)
        brush.write_lines(week.said, 3.0 * u * min(text, 1.2), theme.soft, below, lines=2, least=0.6)
    for way, box in _turns(page, layout, lay).items():
        x, y, by = *box.center, u if way is Nav.DOWN else -u
        brush.polygon([(x - by, y - u), (x - by, y + u), (x + by, y)], theme.soft)
