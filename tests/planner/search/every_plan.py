"""
Every plan of a tiny day: the least cost of all legal plans, found by trying them.

Nothing of the search is used: every order of taking and leaving cars by every crew is timed by ``lay_out`` and priced by
``price``, and every way to share the moves among crews, hired carriers and staying behind is added up.
"""

from collections.abc import Iterator
from functools import cache
from itertools import combinations, permutations

from planner.model.day import Day
from planner.runs.costing import price
from planner.runs.run import Itinerary, Run, RunKind, Stop
from planner.runs.timing import lay_out

Task = tuple[str, ...]  # a move, with its part-exchange when it has one


def tasks_of(day: Day) -> list[Task]:
    tied = {move.tied_to: move.move_id for move in day.moves if move.tied_to}
    return [(move.move_id, *((tied[move.move_id],) if move.move_id in tied else ())) for move in day.moves if not move.tied_to]


def joined(stops: list[Stop]) -> tuple[Stop, ...]:
    """Neighbours at one place made one visit, unless a car would be taken before another is left."""
    made: list[Stop] = []
    for stop in stops:
        if made and made[-1].place == stop.place and not (made[-1].takes and stop.leaves):
            last = made.pop()
            both = tuple(sorted(last.leaves + stop.leaves)), tuple(sorted(last.takes + stop.takes))
            made.append(Stop(place=stop.place, leaves=both[0], takes=both[1]))
        else:
            made.append(stop)
    return tuple(made)


def driven(day: Day, tasks: tuple[Task, ...]) -> Iterator[tuple[Stop, ...]]:
    for order in permutations(tasks):
        moves = [day.move_of[name] for task in order for name in task]
        yield joined([stop for move in moves for stop in (Stop(place=move.origin, takes=(move.move_id,)), Stop(place=move.destination, leaves=(move.move_id,)))])


def carried(day: Day, tasks: tuple[Task, ...], slots: int) -> Iterator[tuple[Stop, ...]]:
    """Every order in which cars can be taken and left, one event at a time, part-exchanges taken where their delivery is left."""
    extra = {task[0]: task[1] for task in tasks if len(task) == 2}

    def grow(waiting: frozenset[str], aboard: frozenset[str], done: list[Stop]) -> Iterator[tuple[Stop, ...]]:
        if not waiting and not aboard:
            yield joined(done)
        if len(aboard) < slots:
            for name in waiting:
                yield from grow(waiting - {name}, aboard | {name}, [*done, Stop(place=day.move_of[name].origin, takes=(name,))])
        for name in aboard:
            more = (extra[name],) if name in extra else ()
            yield from grow(waiting, aboard - {name} | set(more), [*done, Stop(place=day.move_of[name].destination, leaves=(name,), takes=more)])

    yield from set(grow(frozenset(task[0] for task in tasks), frozenset(), []))


def crews(day: Day) -> Iterator[Itinerary]:
    for driver in day.drivers:
        yield Itinerary(driver=driver.driver_id, stops=(), may_stay_out=True)
        for other in day.drivers:
            if other is not driver:
                yield Itinerary(driver=driver.driver_id, support_driver=other.driver_id, stops=(), may_stay_out=True)
        for transporter in day.transporters:
            yield Itinerary(driver=driver.driver_id, transporter=transporter.transporter_id, stops=(), may_stay_out=True)
    for carrier in day.carriers:
        yield Itinerary(driver=None, carrier=carrier.carrier_id, stops=())


def cheapest(day: Day, crew: Itinerary, tasks: tuple[Task, ...]) -> int | None:
    """The least cost at which the crew does exactly these tasks, None when it cannot."""
    from dataclasses import replace

    if crew.kind is RunKind.TRANSPORTER:
        ways = carried(day, tasks, day.transporter_of[crew.transporter].slots)
    elif crew.kind is RunKind.HIRED and (len(tasks) > 1 or len(tasks[0]) > 1):
        return None
    else:
        ways = driven(day, tasks)
    costs = []
    for stops in ways:
        run = lay_out(day, replace(crew, stops=stops))
        if isinstance(run, Run):
            costs.append(sum(line.pence for line in price(day, run)))
    return min(costs, default=None)


def least_cost(day: Day) -> int:
    """The cost of the cheapest legal plan of the day."""
    tasks = tuple(tasks_of(day))
    stays = [sum(day.move_of[name].stays_behind_pence for name in task) for task in tasks]
    runs = []
    for crew in crews(day):
        for size in range(1, len(tasks) + 1):
            for some in combinations(range(len(tasks)), size):
                pence = cheapest(day, crew, tuple(tasks[number] for number in some))
                if pence is not None:
                    people = frozenset(name for name in (crew.driver, crew.support_driver, crew.transporter) if name)
                    base = day.driver_of[crew.driver].base if crew.kind is RunKind.PLATE else None
                    runs.append((frozenset(some), people, base, crew.carrier, pence))
    sets = {compound.place_id: compound.plate_sets for compound in day.compounds}
    cars = {carrier.carrier_id: carrier.cars for carrier in day.carriers}

    @cache
    def rest(todo: frozenset[int], busy: frozenset[str], used: tuple[str, ...]) -> int:
        if not todo:
            return 0
        first = min(todo)
        best = stays[first] + rest(todo - {first}, busy, used)
        for some, people, base, carrier, pence in runs:
            if first not in some or not some <= todo or people & busy:
                continue
            if (base and used.count(base) >= sets[base]) or (carrier and used.count(carrier) >= cars[carrier]):
                continue
            more = tuple(sorted((*used, *(name for name in (base, carrier) if name))))
            best = min(best, pence + rest(todo - some, busy | people, more))
        return best

    return rest(frozenset(range(len(tasks))), frozenset(), ())
