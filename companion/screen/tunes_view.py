"""The page for choosing a tune: what is being learnt, what is due, the books. Drawing and touching share its layout."""

from __future__ import annotations

import pygame

from companion.screen.actions import Action, Asked, Nav, Picked
from companion.screen.brush import Brush
from companion.screen.contrast import Colour
from companion.screen.foot import FootButton, draw_foot, touched_foot
from companion.screen.list_values import HeadingKind, HeadingRow, ListRow, Order, TuneRow, TunesPage
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

# Where the parts of a tune lie in its row: shares of its width; in a narrow window the title has a line of its own.
_WIDE = {"title": 0.44, "rhythm": 0.13, "key": 0.15, "difficulty": 0.11, "due": 0.17}
_NARROW = {"rhythm": 0.2, "key": 0.26, "difficulty": 0.2, "due": 0.34}
_TABS = {
    Order.LEARNING: "choose.learning", Order.DUE: "choose.due", Order.TITLE: "choose.title_head",
    Order.RHYTHM: "choose.rhythm", Order.DIFFICULTY: "choose.difficulty",
}  # fmt: skip
_STEPS = 5  # dots for the difficulty
FOOT = (
    FootButton(Nav.LEAVE, "foot.back"),
    FootButton(Nav.ENTER, "choose.start"),
    FootButton(Nav.OPEN_BOOK, "foot.open"),
    FootButton(Action.PROGRESS, "foot.progress"),
    FootButton(Action.SETTINGS, "foot.settings"),
    FootButton(Action.HELP, "foot.help"),
)


def _lay(page: TunesPage, layout: Layout, text: float) -> ListLayout:
    return lay_list(layout, len(page.rows), page.at, text, notice=bool(page.notice), head=5.4)


def _cells(row: pygame.Rect, u: float, narrow: bool) -> dict[str, pygame.Rect]:
    left, room = row.left + 1.6 * u, row.width - 3.2 * u
    top, high = (row.top + 0.6 * row.height, 0.3 * row.height) if narrow else (row.top, row.height)
    cells = {}
    for name, share in (_NARROW if narrow else _WIDE).items():
        cells[name] = pygame.Rect(round(left), round(top), round(share * room - 1.6 * u), round(high))
        left += share * room
    if narrow:
        cells["title"] = pygame.Rect(
            round(row.left + 1.6 * u), round(row.top + 0.03 * row.height), round(room), round(0.56 * row.height)
        )
    return cells


def _off_button(row: pygame.Rect, u: float) -> pygame.Rect:
    """Where a book is taken off the list, in its heading's row."""
    wide, high = min(0.42 * row.width, 46 * u), min(row.height - u, 6.4 * u)
    return pygame.Rect(round(row.right - wide), round(row.centery - high / 2), round(wide), round(high))


def touched_tune(page: TunesPage, layout: Layout, text: float, at: tuple[int, int]) -> Asked | None:
    """Which row, order, book or button lies at a point."""
    lay = _lay(page, layout, text)
    for order, cell in lay_tabs(lay.head, list(_TABS)).items():
        if cell.collidepoint(at):
            return Picked(-1, order.value)
    for n, row in enumerate(lay.rows, lay.first):
        if row.collidepoint(at):
            one = page.rows[n]
            of_book = isinstance(one, HeadingRow) and one.what is HeadingKind.BOOK
            return Picked(n, "remove" if of_book and _off_button(row, layout.unit).collidepoint(at) else "row")
    return touched_foot(FOOT, layout, at) or touched_more(layout, lay, len(page.rows), at)


def draw_chooser(brush: Brush, page: TunesPage, layout: Layout, words: Words, text: float) -> None:
    """Draw the page over the whole of the brush's surface."""
    u, theme = layout.unit, brush.theme
    title = draw_title(brush, layout, words("choose.title"))
    search = words("choose.searched", text=page.search) if page.search else words("choose.search")
    right = layout.size[0] - layout.margin
    brush.write(
        search, 3.6 * u * text, theme.ink if page.search else theme.soft, (right, layout.head.top + 3 * u),
        align="right", middle=True, width=right - title.right - 4 * u,
    )  # fmt: skip
    lay = _lay(page, layout, text)
    draw_tabs(brush, {order: words(key) for order, key in _TABS.items()}, page.order, lay.head, u, text)
    if not any(isinstance(row, TuneRow) for row in page.rows):
        below = lay.rows[-1].move(round(1.6 * u), lay.rows[-1].height + round(u))
        said = words("choose.empty" if page.search else "choose.no_book")
        brush.write(said, 4 * u * text, theme.ink, below.midleft, middle=True, width=below.width)
    for n, row in enumerate(lay.rows, lay.first):
        _row(brush, page.rows[n], row, n == page.at, lay, layout, words, text)
    draw_more(brush, layout, lay, len(page.rows))
    draw_notice(brush, page.notice, lay.notice, u, text)
    draw_foot(brush, FOOT, layout, words, text)


