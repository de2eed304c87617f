"""Vocabulary: suffixes, quantities and the words people use for them; names and units only."""

from tailrace.quantities.amount import Amount, Display, displays, from_draws
from tailrace.quantities.vocabulary import (
    Subject,
    Suffix,
    split_suffix,
    subjects,
    suffixes,
    words,
)

__all__ = [
    "Amount",
    "Display",
    "Subject",
    "Suffix",
    "displays",
    "from_draws",
    "split_suffix",
    "subjects",
    "suffixes",
    "words",
]
