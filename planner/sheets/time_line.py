"""
The time line of a crew: its day as bars on one scale for all crews, drawn in SVG.

Kinds differ by pattern, not by colour alone.  Positions are shares of the width, so that the drawing stretches with the
page while its letters do not.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from planner.model.day import Day
from planner.runs.run import Activity, ActivityKind, Run
from planner.sheets.rule_names import rule_name
from planner.sheets.run_style import RunStyle
from planner.sheets.words import Words, words
from planner.sheets.work_text import work_text
from planner.units import hours_text

BAR_Y, BAR_HEIGHT = 16, 16
WINDOW_Y, WINDOW_STEP = BAR_Y + BAR_HEIGHT + 8, 11
ROOM_MIN = 30  # behind the last end, so that limits just ahead are seen

#: One hidden drawing holds the patterns; every time line refers to it.
PATTERNS = """<svg class="patterns" aria-hidden="true" width="0" height="0"><defs>
<pattern id="p-other-work" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
<rect width="6" height="6" fill="#fff"/><rect width="3" height="6" fill="#5b6b73"/></pattern>
<pattern id="p-ride" width="6" height="4" patternUnits="userSpaceOnUse"><rect width="6" height="4" fill="#fff"/>
<rect width="6" height="1.6" fill="#333"/></pattern>
<pattern id="p-available" width="5" height="5" patternUnits="userSpaceOnUse"><rect width="5" height="5" fill="#fff"/>
<circle cx="2.5" cy="2.5" r="0.9" fill="#555"/></pattern>
</defs></svg>"""

FILLS = {
    ActivityKind.OTHER_WORK: "url(#p-other-work)",
    ActivityKind.RIDE: "url(#p-ride)",
    ActivityKind.AVAILABLE: "url(#p-available)",
    ActivityKind.BREAK: "#fff",
    ActivityKind.REST: "#d7dee2",
}


@dataclass(frozen=True, slots=True)
class Scale:
    """The stretch of the day that every time line shows, in minutes; whole hours at both ends."""

    from_min: int
    to_min: int

    def share(self, minute: int) -> str:
        """Return where a minute lies, in per cent of the width."""
        return f"{100 * (minute - self.from_min) / (self.to_min - self.from_min):.2f}%"

    def width(self, start: int, end: int) -> str:
        """Return how wide a stretch is, in per cent."""
        return f"{100 * max(0, end - start) / (self.to_min - self.from_min):.2f}%"


def scale_of(runs: Iterable[Run]) -> Scale:
    """Return the scale that holds every run, at least 06:00 to 18:00."""
    chosen = list(runs)
    first = min((run.start_min for run in chosen), default=360)
    last = max((run.end_min for run in chosen), default=1080)
    return Scale(min(first, 360) // 60 * 60, -(-max(last + ROOM_MIN, 1080) // 60) * 60)


def axis_svg(day: Day, scale: Scale) -> str:
    """Return the hours above the time lines; every second one where there are many."""
    hours = range(scale.from_min, scale.to_min + 1, 60 if scale.to_min - scale.from_min <= 960 else 120)
    ends = {scale.from_min: ' style="text-anchor:start"', scale.to_min: ' style="text-anchor:end"'}
    marks = "".join(f'<text x="{scale.share(hour)}" y="12"{ends.get(hour, "")}>{day.clock.wall(hour)}</text>' for hour in hours)
    return f'<svg class="axis" height="16" aria-hidden="true">{marks}</svg>'


def time_line_svg(day: Day, run: Run, scale: Scale, style: RunStyle) -> str:
    """Return one crew's day: bars, numbered visits with their windows, and the latest end that is allowed."""
    w = words()
    windows = _windows(day, run, scale)
    height = WINDOW_Y + max(1, len(windows)) * WINDOW_STEP
    parts = [_hour_lines(scale, height), *windows]
    parts += [_bar(day, run, step, scale, style, w) for step in run.activities]
    if run.activities:  # nobody knows when in its window a hired carrier comes
        parts += [_visit(run, number, scale) for number in range(len(run.itinerary.stops))]
    parts += [_limit(minute, says, scale) for minute, says in limits_ahead(day, run, w)]
    return f'<svg class="line" height="{height}" role="img" aria-label="{escape(spoken(day, run, w))}">{"".join(parts)}</svg>'


