"""
The trail: a run's activities read as tasks with breaks and waits between, and set against its script.

A task may be cut by breaks; its slices are gathered into one :class:`Done`.  Breaks, rests and waits stand where the crew
is, or at the start of the leg that they interrupt; a wait aboard a ferry belongs to a visit, any other wait does not.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from planner.clock import DayClock
from planner.model.day import Day
from planner.model.places import Window
from planner.runs.referee.breach import Notebook, Rule
from planner.runs.referee.script import Script, Task, windows_at
from planner.runs.run import Activity, ActivityKind, Run, RunKind, Stop, Visit

FARTHEST_MIN = 14 * 1440
IDLE = (ActivityKind.BREAK, ActivityKind.REST, ActivityKind.AVAILABLE)
WORDS = {
    ActivityKind.DRIVE: (Rule.DRIVE_TIME, "driving minutes differ from the table with its reserve"),
    ActivityKind.RIDE: (Rule.RIDE_TIME, "minutes of the ride differ from the table"),
    ActivityKind.AVAILABLE: (Rule.FERRY_TIME, "minutes aboard the ferry differ from the table"),
}


@dataclass(slots=True)
class Done:
    """One task as the run has it: its slices in order."""

    slices: list[Activity]

    @property
    def key(self) -> tuple[object, ...]:
        """By what it is recognised as a task of the script."""
        first = self.slices[0]
        return (first.kind, first.origin, first.destination, first.visit)

    @property
    def minutes(self) -> int:
        """Minutes of the slices, what interrupts them left out."""
        return sum(part.end_min - part.start_min for part in self.slices)

    @property
    def start_min(self) -> int:
        """When it begins."""
        return self.slices[0].start_min

    @property
    def end_min(self) -> int:
        """When it is over."""
        return self.slices[-1].end_min

    def where(self, clock: DayClock) -> str:
        """Return kind, places and time in words."""
        first = self.slices[0]
        way = first.origin if first.origin == first.destination else f"{first.origin} to {first.destination}"
        return f"{first.kind} {way} at {clock.wall(first.start_min)}"


def is_idle(step: Activity) -> bool:
    """Return whether nothing of the script is done: a break, a rest, a wait that is not the ferry's."""
    return step.kind in IDLE and not (step.kind is ActivityKind.AVAILABLE and step.visit is not None)


def gather(run: Run) -> list[Done]:
    """Return the tasks as done; zero-length slices of work are left out."""
    done: list[Done] = []
    for step in run.activities:
        if is_idle(step) or (step.kind is ActivityKind.OTHER_WORK and step.start_min == step.end_min):
            continue
        if done and done[-1].key == (step.kind, step.origin, step.destination, step.visit):
            done[-1].slices.append(step)
        else:
            done.append(Done([step]))
    return done


def done_of(run: Run) -> list[Done]:
    """Return the tasks as done that leave a trace."""
    return [item for item in gather(run) if item.minutes or item.slices[0].kind is ActivityKind.DRIVE]


def check_clock(day: Day, run: Run, notes: Notebook) -> bool:
    """Note where times do not follow on; return whether they do, so that the rest can be read."""
    steps, found = run.activities, len(notes.found)
    if not steps:
        notes.note(Rule.CLOCK, "", "the run has no activities")
        return False
    for step in steps:
        if step.end_min < step.start_min:
            notes.note(Rule.CLOCK, f"{step.kind} at {day.clock.wall(step.start_min)}", "it ends before it starts")
    for earlier, later in pairwise(steps):
        if later.start_min != earlier.end_min:
            notes.note(Rule.CLOCK, f"{later.kind} after {earlier.kind}", "it does not start when the one before ends",
                       expected=day.clock.wall(earlier.end_min), found=day.clock.wall(later.start_min))  # fmt: skip
    if steps[0].start_min < -FARTHEST_MIN or steps[-1].end_min > FARTHEST_MIN:
        notes.note(Rule.CLOCK, "", "the run lies weeks away from its day", expected=day.clock.day,
                   found=f"minutes {steps[0].start_min} to {steps[-1].end_min}")  # fmt: skip
    return len(notes.found) == found


