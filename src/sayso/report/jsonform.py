"""`sayso.audit/1`: the JSON form of an audit, and its JSON Schema."""

from __future__ import annotations

import json
from typing import Any

from sayso.model import Audit


def to_json(audit: Audit, *, indent: int | None = None) -> str:
    """The audit as `sayso.audit/1`. One line unless `indent` is given. Lone surrogates come out as '?'."""
    try:
        return audit.model_dump_json(by_alias=True, indent=indent)
    except ValueError:  # pydantic's writer refuses lone surrogates, which any paste can hold
        data = audit.model_dump(mode="python", by_alias=True)
        text = json.dumps(data, ensure_ascii=False, indent=indent, default=_plain)
        return text.encode("utf-8", "replace").decode("utf-8")


def to_json_bytes(audit: Audit) -> bytes:
    """The audit as one line of UTF-8, without the end of the line."""
    try:
        return audit.__pydantic_serializer__.to_json(audit, by_alias=True)
    except ValueError:
        return to_json(audit).encode("utf-8", "replace")


def _plain(value: object) -> object:
    from decimal import Decimal

    return float(value) if isinstance(value, Decimal) else str(value)


def json_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of `sayso.audit/1`."""
    schema = Audit.model_json_schema(by_alias=True, mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "sayso.audit/1", **schema}
