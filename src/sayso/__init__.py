"""sayso: audits what a seller says about a record before a buyer pays.

The public functions are imported on first use, so that `import sayso` costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

_PUBLIC = {
    "assess": "sayso.claims",
    "read_runout": "sayso.claims.runout",
    "audit_listing": "sayso.engine",
    "audit_text": "sayso.engine",
    "load_lexicon": "sayso.lexicon",
}

if TYPE_CHECKING:
    from sayso.claims import assess as assess
    from sayso.claims.runout import read_runout as read_runout
    from sayso.engine import audit_listing as audit_listing
    from sayso.engine import audit_text as audit_text
    from sayso.lexicon import load_lexicon as load_lexicon

__all__ = sorted([*_PUBLIC, "__version__"])


def __getattr__(name: str) -> Any:
    if name in _PUBLIC:
        return getattr(import_module(_PUBLIC[name]), name)
    raise AttributeError(f"module 'sayso' has no attribute {name!r}")
