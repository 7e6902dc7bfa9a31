"""The options that several commands share, each described once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Overlays = Annotated[
    list[Path] | None,
    typer.Option(
        "--lexicon", metavar="PATH", help="Your own data (file or folder), laid over the shipped data (repeatable)."
    ),
]
Casebook = Annotated[
    Path | None, typer.Option("--casebook", metavar="FILE", help="The casebook file; the usual place if left out.")
]
KeepContacts = Annotated[
    bool, typer.Option("--keep-contacts", help="Keep addresses and phone numbers in the casebook.")
]
Record = Annotated[
    str | None,
    typer.Option(metavar="NUMBER", help="Which record it is, by a dossier's number or id, where the words do not say."),
]
Price = Annotated[str | None, typer.Option(metavar="AMOUNT", help="The price asked, without postage.")]
Currency = Annotated[str | None, typer.Option(metavar="CODE", help="Three letters, such as USD or EUR.")]
Worth = Annotated[
    list[str] | None, typer.Option(metavar="NAME=AMOUNT", help="What a pressing is worth to you (repeatable).")
]
Sold = Annotated[Path | None, typer.Option(metavar="CSV", help="Your list of past sales, for the worths.")]
Tax = Annotated[str | None, typer.Option(metavar="SHARE", help="Import tax on price and postage, such as 20% or 0.2.")]
MaxRegret = Annotated[
    str | None,
    typer.Option(metavar="CHANCE", help="Accept at most this chance of overpaying: 20% or 0.2 (if left out, 20%)."),
]
Bidders = Annotated[int | None, typer.Option(metavar="N", help="How many bid, you included.")]
Pointed = Annotated[bool, typer.Option("--pointed", help="Questions that name what you hope for.")]
Language = Annotated[
    str | None, typer.Option(metavar="CODE", help="Language of the questions: en, de, fr, it, es, nl, ja.")
]
MaxQuestions = Annotated[int, typer.Option(metavar="N", help="At most so many questions a listing.")]
MaxChars = Annotated[int | None, typer.Option(metavar="N", help="Each message at most so long.")]
MaxBytes = Annotated[
    int | None, typer.Option(metavar="N", help="Read at most so many bytes a listing (2,000,000 if left out).")
]
Encoding = Annotated[
    str | None, typer.Option(metavar="NAME", help="Encoding of the input, such as cp1252; guessed if left out.")
]
