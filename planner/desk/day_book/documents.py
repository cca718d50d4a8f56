"""
Documents: published plans kept whole, byte for byte, by the SHA-256 of what they say.

An erased buyer is taken out of every plan that delivered to them: what is left tells the order by its reference and its
place by the postcode area, to a tenth of a degree; ``erased_at`` then says why the bytes are others than the SHA-256 of.
"""

import json
import re
import zlib
from collections.abc import Iterable, Mapping
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from sqlalchemy import insert, select, update

from planner.desk.day_book import tables
from planner.desk.day_book.change import Change
from planner.desk.day_book.reader import Reader

if TYPE_CHECKING:
    from planner.runs.plan_document import PlanFile

GONE = "(erased)"


def keep_plan(change: Change, raw: bytes, *, day: str) -> str:
    """Keep a plan's file and return its SHA-256; what is kept already is left as it is."""
    sha = sha256(raw).hexdigest()
    if _row(change, sha) is None:
        body = {"sha": sha, "kind": "plan", "day": day, "body": zlib.compress(raw)}
        change.connection.execute(insert(tables.document), [body])
    return sha


def _row(reader: Reader, sha: str) -> Any:
    return reader.connection.execute(select(tables.document).where(tables.document.c.sha == sha)).mappings().first()


def plan_bytes(reader: Reader, sha: str) -> bytes | None:
    """Return the file of a kept plan, None when it is not kept."""
    row = _row(reader, sha)
    return None if row is None else zlib.decompress(row["body"])


def kept_plan(reader: Reader, sha: str) -> "PlanFile | None":
    """Return a kept plan with its day, None when it is not kept."""
    from planner.runs.plan_document import plan_from_document  # with numpy, which most commands do without

    raw = plan_bytes(reader, sha)
    return None if raw is None else plan_from_document(json.loads(raw))


def altered(reader: Reader) -> Iterable[str]:
    """Yield a sentence for each kept plan that is not what was kept, although no buyer was taken out of it."""
    for row in reader.connection.execute(select(tables.document).order_by(tables.document.c.sha)).mappings():
        if row["erased_at"] is None and not _is_whole(row):
            yield f"The plan {row['sha'][:8]} of {row['day']} is not the one that was kept."


def _is_whole(row: Any) -> bool:
    try:
        return sha256(zlib.decompress(row["body"])).hexdigest() == str(row["sha"])
    except zlib.error:
        return False


def take_out(change: Change, ref: str) -> None:
    """Take the buyer of an order out of every plan kept of a day that the order's story names."""
    days = {event.day for event in change.events(topic=ref) if event.day is not None}
    table = tables.document
    for row in list(change.connection.execute(select(table).where(table.c.day.in_(sorted(days)))).mappings()):
        raw = _without(zlib.decompress(row["body"]), ref)
        if raw is not None:
            values = {"body": zlib.compress(raw), "erased_at": change.at}
            change.connection.execute(update(table).where(table.c.sha == row["sha"]).values(**values))


def _without(raw: bytes, ref: str) -> bytes | None:
    """Return a plan's file without the buyer of an order, None when it does not speak of that order."""
    document = json.loads(raw)
    day = document["day"]
    orders = [order for order in (*day["orders"], *day["held"]) if order["ref"] == ref]
    if not orders:
        return None
    order = orders[0]
    said = {order["buyer"][part]: GONE for part in ("name", "phone", "email") if order["buyer"][part]}
    order |= {"buyer": {"name": GONE, "phone": "", "address": [], "email": ""}, "access_notes": "", "notes": ""}
    door = order["door"]["place_id"]
    shared = [other for other in (*day["orders"], *day["held"]) if other["ref"] != ref and other["door"]["place_id"] == door]
    if not shared:
        area = door.split()[0]
        said |= {order["door"]["postcode"]: area, door: f"{area} {ref}"}
        for place in (order["door"], *(place for place in day["places"] if place["place_id"] == door)):
            place |= {"lng": round(place["lng"], 1), "lat": round(place["lat"], 1)}
    pattern = re.compile("|".join(rf"(?<!\w){re.escape(old)}(?!\w)" for old in sorted(filter(None, said), key=len, reverse=True)))
    return (json.dumps(_said_otherwise(document, pattern, said), indent=1, ensure_ascii=False) + "\n").encode()


def _said_otherwise(value: Any, pattern: re.Pattern[str], said: Mapping[str, str]) -> Any:
    """Return a document in whose texts, keys too, each of ``said`` is put in other words; packed tables stay as they are."""
    if isinstance(value, dict):
        return {
            pattern.sub(lambda found: said[found[0]], key): item if key == "zlib_base64" else _said_otherwise(item, pattern, said)
            for key, item in value.items()
        }
    if isinstance(value, list):
        return [_said_otherwise(item, pattern, said) for item in value]
    return pattern.sub(lambda found: said[found[0]], value) if isinstance(value, str) else value
