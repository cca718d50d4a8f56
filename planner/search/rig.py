"""
Rig: one type of transporter, or trade plates at one starting place, as the arrays that the label kernel reads.

Runs of one day and runs with a night out are rigs of their own.

Places of the arrays are tasks, then hubs (where cars are loaded, or unloaded on the way), then the start and end of the
run.  Rows are the later place and columns the earlier one, because labels go backwards.  Money is pence, unrounded and
never above what costing will say; ``ROUNDING_PENCE`` covers its rounding to whole pence.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import combinations, permutations

import numpy as np
import numpy.typing as npt

from planner.model.places import PlaceId
from planner.runs.run import RunKind
from planner.search.hours_floor import Owed
from planner.search.labels import FAR, Night, Node
from planner.search.tasks import Task

Ints = npt.NDArray[np.int32]
Floats = npt.NDArray[np.float64]

NO_MASS = 2**31 - 1  # above any; so many kilograms stand for none
LEGS_GUESSED = 30  # shortest legs to and from each task that guesses try
NEAR = 10  # customers that a label remembers at each task
MANY_TASKS = 600
MOST_HUBS_TOLD_APART = 5  # in the bounds of heads of runs
ROUNDING_PENCE = 3.0  # at most six lines of a run are rounded, each by half a penny


@dataclass(frozen=True, kw_only=True, slots=True)
class Option:
    """Who may crew the rig: a class of drivers (two with a support car), and what that costs and allows."""

    classes: tuple[int, ...]
    from_min: int
    home_min: int
    before_min: int  # ride to the transporter's base; likewise after
    after_min: int
    fixed_pence: float
    wage: Floats  # pence by minute of duty
    slope: float  # least pence a minute, for bounds
    drive_limit: int
    work_limit: int
    span_limit: int
    rest_min: int = 0  # of a night out, 0 where there is none


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Packed:
    """A rig's tables as the kernel reads them."""

    ways: Ints  # later place, earlier place, (minutes, driven, zones)
    prices: Floats  # later place, earlier place, (pence, pence a kilogram)
    nodes: Ints
    crews: Ints
    night: Ints
    wage: Floats  # rows that crews name, by minute of duty
    ride_pence: Floats  # wages of the rides to and from the transporter, at the least slope
    kg_rate: float
    least_kg: float
    arc_from: Ints
    arcs: Ints  # earlier place, minutes; grouped by later place
    arc_pence: Floats
    arc_kg_pence: Floats


