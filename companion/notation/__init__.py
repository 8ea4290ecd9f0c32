"""Reading and writing tunes: one reader and one writer a format; text in, tunes out."""

from companion.notation.book import Book, read_book, read_tune

__all__ = ["Book", "read_book", "read_tune"]
