"""Reads, merges and checks the data in `lexicon/`: everything the trade knows."""

from sayso.lexicon.load import Lexicon, load_lexicon
from sayso.lexicon.rows import LexiconError

__all__ = ["Lexicon", "LexiconError", "load_lexicon"]