@dataclass(kw_only=True, eq=False)
class Rig:
    """Everything the kernel needs of one rig; only ``shares`` is ever set anew, and tasks may be barred."""

    name: str
    kind: RunKind
    is_followed: bool  # by a support car
    transporter_type: int  # -1 on plates
    plate_base: PlaceId | None
    tasks: tuple[Task, ...]
    hub_places: tuple[PlaceId, ...]
    start: PlaceId
    options: tuple[Option, ...]
    took: Ints
    drove: Ints
    cost: Floats
    kg_cost: Floats
    zones: Ints
    zone_pence: Floats
    opens: Ints
    may_start: Ints
    reach: Ints  # the soonest that anybody is there
    ends_from: Ints
    closes: Ints
    work: Ints
    unload: Ints
    drive_in: Ints
    node_cost: Floats
    takes_load: Ints
    takes_back: Ints
    mass_in: Ints
    mass_back: Ints
    from_hub: Ints
    to_hub: Ints
    is_dropped_at: npt.NDArray[np.bool_]
    customer: Ints
    load_min: int
    slots: int
    payload_kg: int
    is_loose: bool
    keeps_load: bool
    walk_min: int
    end_min: int
    owed: Owed
    relaxed: tuple[str, ...] = ()
    one_of: frozenset[int] = frozenset()  # tasks of which a run has at least one, when there are any
    shares: Ints = field(init=False)  # of the deck: tasks by (delivered, collected); the last row is the whole of it

    def __post_init__(self) -> None:
        self.shares = np.zeros((len(self.tasks) + 1, 2), np.int32)

    def bar(self, place: int) -> None:
        """Let no run have this task; to be said before the rig is priced for the first time."""
        self.closes[place] = self.may_start[place] - 1

    @cached_property
    def earliest(self) -> int:
        """The first minute at which any of its crews may be at its start."""
        return min(option.from_min + option.before_min for option in self.options)

    @property
    def is_large(self) -> bool:
        """Whether fewer labels are worth four times the work on bounds of heads."""
        return len(self.tasks) >= MANY_TASKS

    @property
    def stays_out(self) -> bool:
        """Whether its runs have a night out."""
        return self.options[0].rest_min > 0

    @cached_property
    def last_min(self) -> int:
        """The last minute at which any of its crews may be back at its start."""
        return max(option.home_min - option.after_min for option in self.options)

    @cached_property
    def slope(self) -> float:
        """The least that a further minute of duty costs any of its crews."""
        return min(option.slope for option in self.options)

    @cached_property
    def step(self) -> int:
        """Minutes of a step in the table of completions; no task and no loading may be shorter."""
        return max(1, min(12, self.load_min if self.hub_places else 12, int(self.work.min(initial=12))))

    @cached_property
    def near(self) -> npt.NDArray[np.uint64]:
        """The customers that a label remembers at each task, to which more may be added."""
        return near_sets(self.took, len(self.tasks), self.customer, NEAR)

    @cached_property
    def packed(self) -> Packed:
        """The tables of the kernel, made once."""
        nodes = np.zeros((len(self.tasks) + len(self.hub_places), len(Node)), np.int32)
        nodes[:, Node.OPENS], nodes[:, Node.MAY_START], nodes[:, Node.CLOSES] = self.opens, self.may_start, self.closes
        nodes[:, Node.REACH] = self.reach
        tasks = len(self.tasks)
        for column, values in (
            (Node.ENDS_FROM, self.ends_from), (Node.WORK, self.work), (Node.UNLOAD, self.unload), (Node.DRIVE, self.drive_in),
            (Node.LOAD, self.takes_load), (Node.BACK, self.takes_back), (Node.KG_IN, self.mass_in),
            (Node.KG_BACK, self.mass_back), (Node.FROM_HUB, self.from_hub), (Node.TO_HUB, self.to_hub),
            (Node.CUSTOMER, self.customer),
        ):  # fmt: skip
            nodes[:tasks, column] = values
        if self.hub_places:
            nodes[tasks:, Node.TO_HUB] = np.where(self.is_dropped_at, 0, -1)
        wages = {id(option.wage): option.wage for option in self.options}  # many crews earn alike
        row_of = {name: row for row, name in enumerate(wages)}
        crews = np.array([
            (option.from_min, option.home_min, option.before_min, option.after_min, option.drive_limit, option.work_limit,
             option.span_limit, row_of[id(option.wage)]) for option in self.options
        ], np.int32)  # fmt: skip
        night = np.zeros(len(Night), np.int32)
        if self.stays_out:
            night[Night.REST] = min(option.rest_min for option in self.options)
            night[Night.DRIVE] = max(option.drive_limit for option in self.options)
            night[Night.WORK] = max(option.work_limit for option in self.options)
            night[Night.SPAN] = max(option.span_limit for option in self.options)
        later, earlier = np.nonzero(self._fits())
        work = np.append(self.work, np.zeros(len(self.hub_places) + 1, np.int32))
        minutes = self.took[later, earlier]
        return Packed(
            arc_from=np.searchsorted(later, np.arange(len(self.took) + 1)).astype(np.int32),
            arcs=np.ascontiguousarray(np.stack([earlier, minutes], axis=-1), np.int32),
            arc_pence=self.cost[later, earlier] + self.slope * (minutes + work[earlier]),
            arc_kg_pence=self.kg_cost[later, earlier],
            ways=np.ascontiguousarray(np.stack([self.took, self.drove, self.zones], axis=-1), np.int32),
            prices=np.ascontiguousarray(np.stack([self.cost, self.kg_cost], axis=-1), np.float64),
            nodes=nodes,
            crews=crews,
            night=night,
            wage=np.array([*wages.values()]),
            ride_pence=np.array([self.slope * (option.before_min + option.after_min) for option in self.options]),
            kg_rate=self.kg_pence_a_min,
            least_kg=float(self.mass_in.min(where=self.mass_in > 0, initial=NO_MASS) % NO_MASS),
        )

    def _fits(self) -> npt.NDArray[np.bool_]:
        """Return, by later and earlier place, the legs that windows leave room for."""
        tasks, size = len(self.tasks), len(self.took)
        latest = np.append(self.closes, self.last_min)
        ends_from = np.append(self.ends_from, np.full(size - tasks, self.earliest, np.int32))
        fits = (self.took < FAR) & (latest[:, None] - self.took >= ends_from[None, :])
        np.fill_diagonal(fits, val=False)
        return fits

    @cached_property
    def packed_near(self) -> Packed:
        """The tables of the kernel for guesses: of legs between many tasks the shortest of those that windows leave room for."""
        tasks, packed = len(self.tasks), self.packed
        if tasks <= LEGS_GUESSED * 3:
            return packed
        is_near = np.ones_like(self.took, np.bool_)
        minutes = np.where(self._fits(), self.took, FAR)[:tasks, :tasks]
        is_near[:tasks, :tasks] = _least_of_each_row(minutes) | _least_of_each_row(minutes.T).T
        later = np.repeat(np.arange(len(self.took)), np.diff(packed.arc_from))
        kept = is_near[later, packed.arcs[:, 0]]
        ways = packed.ways.copy()
        ways[~is_near, 0] = FAR
        return replace(
            packed, arc_from=np.searchsorted(later[kept], np.arange(len(self.took) + 1)).astype(np.int32), ways=ways,
            arcs=packed.arcs[kept], arc_pence=packed.arc_pence[kept], arc_kg_pence=packed.arc_kg_pence[kept],
        )  # fmt: skip

    @cached_property
    def hub_sets(self) -> tuple[int, ...]:
        """The sets of hubs, as bits, that a run has the driving and the minutes to call at; of few tasks, all."""
        hubs, first = len(self.hub_places), len(self.tasks)
        everything = tuple(range(1 << hubs))
        if self.stays_out or hubs > MOST_HUBS_TOLD_APART or not self.is_large:
            return everything
        drive_min = max(option.drive_limit for option in self.options)
        span_min = max(option.span_limit for option in self.options)

        def is_able(order: tuple[int, ...]) -> bool:
            way = np.array([-1, *(first + hub for hub in order), -1])
            drive, minutes = (int(table[way[1:], way[:-1]].sum()) for table in (self.drove, self.took))
            return drive <= drive_min and minutes + self.load_min * len(order) <= span_min

        able = {
            sum(1 << hub for hub in some) for count in range(hubs + 1) for some in combinations(range(hubs), count)
            if any(is_able(order) for order in permutations(some))
        }  # fmt: skip
        return tuple(some for some in everything if any(some & larger == some for larger in able))

    @property
    def kg_pence_a_min(self) -> float:
        """The most that one kilogram aboard adds to a minute of travel."""
        if not self.kg_cost.any():
            return 0.0
        with np.errstate(divide="ignore", invalid="ignore"):
            rates = np.where((self.took > 0) & (self.took < FAR), self.kg_cost / np.maximum(self.took, 1), 0.0)
        return float(rates.max(initial=0.0))


