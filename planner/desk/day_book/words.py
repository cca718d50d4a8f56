"""Words: an event as one sentence that a router understands."""

from datetime import datetime
from typing import Any

from planner.clock import office_time
from planner.desk.day_book.entries import Event

_UNSAID = {"buyer", "version", "sha", "plan", "crew", "crews", "promises", "shifts"}


def sentence(event: Event) -> str:
    """Return what was done, by whom, when by the office's clocks, and from what to what."""
    head = f"{office_time(datetime.fromisoformat(event.at)):%H:%M on %Y-%m-%d}, {event.actor}: "
    if event.thing in ("road", "told"):
        return head + _on_the_road(event)
    head += f"{event.subject} {event.kind}"
    details = difference(event.before, event.after)
    return f"{head} ({'; '.join(details)})" if details else head


def _on_the_road(event: Event) -> str:
    value = event.after or event.before
    crew = " with ".join(name for name in (value["crew"], value["transporter"]) if name)
    whose = f" ({crew})" if value["order"] and crew else ""
    late = f" by {value['late_min']} minutes" if value["late_min"] is not None else ""
    remark = f": {value['says']}" if value["says"] else ""
    kind = "" if event.kind == value["what"] else f"{event.kind}: "
    return f"{kind}{value['order'] or value['crew']} {value['what']}{late} at {value['at'][11:16]}{whose}{remark}"


def difference(before: Any, after: Any) -> list[str]:
    """
    Return what changed between two values, a phrase for each part.

    >>> difference({"a": 1, "b": "x"}, {"a": 2, "b": "x", "c": "new"})
    ['a 1 -> 2', 'c new']
    """
    if not isinstance(before, dict) or not isinstance(after, dict):
        if before is None:
            return _told(after)
        return [] if after is None else [f"{_plain(before)} -> {_plain(after)}"]
    found = []
    for key in sorted({*before, *after} - _UNSAID):
        old, new = before.get(key), after.get(key)
        if old != new:
            name = key.replace("_", " ")
            found.append(f"{name} {_plain(new)}" if old in (None, "") else f"{name} {_plain(old)} -> {_plain(new)}")
    return found


def _told(value: Any) -> list[str]:
    if isinstance(value, dict):
        said = {key.replace("_", " "): item for key, item in value.items() if key not in _UNSAID and _is_short(item)}
        return [f"{key} {_plain(item)}" for key, item in said.items()]
    return [_plain(value)] if value is not None else []


def _is_short(value: Any) -> bool:
    return value not in (None, "", 0, [], {}) and not isinstance(value, dict | list)


def _plain(value: Any) -> str:
    if value is None or value == "":
        return "nothing"
    if isinstance(value, dict):
        return ", ".join(_told(value))
    return ", ".join(map(_plain, value)) if isinstance(value, list) else str(value)
