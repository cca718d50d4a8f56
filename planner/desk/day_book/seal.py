"""
Seals: each event carries a SHA-256 over itself and the seal before it, so that one changed behind our back is found.

Somebody who can rewrite the whole database can rewrite all seals as well; a seal written down elsewhere (each backup and
each auditor's export names the last one) shows that too.
"""

import json
from collections.abc import Mapping
from hashlib import sha256
from typing import Any

FIRST = "0" * 64
SEALED = ("id", "change", "at", "actor", "kind", "day", "topic", "thing", "subject", "before", "after")


def canonical(value: Any) -> str:
    """
    Return ``value`` as JSON that is the same for equal values.

    >>> canonical({"b": 1, "a": [None, "é"]})
    '{"a":[null,"é"],"b":1}'
    """
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def seal(before: str, entry: Mapping[str, Any]) -> str:
    """Return the seal of an event whose predecessor has the seal ``before`` (:data:`FIRST` for the first)."""
    return sha256((before + canonical([entry[name] for name in SEALED])).encode()).hexdigest()