def _least_of_each_row(minutes: Ints) -> npt.NDArray[np.bool_]:
    """Return which are among the ``LEGS_GUESSED`` least of their row."""
    found = np.zeros(minutes.shape, np.bool_)
    np.put_along_axis(found, np.argpartition(minutes, LEGS_GUESSED, axis=1)[:, :LEGS_GUESSED], values=True, axis=1)
    return found


def words_for(customer: Ints) -> int:
    """Return how many words a bit set over customers takes, 64 a word."""
    return max(1, (int(customer.max(initial=0)) >> 6) + 1)


def near_sets(took: Ints, tasks: int, customer: Ints, size: int) -> npt.NDArray[np.uint64]:
    """
    Return for each task the customers that a label remembers while it is there: the ``size`` nearest, and itself.

    A bit set over customers, 64 a word.
    """
    near = np.zeros((max(tasks, 1), words_for(customer)), np.uint64)
    if not tasks:
        return near
    both = np.minimum(took[:tasks, :tasks], took[:tasks, :tasks].T)
    themselves = np.arange(tasks)[:, None]
    known = customer[np.hstack((np.argsort(both, axis=1, kind="stable")[:, : size + 1], themselves))]
    np.bitwise_or.at(near, (themselves, known >> 6), np.uint64(1) << (known & 63).astype(np.uint64))
    return near


def remember(near: npt.NDArray[np.uint64], task: int, customers: Sequence[int]) -> None:
    """Add customers to what a label remembers at ``task``."""
    for customer in customers:
        near[task, customer >> 6] |= np.uint64(1) << np.uint64(customer & 63)