def check_trail(day: Day, run: Run, script: Script, notes: Notebook) -> list[Done] | None:
    """Set activities against the script; return them task by task, None where they do not follow it."""
    done, tasks = done_of(run), tasks_of(run, script)
    for number, (item, task) in enumerate(zip(done, tasks, strict=False)):
        if item.key != task.key:
            notes.note(Rule.SEQUENCE, f"task {number + 1}", "the crew does something else", expected=_told(task.key),
                       found=_told(item.key))  # fmt: skip
            return None
    if len(done) != len(tasks):
        extra = done[len(tasks)].key if len(done) > len(tasks) else tasks[len(done)].key
        says = "something is done that nobody asked for" if len(done) > len(tasks) else "something is left out at the end"
        notes.note(Rule.SEQUENCE, _told(extra), says, expected=f"{len(tasks)} tasks", found=len(done))
        return None
    told = past_tasks(run, tasks)
    for number, (item, task) in enumerate(zip(done, tasks, strict=True)):
        _task(day, item, task, notes, is_told=number < told)
    _reshuffles(day, run, list(zip(done, tasks, strict=True))[told:], notes)
    _places(day, run, script, notes)
    return done


def tasks_of(run: Run, script: Script) -> list[Task]:
    """Return the tasks that leave a trace: of what is done those that took time, however little was meant to be done."""
    past = run.itinerary.past
    if past is None:
        return [task for task in script.tasks if task.minutes or task.road is not None]
    done, told = done_of(run), past_tasks(run, script.tasks)
    traces = {item.key for item in done}
    tasks = [task for task in script.tasks[:told] if task.kind is ActivityKind.DRIVE or task.key in traces]
    if past.is_over:
        return tasks[: len(done)]
    ahead = [task for task in script.tasks[told:] if task.minutes or task.road is not None]
    first = next((rank for rank, task in enumerate(ahead) if task.by), None)
    if first is not None:
        ahead[first] = replace(ahead[first], minutes=ahead[first].minutes + past.late_min)
    return [*tasks, *ahead]


def past_tasks(run: Run, tasks: Sequence[Task]) -> int:
    """Return how many of the first tasks are done already, whatever they took."""
    past = run.itinerary.past
    if past is None:
        return 0
    if past.is_over:
        return len(tasks)
    count = len(past.visits)
    return max((rank + 1 for rank, task in enumerate(tasks) if task.visit is not None and task.visit < count), default=0)


def _told(key: tuple[object, ...]) -> str:
    kind, origin, destination, visit = key
    way = f"at {origin}" if origin == destination else f"{origin} to {destination}"
    return f"{kind} {way}" + (f" (visit {int(str(visit)) + 1})" if visit is not None else "")


def _task(day: Day, item: Done, task: Task, notes: Notebook, *, is_told: bool) -> None:
    where = item.where(day.clock)
    if not is_told and task.kind is not ActivityKind.OTHER_WORK:
        rule, says = WORDS[task.kind]
        notes.compare(rule, where, says, task.minutes, item.minutes)
        for part in item.slices:
            if sorted(part.aboard) != sorted(task.aboard):
                notes.note(Rule.ABOARD, where, "other cars are aboard", expected=", ".join(task.aboard) or "none",
                           found=", ".join(part.aboard) or "none")  # fmt: skip
                break
    metres = [part.metres for part in item.slices]
    expected = [task.road.metres if task.road else 0] + [0] * (len(metres) - 1)
    notes.compare(Rule.METRES, where, "metres differ from the table (all on the first slice)", expected, metres)


def _reshuffles(day: Day, run: Run, pairs: Sequence[tuple[Done, Task]], notes: Notebook) -> None:
    """
    Work takes what the table says and the reshuffles of the deck at that stop, as many in all as the run says.

    Where visits say which cars are moved, each visit has its own number; otherwise whole reshuffles may lie anywhere.
    """
    each_min, counted = day.policy.reshuffle_min, 0
    moved = [len(visit.moved) for visit in run.visits]
    is_laid_out = any(visit.slots for visit in run.visits)
    for item, task in pairs:
        if task.kind is not ActivityKind.OTHER_WORK:
            continue
        more = item.minutes - task.minutes
        visit = task.visit if task.visit is not None and task.visit < len(moved) else None
        if is_laid_out and visit is not None:
            may = more == moved[visit] * each_min
        else:
            free = run.kind is RunKind.TRANSPORTER and task.visit is not None and run.reshuffles > 0 and each_min > 0
            may = more == 0 or (free and more > 0 and more % each_min == 0)
        if not may:
            notes.note(Rule.WORK_TIME, item.where(day.clock), "minutes of work differ from the policy",
                       expected=task.minutes + (moved[visit] * each_min if is_laid_out and visit is not None else 0),
                       found=item.minutes)  # fmt: skip
        elif each_min:
            counted += more // each_min
    if is_laid_out:
        counted = sum(moved)
    if run.itinerary.past is not None:  # reshuffles of what is done are told
        return
    if each_min or is_laid_out:
        notes.compare(Rule.RESHUFFLES, "", "reshuffles at the visits differ from those stated", counted, run.reshuffles)


