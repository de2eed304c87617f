"""Vocabulary: suffixes, quantities and the words people use for them; names and units only."""

from tailrace.quantities.vocabulary import (
    Subject,
    Suffix,
    split_suffix,
    subjects,
    suffixes,
    words,
)

__all__ = ["Subject", "Suffix", "split_suffix", "subjects", "suffixes", "words"]