def _row(
    brush: Brush, one: ListRow, row: pygame.Rect, here: bool, lay: ListLayout, layout: Layout, words: Words, text: float
) -> None:
    if isinstance(one, TuneRow):
        _tune(brush, one, row, here, lay.narrow, layout, words, text)
    elif isinstance(one, HeadingRow):
        _heading(brush, one, row, here, layout, words, text)
    else:
        row_face(brush, row, here, layout.unit)
        where = (row.left + 1.6 * layout.unit, row.centery)
        size = min(lay.size, 0.62 * row.height)
        brush.write(words("choose.open"), size, brush.theme.ink, where, bold=True, middle=True, width=row.width)


def _heading(
    brush: Brush, one: HeadingRow, row: pygame.Rect, here: bool, layout: Layout, words: Words, text: float
) -> None:
    """What stands under it and how many; of a book also how it is taken off the list."""
    u, theme = layout.unit, brush.theme
    of_book = one.what is HeadingKind.BOOK
    off = _off_button(row, u)
    room = (off.left if of_book else row.right) - row.left - 4 * u
    said = words(f"choose.{one.what.value}_count", count=one.count, title=one.title)
    if here:
        brush.pill(row, theme.ink, radius=1.4 * u, line=max(2.0, 0.4 * u))
    where = (row.left + 1.6 * u, row.centery + (0.12 * row.height if row.height > 9 * u else 0))
    brush.write(said, min(4.2 * u * text, 0.6 * row.height), theme.ink, where, bold=True, middle=True, width=room)
    line = pygame.Rect(row.left, row.bottom - max(1, round(0.2 * u)), row.width, max(1, round(0.2 * u)))
    pygame.draw.rect(brush.surface, theme.rule, line)
    if of_book:
        brush.pill(off, theme.rule, radius=1.2 * u, line=max(1.2, 0.2 * u))
        size, room = min(3.0 * u * min(text, 1.2), 0.5 * off.height), off.width - 2 * u
        brush.write(words("choose.forget"), size, theme.soft, off.center, align="centre", middle=True, width=room)


def _tune(
    brush: Brush, tune: TuneRow, row: pygame.Rect, here: bool, narrow: bool, layout: Layout, words: Words, text: float
) -> None:
    theme, u = brush.theme, layout.unit
    row_face(brush, row, here, u)
    cells = _cells(row, u, narrow)
    soft = theme.ink if here else theme.soft
    title = cells["title"]
    lift = round(0.08 * title.height) if tune.far is not None and not narrow else 0
    size = 4.9 * layout.size[1] / 100 * text
    write_name(brush, tune.title, size, theme.ink, title.move(0, -lift), bold=True)
    small = 0.7 * cells["key"].height if narrow else 3.5 * u * text
    for name, said in (("rhythm", tune.rhythm), ("key", tune.key)):
        cell = cells[name]
        brush.write(said, small, soft, (cell.left, cell.centery), middle=True, width=cell.width, least=0.5)
    _difficulty(brush, tune, cells["difficulty"], u, words, small, soft)
    now = tune.due is not None and tune.due <= 0
    cell = cells["due"]
    colour = theme.warn if now and not here else theme.ink if now else soft
    said = _standing_words(tune, words)
    brush.write(said, small, colour, (cell.left, cell.centery), bold=now, middle=True, width=cell.width, least=0.5)
    if tune.far is not None and tune.far.bars:
        draw_share(brush, tune.far.known / tune.far.bars, tune.far.begun / tune.far.bars, row, title, u)


def _standing_words(tune: TuneRow, words: Words) -> str:
    """When it is due; how many bars are known of what is being learnt."""
    if tune.due is not None:
        return words("choose.due_now") if tune.due <= 0 else words("choose.due_in", n=tune.due)
    if tune.far is None:
        return words("choose.due_new")
    return words("choose.bars", n=tune.far.bars, known=tune.far.known) if tune.far.bars else ""


def _difficulty(
    brush: Brush, tune: TuneRow, cell: pygame.Rect, u: float, words: Words, size: float, colour: Colour
) -> None:
    """Dots, more for what is harder; in words where the box cannot play it or it is not known yet."""
    value = tune.difficulty
    if value is None or not tune.fits:
        said = words("choose.unplayable" if not tune.fits else "choose.unknown")
        brush.write(said, size, colour, (cell.left, cell.centery), middle=True, width=cell.width, least=0.5)
        return
    filled = 1 + round(min(1.0, max(0.0, value)) * (_STEPS - 1))
    radius = round(min(1.05 * u, cell.width / (_STEPS * 3)), 1)
    for n in range(_STEPS):
        centre = (cell.left + radius + n * radius * 2.7, cell.centery)
        hole = 0.0 if n < filled else radius - max(1.2, 0.2 * u)
        brush.disc(centre, radius, brush.theme.ink if n < filled else brush.theme.rule, hole=hole)