def _places(day: Day, run: Run, script: Script, notes: Notebook) -> None:
    """Idle time stands where the crew is, or at the start of a leg that is not over."""
    steps, here = run.activities, script.home
    for number, step in enumerate(steps):
        if not is_idle(step):
            here = step.destination
            continue
        before = next((other for other in reversed(steps[:number]) if not is_idle(other)), None)
        after = next((other for other in steps[number + 1 :] if not is_idle(other)), None)
        is_mid_leg = before is not None and after is not None and before.kind is ActivityKind.DRIVE and (
            (before.origin, before.destination) == (after.origin, after.destination) and after.kind is before.kind
        )  # fmt: skip
        stands = before.origin if is_mid_leg and before is not None else here
        if (step.origin, step.destination) != (stands, stands):
            notes.note(Rule.SEQUENCE, f"{step.kind} at {day.clock.wall(step.start_min)}", "the crew is elsewhere",
                       expected=stands, found=f"{step.origin} to {step.destination}")  # fmt: skip
        if step.metres:
            notes.note(Rule.METRES, f"{step.kind} at {day.clock.wall(step.start_min)}", "nobody moves", expected=0,
                       found=step.metres)  # fmt: skip


def check_visits(day: Day, run: Run, script: Script, done: Sequence[Done], notes: Notebook) -> None:
    """Set each visit against its stop, its leg and the activities that belong to it."""
    tasks, past = tasks_of(run, script), run.itinerary.past
    stops: list[Stop] = list(run.itinerary.stops)
    if any(task.visit == len(stops) for task in tasks):
        back = script.transporter.base if script.transporter is not None else script.home
        stops.append(Stop(place=back))
    if not notes.compare(Rule.VISIT, "", "number of visits differs from the stops and the way back", len(stops),
                         len(run.visits)):  # fmt: skip
        return
    earlier_min = run.activities[0].start_min
    aboard: list[str] = []
    for number, (stop, visit) in enumerate(zip(stops, run.visits, strict=True)):
        where = f"visit {number + 1} at {stop.place}"
        stated = (visit.place, visit.leaves, visit.takes)
        notes.compare(Rule.VISIT, where, "place or cars differ from the stop", (stop.place, stop.leaves, stop.takes), stated)
        aboard = [move for move in aboard if move not in stop.leaves] + list(stop.takes)
        notes.compare(Rule.ABOARD, where, "cars aboard afterwards differ", sorted(aboard), sorted(visit.aboard_after))
        own = [(item, task) for item, task in zip(done, tasks, strict=True) if task.visit == number]
        if past is not None and number < len(past.visits):
            earlier_min = visit.end_min
            continue
        _leg(where, visit, [task for _, task in own if task.kind is not ActivityKind.OTHER_WORK], notes)
        _times(day, where, visit, own, earlier_min, notes)
        _windows(day, where, stop, visit, notes)
        earlier_min = visit.end_min


def _leg(where: str, visit: Visit, legs: Sequence[Task], notes: Notebook) -> None:
    roads = [task.road for task in legs if task.road is not None]
    notes.compare(Rule.LEG, where, "metres of the leg differ", sum(way.metres for way in roads), visit.leg_metres)
    notes.compare(Rule.LEG, where, "minutes of the leg differ", sum(task.minutes for task in legs), visit.leg_min)
    notes.compare(Rule.LEG, where, "the leg is made otherwise", legs[0].by if legs else "", visit.leg_by)
    charges = tuple(key for way in roads for key in way.charges)
    notes.compare(Rule.LEG, where, "charges on the way differ", sorted(charges), sorted(visit.charges))


