"""The pages with a list: choosing a tune, and the settings. Drawing and touching share where each row lies."""

from __future__ import annotations

from dataclasses import dataclass

import pygame

from companion.screen.actions import Picked
from companion.screen.brush import Brush
from companion.screen.contrast import Colour
from companion.screen.page_values import Order, SettingRow, SettingsList, TuneRow, TunesPage
from companion.screen.window_layout import Layout
from companion.screen.words import Words

# Columns of the list of tunes: shares of its width.
_COLUMNS = {"title": 0.42, "rhythm": 0.15, "key": 0.1, "difficulty": 0.17, "due": 0.16}
_SORTED = {"title": Order.TITLE, "rhythm": Order.RHYTHM, "difficulty": Order.DIFFICULTY, "due": Order.DUE}
_STEPS = 5  # dots for the difficulty


@dataclass(frozen=True, slots=True)
class ListLayout:
    """Where the parts of a list lie: `first` is the row at the top, `rows` the boxes from there on."""

    head: pygame.Rect
    rows: tuple[pygame.Rect, ...]
    first: int


def lay_list(layout: Layout, count: int, at: int, text: float) -> ListLayout:
    """Lay out a list of `count` rows, moved so that row `at` is seen with a row on either side of it."""
    u, (width, height) = layout.unit, layout.size
    left, inner = layout.margin, width - 2 * layout.margin
    top, bottom = layout.head.top + 9.5 * u, height - 8 * u
    head = pygame.Rect(left, round(top), inner, round(5 * u))
    step = 7.0 * u * min(text, 1.3)
    seen = max(1, int((bottom - head.bottom) // step))
    first = max(0, min(at - seen // 2, count - seen))
    rows = [
        pygame.Rect(left, round(head.bottom + n * step), inner, round(step - 0.8 * u))
        for n in range(min(seen, count - first))
    ]
    return ListLayout(head, tuple(rows), first)


def _cells(row: pygame.Rect, u: float) -> dict[str, pygame.Rect]:
    cells, left = {}, row.left + 1.6 * u
    room = row.width - 3.2 * u
    for name, share in _COLUMNS.items():
        cells[name] = pygame.Rect(round(left), row.top, round(share * room - 1.6 * u), row.height)
        left += share * room
    return cells


def touched_tune(page: TunesPage, layout: Layout, text: float, at: tuple[int, int]) -> Picked | None:
    """Which row or heading of the list of tunes lies at a point."""
    lay = lay_list(layout, len(page.rows), page.at, text)
    for name, cell in _cells(lay.head, layout.unit).items():
        if cell.collidepoint(at) and name in _SORTED:
            return Picked(-1, _SORTED[name].value)
    return next((Picked(lay.first + n) for n, row in enumerate(lay.rows) if row.collidepoint(at)), None)


def draw_chooser(brush: Brush, page: TunesPage, layout: Layout, words: Words, text: float) -> None:
    """Draw the page for choosing a tune."""
    u, theme = layout.unit, brush.theme
    _frame(brush, layout, words("choose.title"), words("choose.how"), text, page.notice)
    search = words("choose.searched", text=page.search) if page.search else words("choose.search")
    colour = theme.ink if page.search else theme.soft
    where = (layout.size[0] - layout.margin, layout.head.top + 3 * u)
    brush.write(search, 3.6 * u * text, colour, where, align="right", middle=True, width=layout.size[0] * 0.45)
    lay = lay_list(layout, len(page.rows), page.at, text)
    for name, cell in _cells(lay.head, u).items():
        here = _SORTED.get(name) is page.order
        said = words("choose.title_head" if name == "title" else f"choose.{name}")
        ink = brush.write(
            said, 3.0 * u * min(text, 1.2), theme.ink if here else theme.soft, (cell.left, cell.centery),
            bold=here, middle=True, width=cell.width - 2 * u,
        )  # fmt: skip
        if here:
            x, y = ink.right + 1.3 * u, cell.centery
            brush.polygon([(x - 0.7 * u, y - 0.5 * u), (x + 0.7 * u, y - 0.5 * u), (x, y + 0.7 * u)], theme.ink)
    if not page.rows:
        below = (layout.margin + 1.6 * u, lay.head.bottom + 4 * u)
        brush.write(words("choose.empty"), 4 * u * text, theme.ink, below, middle=True)
    for n, row in enumerate(lay.rows):
        _tune(brush, page.rows[lay.first + n], row, lay.first + n == page.at, u, words, text)
    _more(brush, layout, lay, len(page.rows))


def _tune(brush: Brush, tune: TuneRow, row: pygame.Rect, here: bool, u: float, words: Words, text: float) -> None:
    theme = brush.theme
    _row_face(brush, row, here, u)
    cells, y = _cells(row, u), row.centery
    soft = theme.ink if here else theme.soft
    size = 3.8 * u * text
    brush.write(
        tune.title, size, theme.ink, (cells["title"].left, y), bold=True, middle=True, width=cells["title"].width
    )
    for name, said in (("rhythm", tune.rhythm), ("key", tune.key)):
        brush.write(said, 3.3 * u * text, soft, (cells[name].left, y), middle=True, width=cells[name].width, least=0.5)
    _difficulty(brush, tune, cells["difficulty"], u, words, text, soft)
    due = words("choose.due_new")
    if tune.due is not None:
        due = words("choose.due_now") if tune.due <= 0 else words("choose.due_in", n=tune.due)
    now = tune.due is not None and tune.due <= 0
    cell = cells["due"]
    colour = theme.warn if now and not here else theme.ink if now else soft
    brush.write(due, 3.3 * u * text, colour, (cell.left, y), bold=now, middle=True, width=cell.width)


def _difficulty(
    brush: Brush, tune: TuneRow, cell: pygame.Rect, u: float, words: Words, text: float, colour: Colour
) -> None:
    """Dots, more for what is harder; in words where the box cannot play it or it is not known yet."""
    value = tune.difficulty
    if value is None or not tune.fits:
        said = words("choose.unplayable" if not tune.fits else "choose.unknown")
        brush.write(said, 3.0 * u * text, colour, (cell.left, cell.centery), middle=True, width=cell.width)
        return
    filled = 1 + round(min(1.0, max(0.0, value)) * (_STEPS - 1))
    radius = round(min(1.05 * u, cell.width / (_STEPS * 3)), 1)
    for n in range(_STEPS):
        centre = (cell.left + radius + n * radius * 2.7, cell.centery)
        hole = 0.0 if n < filled else radius - max(1.2, 0.2 * u)
        brush.disc(centre, radius, brush.theme.ink if n < filled else brush.theme.rule, hole=hole)


def setting_parts(row: pygame.Rect) -> dict[str, pygame.Rect]:
    """Where name, value with its two arrows, test and result of a setting lie in its row."""
    left, inner, high = row.left, row.width, row.height
    shares = {"name": (0.015, 0.235), "less": (0.255, 0.045), "value": (0.305, 0.285), "more": (0.595, 0.045)}
    shares |= {"test": (0.65, 0.12), "result": (0.785, 0.205)}
    return {
        name: pygame.Rect(round(left + start * inner), row.top, round(share * inner), high)
        for name, (start, share) in shares.items()
    }


def touched_setting(page: SettingsList, layout: Layout, text: float, at: tuple[int, int]) -> Picked | None:
    """Which setting, and what of it, lies at a point."""
    lay = lay_list(layout, len(page.rows), page.at, text)
    for n, row in enumerate(lay.rows):
        if row.collidepoint(at):
            parts = setting_parts(row)
            part = next((name for name in ("less", "more", "test") if parts[name].collidepoint(at)), "row")
            return Picked(lay.first + n, part)
    return None


def draw_settings(brush: Brush, page: SettingsList, layout: Layout, words: Words, text: float) -> None:
    """Draw the page for the settings."""
    _frame(brush, layout, words("setting.title"), words("setting.how"), text)
    lay = lay_list(layout, len(page.rows), page.at, text)
    for n, row in enumerate(lay.rows):
        _setting(brush, page.rows[lay.first + n], row, lay.first + n == page.at, layout.unit, text)
    _more(brush, layout, lay, len(page.rows))


def _setting(brush: Brush, one: SettingRow, row: pygame.Rect, here: bool, u: float, text: float) -> None:
    theme, y = brush.theme, row.centery
    _row_face(brush, row, here, u)
    parts = setting_parts(row)
    size = 3.5 * u * text
    brush.write(one.name, size, theme.ink, (parts["name"].left, y), bold=True, middle=True, width=parts["name"].width)
    brush.write_lines(one.value, size, theme.ink, parts["value"], lines=2, align="centre", least=0.55)
    for name, way in () if one.fixed else (("less", -1), ("more", 1)):
        x = parts[name].centerx
        tip, base = x + way * 0.9 * u, x - way * 0.7 * u
        brush.polygon([(base, y - 1.3 * u), (base, y + 1.3 * u), (tip, y)], theme.ink if here else theme.soft)
    if one.test:
        frame = parts["test"].inflate(0, -round(1.2 * u))
        brush.pill(frame, theme.ground)
        brush.pill(frame, theme.ink if here else theme.rule, line=max(1.2, 0.25 * u))
        room = frame.width - 2 * u
        brush.write(one.test, 3.1 * u * text, theme.ink, frame.center, align="centre", middle=True, width=room)
    brush.write_lines(one.result, 2.9 * u * text, theme.ink, parts["result"], lines=2, least=0.6)


def _row_face(brush: Brush, row: pygame.Rect, here: bool, u: float) -> None:
    brush.pill(row, brush.theme.board, radius=1.4 * u)
    if here:
        brush.pill(row, brush.theme.ink, radius=1.4 * u, line=max(2.0, 0.4 * u))


def _frame(brush: Brush, layout: Layout, title: str, how: str, text: float, notice: str = "") -> None:
    """The title, and at the foot how to go about, or what must be seen."""
    u, theme, left = layout.unit, brush.theme, layout.margin
    brush.write(title, 5.2 * u, theme.ink, (left, layout.head.top + 3 * u), bold=True, middle=True)
    if notice:
        foot = pygame.Rect(left, round(layout.size[1] - 7.6 * u), layout.size[0] - 2 * left, round(7 * u))
        brush.write_lines(notice, 3.4 * u * text, theme.warn, foot, lines=2, bold=True, least=0.5)
        return
    where = (left, layout.size[1] - 4 * u)
    brush.write(how, 3.2 * u * text, theme.soft, where, middle=True, width=layout.size[0] - 2 * left)


def _more(brush: Brush, layout: Layout, lay: ListLayout, count: int) -> None:
    """Arrowheads where there are rows above or below those that are seen."""
    u, theme = layout.unit, brush.theme
    x = layout.size[0] - layout.margin / 2
    if lay.first > 0 and lay.rows:
        y = lay.rows[0].centery
        brush.polygon([(x - u, y + 0.8 * u), (x + u, y + 0.8 * u), (x, y - 0.8 * u)], theme.soft)
    if lay.rows and lay.first + len(lay.rows) < count:
        y = lay.rows[-1].centery
        brush.polygon([(x - u, y - 0.8 * u), (x + u, y - 0.8 * u), (x, y + 0.8 * u)], theme.soft)
