"""What several commands do alike: reading the paste, loading the data, saying what is wrong in one line."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sayso.cli import Fault

if TYPE_CHECKING:
    from sayso.lexicon import Lexicon
    from sayso.model import Listing


@contextmanager
def plain_faults() -> Iterator[None]:
    """Turns the errors a user can mend into `Fault`, one line each."""
    from sayso.intake.errors import IntakeError
    from sayso.lexicon.rows import LexiconError

    try:
        yield
    except (IntakeError, LexiconError) as error:
        raise Fault(" ".join(str(error).split())) from error


def load(overlays: Sequence[Path] | None) -> Lexicon:
    """The lexicon with the user's files over it. Raises `Fault`."""
    from sayso.lexicon import load_lexicon

    with plain_faults():
        return load_lexicon(overlays or ())


def read(
    file: str,
    lexicon: Lexicon | None,
    *,
    max_bytes: int | None = None,
    encoding: str | None = None,
    id: str | None = None,
) -> Listing:
    """The listing in a file, from a pipe (`-`) or typed until end of input. Raises `Fault`."""
    from sayso.intake import read_any
    from sayso.intake.decode import LIMIT
    from sayso.intake.paste import read_file

    limit = max_bytes or LIMIT
    with plain_faults():
        if file != "-" and encoding is None:
            return read_file(file, max_bytes=limit, id=id, lexicon=lexicon)
        data, name = _bytes(file, limit)
        if encoding is None:
            return read_any(data, name, max_bytes=limit, id=id, lexicon=lexicon)
        try:
            text = data.decode(encoding)
        except LookupError:
            raise Fault(f"--encoding: {encoding!r} is no known encoding; try utf-8, cp1252 or shift_jis") from None
        except UnicodeDecodeError:
            raise Fault(f"{name or 'the input'} is not {encoding}; leave --encoding out and it is guessed") from None
        return read_any(text, name, max_bytes=limit, id=id, lexicon=lexicon)


def _bytes(file: str, limit: int) -> tuple[bytes, str]:
    if file != "-":
        try:
            with Path(file).open("rb") as handle:
                return handle.read(limit + 1), Path(file).name
        except OSError as error:
            raise Fault(f"{file} cannot be read: {error.strerror or error}") from None
    if sys.stdin is None or sys.stdin.closed:
        raise Fault("nothing to read; name a file, or paste the seller's words")
    if sys.stdin.isatty():
        print("Paste the seller's words, then press Ctrl-D (Ctrl-Z and Enter on Windows):", file=sys.stderr)
    return sys.stdin.buffer.read(limit + 1), ""


def amount(text: str | None, option: str) -> Decimal | None:
    """'120', '12.50', '1,200', '12,50' as an amount. Raises `Fault`."""
    if text is None:
        return None
    plain = re.sub(r"[\s'_\u00a0]", "", text)
    if re.fullmatch(r"\d+,\d{1,2}", plain):
        plain = plain.replace(",", ".")
    plain = re.sub(r",(?=\d{3}(\D|$))", "", plain)
    try:
        number = Decimal(plain)
    except InvalidOperation:
        raise Fault(f"{option}: {text!r} is no amount; write it like 120 or 12.50") from None
    if not number.is_finite() or number < 0 or number >= Decimal(10) ** 12:
        raise Fault(f"{option}: {text!r} is no amount anybody pays; write it like 120 or 12.50")
    return number


def share(text: str | None, option: str, *, most: Decimal = Decimal(1)) -> Decimal | None:
    """'20%', '20 %' or '0.2' as a share, above nil and below `most`. Raises `Fault`."""
    if text is None:
        return None
    plain = text.strip().replace(",", ".")
    percent = plain.endswith("%")
    number: Decimal | None
    try:
        number = Decimal(plain.removesuffix("%").strip()) / (100 if percent else 1)
    except InvalidOperation:
        number = None
    if number is None or not number.is_finite() or not 0 < number < most:
        limits = "between 0 and 1 (0 % and 100 %)" if most == 1 else f"between 0 and {most}"
        raise Fault(f"{option}: {text!r} is no share {limits}; write it like 20% or 0.2")
    return number


def judging(
    *,
    worth: Sequence[str] | None = None,
    sold: Path | None = None,
    max_regret: str | None = None,
    bidders: int | None = None,
    fees: str | None = None,
    tax: str | None = None,
) -> dict[str, Any]:
    """What the user says of money, as `audit_listing` takes it. Raises `Fault`."""
    if bidders is not None and bidders < 0:
        raise Fault("--bidders must be 0 or more")
    if sold is not None and not sold.is_file():
        why = "is a folder; name the table itself" if sold.is_dir() else "is not there; check the name"
        raise Fault(f"--sold: {sold} {why}")
    regret = share(max_regret, "--max-regret")
    given: dict[str, Any] = {
        "worth": worths(worth) if worth else None,
        "sold": sold,
        "max_regret": None if regret is None else float(regret),
        "bidders": bidders,
        "fees": amount(fees, "--fees"),
        "tax": share(tax, "--tax", most=Decimal(10)),
    }
    return {k: v for k, v in given.items() if v is not None}


def worths(pairs: Sequence[str] | None) -> Mapping[str, Decimal]:
    """`NAME=AMOUNT` pairs. Raises `Fault`."""
    out: dict[str, Decimal] = {}
    for pair in pairs or ():
        name, sign, value = pair.rpartition("=")
        if not sign or not name.strip():
            raise Fault(f"--worth: {pair!r} must be written NAME=AMOUNT, for example --worth first=320")
        number = amount(value, "--worth")
        assert number is not None
        out[name.strip()] = number
    return out


def priced(
    listing: Listing,
    *,
    price: str | None = None,
    currency: str | None = None,
    shipping: str | None = None,
    auction: bool = False,
) -> Listing:
    """The listing with the money as the user gave it. Raises `Fault`."""
    change: dict[str, object] = {}
    if price is not None:
        change["price"] = amount(price, "--price")
    if shipping is not None:
        change["shipping"] = amount(shipping, "--shipping")
    if currency is not None:
        if not re.fullmatch(r"[A-Za-z]{3}", currency):
            raise Fault(f"--currency: {currency!r} is no currency; use three letters, such as USD, EUR, GBP or JPY")
        change["currency"] = currency.upper()
    if auction:
        change["auction"] = True
    return listing.model_copy(update=change) if change else listing


def language(wanted: str | None, lexicon: Lexicon) -> str | None:
    """The language of the questions, checked. Raises `Fault`."""
    if wanted is None or lexicon.letter(wanted.lower()) is not None:
        return wanted.lower() if wanted else None
    from sayso.questions import languages

    raise Fault(f"--language: there are no questions in {wanted!r}; there are {', '.join(languages(lexicon))}")


def write(path: Path, text: str, option: str) -> None:
    """Write a file. Raises `Fault`."""
    try:
        path.write_text(text, encoding="utf-8", errors="replace")
    except OSError as error:
        raise Fault(f"{option}: {path} cannot be written: {error.strerror or error}") from None


def emit(text: str) -> None:
    """Print in UTF-8 whatever the locale says; a closed pipe ends the program quietly."""
    import os

    data = (text + "\n").encode("utf-8", "replace")
    try:
        buffer = getattr(sys.stdout, "buffer", None)
        if buffer is None:
            sys.stdout.write(text + "\n")
        else:
            sys.stdout.flush()
            buffer.write(data)
            buffer.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        raise SystemExit(0) from None