def _times(
    day: Day, where: str, visit: Visit, own: Sequence[tuple[Done, Task]], earlier_min: int, notes: Notebook,
) -> None:  # fmt: skip
    """Arrival is the end of the leg, start and end those of the work; without a leg, arrival is any time since before."""
    wall = day.clock.wall
    legs = [item for item, task in own if task.kind is not ActivityKind.OTHER_WORK]
    work = [item for item, task in own if task.kind is ActivityKind.OTHER_WORK]
    if legs:
        notes.compare(Rule.VISIT, where, "arrival is not the end of the leg", wall(legs[-1].end_min), wall(visit.arrive_min))
    if work:
        notes.compare(Rule.VISIT, where, "start is not that of the work", wall(work[0].start_min), wall(visit.start_min))
        notes.compare(Rule.VISIT, where, "end is not that of the work", wall(work[-1].end_min), wall(visit.end_min))
    elif visit.start_min != visit.end_min:
        notes.note(Rule.VISIT, where, "it lasts, yet there is nothing to do", expected=wall(visit.start_min),
                   found=wall(visit.end_min))  # fmt: skip
    if not earlier_min <= visit.arrive_min <= visit.start_min <= visit.end_min:
        notes.note(Rule.VISIT, where, "times are out of order", expected="visit before, arrival, start, end",
                   found=", ".join(map(wall, (earlier_min, visit.arrive_min, visit.start_min, visit.end_min))))  # fmt: skip


def _windows(day: Day, where: str, stop: Stop, visit: Visit, notes: Notebook) -> None:
    windows, _ = windows_at(day, stop)
    for window in dict.fromkeys(windows):
        if not window.opens_min <= visit.start_min < window.closes_min:
            notes.note(Rule.WINDOW, where, "work starts outside the window", expected=window_text(day, window),
                       found=day.clock.wall(visit.start_min))  # fmt: skip
    if windows:
        opens_min = max(window.opens_min for window in windows)
        closes_min = min(window.closes_min for window in windows)
        met = Window(opens_min=opens_min, closes_min=closes_min) if opens_min < closes_min else None
    else:
        met = None
    notes.compare(Rule.VISIT, where, "the window stated differs", met and window_text(day, met),
                  visit.window and window_text(day, visit.window))  # fmt: skip


def window_text(day: Day, window: Window) -> str:
    """Return a window as the clock shows it."""
    return f"{day.clock.wall(window.opens_min)} to {day.clock.wall(window.closes_min)}"


def _check_nights_away(day: Day, run: Run, notes: Notebook) -> None:
    """A night out is not spent where the run ends; one in the middle of a drive bears the place where the drive began."""
    itinerary = run.itinerary
    if itinerary.driver is None:
        return
    base = day.transporter_of[itinerary.transporter].base if itinerary.transporter else day.driver_of[itinerary.driver].starts_at
    idle = (ActivityKind.REST, ActivityKind.BREAK)
    for number, step in enumerate(run.activities):
        if step.kind is not ActivityKind.REST or step.end_min - step.start_min < 540 or step.destination != base:
            continue
        before = next((one for one in reversed(run.activities[:number]) if one.kind not in idle), None)
        after = next((one for one in run.activities[number:] if one.kind not in idle), None)
        way = [(one.kind, one.visit) for one in (before, after) if one is not None]
        if not (len(way) == 2 and way[0] == way[1] and way[0][0] is ActivityKind.DRIVE):
            notes.note(Rule.NIGHTS, "", "a night out is spent at base", found=day.clock.wall(step.start_min))


def check_shift(day: Day, run: Run, notes: Notebook) -> None:
    """Duty lies between the earliest start and the latest end of every driver; a night out gives one day more."""
    itinerary, wall = run.itinerary, day.clock.wall
    rests = sum(step.kind is ActivityKind.REST and step.end_min - step.start_min >= 540 for step in run.activities)
    notes.compare(Rule.NIGHTS, "", "nights out differ from the rests of 9 h or more", rests, run.nights)
    _check_nights_away(day, run, notes)
    if run.nights and not day.policy.nights_out:
        notes.note(Rule.POLICY, "", "nights out are switched off")
    for name in filter(None, (itinerary.driver, itinerary.support_driver)):
        driver = day.driver_of[name]
        if run.start_min < driver.starts_from_min and itinerary.past is None:
            notes.note(Rule.SHIFT, driver.name, "duty starts too early", expected=f"from {wall(driver.starts_from_min)}",
                       found=wall(run.start_min))  # fmt: skip
        latest_min = driver.home_by_min + 1440 * run.nights
        if run.end_min > latest_min:
            notes.note(Rule.SHIFT, driver.name, "duty ends too late", expected=f"by {wall(latest_min)}",
                       found=wall(run.end_min))  # fmt: skip
        if run.nights and not (itinerary.may_stay_out and driver.may_stay_out):
            notes.note(Rule.NIGHTS, driver.name, "this crew may not stay out")
