"""Everything an audit needs, loaded once: imported by the process from which the workers of a review are forked.

Nothing here may raise: where something is amiss, the worker that meets it again says so.
"""

from __future__ import annotations

import contextlib
import gc


def warm() -> None:
    """Load the shipped lexicon and use each part of the program once, on words from the lexicon itself."""
    from sayso.engine import audit_text
    from sayso.lexicon import load_lexicon
    from sayso.report.jsonform import to_json_bytes

    lexicon = load_lexicon()
    to_json_bytes(audit_text(". ".join(term.forms[0] for term in lexicon.terms[::12]), lexicon))


with contextlib.suppress(Exception):
    warm()
gc.collect()
gc.freeze()  # what is shared with the workers stays shared: the collector does not write to it
