"""Reading and writing tunes: one reader and one writer a format; text in, tunes out."""

from companion.notation.book import read_book, read_tune
from companion.notation.book_values import Book

__all__ = ["Book", "read_book", "read_tune"]
