"""Which questions to ask the seller, and in what words."""

from sayso.questions.choose import Asking, TooShort, ask_seller, languages

__all__ = ["Asking", "TooShort", "ask_seller", "languages"]