def spoken(day: Day, run: Run, w: Words) -> str:
    """Return the time line in a sentence, for those who hear the page."""
    totals: dict[ActivityKind, int] = {}
    for step in run.activities:
        totals[step.kind] = totals.get(step.kind, 0) + step.end_min - step.start_min
    parts = ", ".join(f"{w(f'legend.{kind.name.lower()}')} {hours_text(minutes)}" for kind, minutes in totals.items())
    return w("timeline.spoken", run=run.run_id, start=day.clock.wall(run.start_min), end=day.clock.wall(run.end_min), parts=parts)


def limits_ahead(day: Day, run: Run, w: Words) -> list[tuple[int, str]]:
    """Return the minutes by which the duty must have ended: the driver's own, and what each duty limit leaves."""
    found = []
    if run.itinerary.driver is not None:
        driver = day.driver_of[run.itinerary.driver]
        minute = driver.home_by_min + 1440 * run.nights
        found.append((minute, w("timeline.home_by", time=day.clock.wall(minute))))
    for counter in run.counters:
        if "duty" in counter.rule.lower() and counter.slack >= 0 and not counter.is_count:
            minute = run.end_min + counter.slack
            found.append((minute, f"{rule_name(run.book, counter.rule, w)}: {day.clock.wall(minute)}"))
    return found


def _hour_lines(scale: Scale, height: int) -> str:
    lines = (scale.share(hour) for hour in range(scale.from_min, scale.to_min + 1, 60))
    return "".join(f'<line x1="{x}" x2="{x}" y1="0" y2="{height}" class="hour"/>' for x in lines)


def _bar(day: Day, run: Run, step: Activity, scale: Scale, style: RunStyle, w: Words) -> str:
    fill = style.colour if step.kind is ActivityKind.DRIVE else FILLS[step.kind]
    says = f"{day.clock.wall(step.start_min)}-{day.clock.wall(step.end_min)} {w(f'legend.{step.kind.name.lower()}')}"
    if more := work_text(day, run, step, w):
        says += f": {more}"
    return (
        f'<rect class="bar" x="{scale.share(step.start_min)}" width="{scale.width(step.start_min, step.end_min)}" y="{BAR_Y}" '
        f'height="{BAR_HEIGHT}" fill="{fill}"><title>{escape(says)}</title></rect>'
    )


def _windows(day: Day, run: Run, scale: Scale) -> list[str]:
    """Draw each promise beneath the day with the numbers of its visits; compounds' hours would only fill the page."""
    visits: dict[tuple[int, int], list[int]] = {}
    for number, visit in enumerate(run.visits, start=1):
        if visit.window is not None and visit.place not in day.compound_of:
            visits.setdefault((visit.window.opens_min, visit.window.closes_min), []).append(number)
    return [_window(day, opens, closes, numbers, tier, scale) for tier, ((opens, closes), numbers) in enumerate(visits.items())]


def _window(day: Day, opens: int, closes: int, numbers: list[int], tier: int, scale: Scale) -> str:
    x1, x2 = scale.share(max(opens, scale.from_min)), scale.share(min(closes, scale.to_min))
    y, marks = WINDOW_Y + tier * WINDOW_STEP, ", ".join(map(str, numbers))
    says = f"{marks}: {day.clock.wall(opens)}-{day.clock.wall(closes)}"
    return (
        f'<line class="window" x1="{x1}" x2="{x2}" y1="{y}" y2="{y}"><title>{escape(says)}</title></line>'
        f'<text class="window-mark" x="{x1}" dx="-5" y="{y + 3}">{marks}</text>'
    )


def _visit(run: Run, number: int, scale: Scale) -> str:
    visit = run.visits[number]
    x = scale.share((visit.start_min + visit.end_min) // 2)
    return f'<text class="visit" x="{x}" y="{BAR_Y - 4}">{number + 1}</text>'


def _limit(minute: int, says: str, scale: Scale) -> str:
    if not scale.from_min <= minute <= scale.to_min:
        return ""
    x = scale.share(minute)
    y1, y2 = BAR_Y - 6, BAR_Y + BAR_HEIGHT + 6
    return f'<line class="limit" x1="{x}" x2="{x}" y1="{y1}" y2="{y2}"><title>{escape(says)}</title></line>'
