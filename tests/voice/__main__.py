"""Write the page of all sentences anew: ``python -m tests.voice`` from the checkout."""

from __future__ import annotations

from tests.voice.test_every_sentence import BOOK, book

BOOK.write_text(book(), encoding="utf-8")
