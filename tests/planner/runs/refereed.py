"""A legal plan of the worked day, timed and priced by hand, that the referee's tests then break one rule at a time."""

import random
from dataclasses import replace

from planner.model.crews import CarrierId, DriverId, TransporterId
from planner.model.day import Day
from planner.model.moves import MoveId, MoveKind
from planner.model.places import PlaceId, Window
from planner.runs.plan import Bound, NotPlaced, Plan
from planner.runs.run import Activity, ActivityKind, CostKind, CostLine, Counter, Itinerary, Run, RunId, Stop, Visit
from tests.planner.runs.worked_day import AYR, BEE, FAR, MOVES, YARD, car, move, worked_day

DRIVE, WORK, BREAK, REST, WAIT, RIDE = (
    ActivityKind.DRIVE, ActivityKind.OTHER_WORK, ActivityKind.BREAK, ActivityKind.REST, ActivityKind.AVAILABLE, ActivityKind.RIDE,
)
M1, M2, M3, M4, M5, M6 = (MoveId(f"M{number}") for number in range(1, 7))


def legal_day(**changes: object) -> Day:
    """The worked day with windows, one bay, a move that stays behind and one for the hired carrier."""
    day = worked_day()
    windowed = {M1: Window(opens_min=480, closes_min=720), M4: Window(opens_min=540, closes_min=700)}
    moves = tuple(replace(item, destination_window=windowed.get(item.move_id)) for item in MOVES)
    moves += (
        move(5, MoveKind.DELIVERY, car("VW18XYA", 1300), YARD, BEE, stays_behind_pence=150_000),
        move(6, MoveKind.TRANSFER, car("ZA19BCD", 1250), YARD, FAR, stays_behind_pence=6_000),
    )
    compounds = tuple(replace(compound, bays=1) for compound in day.compounds)
    return replace(day, **{"moves": moves, "compounds": compounds, **changes})


def of_day(day: Day, kind: str, key: str, **changes: object) -> Day:
    """Return the day with one move, driver, transporter, carrier or compound changed."""
    name = {"moves": "move_id", "drivers": "driver_id", "transporters": "transporter_id", "carriers": "carrier_id",
            "compounds": "place_id"}[kind]
    items = getattr(day, kind)
    assert key in {getattr(item, name) for item in items}
    return replace(day, **{kind: tuple(replace(item, **changes) if getattr(item, name) == key else item for item in items)})


def act(kind: ActivityKind, start_min: int, end_min: int, origin: PlaceId, destination: PlaceId | None = None, *,
        visit: int | None = None, metres: int = 0, aboard: tuple[MoveId, ...] = ()) -> Activity:  # fmt: skip
    return Activity(kind=kind, start_min=start_min, end_min=end_min, origin=origin, destination=destination or origin,
                    metres=metres, aboard=aboard, visit=visit)  # fmt: skip


def call(place: PlaceId, arrive_min: int, start_min: int, end_min: int, *, leaves: tuple[MoveId, ...] = (),
         takes: tuple[MoveId, ...] = (), after: tuple[MoveId, ...] = (), leg: tuple[int, int, str] = (0, 0, ""),
         window: tuple[int, int] | None = None, charges: tuple[str, ...] = ()) -> Visit:  # fmt: skip
    return Visit(
        place=place, arrive_min=arrive_min, start_min=start_min, end_min=end_min, leaves=leaves, takes=takes, aboard_after=after,
        leg_metres=leg[0], leg_min=leg[1], leg_by=leg[2], charges=charges,
        window=Window(opens_min=window[0], closes_min=window[1]) if window else None,
    )  # fmt: skip


def line(kind: CostKind, pence: int, of: MoveId | None = None) -> CostLine:
    return CostLine(kind=kind, says="by hand", pence=pence, move=of)


def carried() -> Run:
    """
    A 7.5 t two-car transporter (payload 3,000 kg), 07:00 to 12:13: yard, A with part-exchange, B, yard.

    Times, 5% reserve: walk round 15; load two 2 x 12 = 24; 3600 s x 1.05 = 63 min, cut by a break of 15; at A 30 + 10 and
    20 + 12 = 72; 1800 s x 1.05 = 31.5, so 32; at B 30 + 10 = 40; 32; unload 10; end of day 10.

    wages        480 min (minimum shift) x 1560 p / 60                                                    = 12,480
    fuel         litres/km of OGV1 at 80, 60, 40 km/h 0.178571, 0.168524, 0.191339 (TAG A1.3), fully laden 1.171876
                 80 x 0.178571 x (1 + 0.171876 x 2700/3000) = 16.4955      M1 and M2 aboard
                 30 x 0.168524 x (1 + 0.171876 x 2300/3000) =  5.7219      M2 and M3
                 20 x 0.191339 x (1 + 0.171876 x 1100/3000) =  4.0680      M3
                 26.2854 litres x 148.5 p = 3,903.38                                                      =  3,903
    running      130 km x 9.309 p + 2 h x 365.78 p = 1,941.73                                             =  1,942
    vehicle day 6,000; toll at 07:39 420; zone on two legs once 5,000
    """
    return Run(
        run_id=RunId("R1"), book="over-3500",
        itinerary=Itinerary(driver=DriverId("D2"), transporter=TransporterId("T1"), stops=(
            Stop(place=YARD, takes=(M1, M2)), Stop(place=AYR, leaves=(M1,), takes=(M3,)), Stop(place=BEE, leaves=(M2,)),
            Stop(place=YARD, leaves=(M3,)),
        )),
        activities=(
            act(WORK, 420, 435, YARD), act(WORK, 435, 459, YARD, visit=0),
            act(DRIVE, 459, 499, YARD, AYR, visit=1, metres=80_000, aboard=(M1, M2)), act(BREAK, 499, 514, YARD),
            act(DRIVE, 514, 537, YARD, AYR, visit=1, aboard=(M1, M2)), act(WORK, 537, 609, AYR, visit=1),
            act(DRIVE, 609, 641, AYR, BEE, visit=2, metres=30_000, aboard=(M2, M3)), act(WORK, 641, 681, BEE, visit=2),
            act(DRIVE, 681, 713, BEE, YARD, visit=3, metres=20_000, aboard=(M3,)), act(WORK, 713, 723, YARD, visit=3),
            act(WORK, 723, 733, YARD),
        ),
        visits=(
            call(YARD, 420, 435, 459, takes=(M1, M2), after=(M1, M2), window=(300, 1300)),
            call(AYR, 537, 537, 609, leaves=(M1,), takes=(M3,), after=(M2, M3), window=(480, 720),
                 leg=(80_000, 63, "transporter"), charges=("Long Bridge",)),
            call(BEE, 641, 641, 681, leaves=(M2,), after=(M3,), leg=(30_000, 32, "transporter"), charges=("Old Town",)),
            call(YARD, 713, 713, 723, leaves=(M3,), leg=(20_000, 32, "transporter"), window=(300, 1300), charges=("Old Town",)),
        ),
        costs=(
            line(CostKind.WAGES, 12_480), line(CostKind.FUEL, 3_903), line(CostKind.RUNNING, 1_942),
            line(CostKind.VEHICLE_DAY, 6_000), line(CostKind.TOLL, 420), line(CostKind.ZONE, 5_000),
        ),
        counters=(Counter(rule="daily driving", used=127, limit=600, source="article 6(1)"),),
    )  # fmt: skip


def driven() -> Run:
    """
    An electric car driven 150 km at 100 km/h on plates, home by train, 08:00 to 11:50.

    Times: collect 15; 5400 s x 1.05 = 94.5, so 95; hand over 30; ride 90: 230 minutes.

    wages        240 min (minimum shift) x 1300 p / 60                                                    =  5,200
    charge       150 km x 0.220656352 kWh/km (TAG A1.3) x 30 p = 992.95                                   =    993
    plates 350; fare 2,320; re-valet 1,800; fall in value 150 x 6 = 900
    """
    return Run(
        run_id=RunId("R2"), book="plates",
        itinerary=Itinerary(driver=DriverId("D1"), stops=(Stop(place=YARD, takes=(M4,)), Stop(place=FAR, leaves=(M4,)))),
        activities=(
            act(WORK, 480, 495, YARD, visit=0), act(DRIVE, 495, 590, YARD, FAR, visit=1, metres=150_000, aboard=(M4,)),
            act(WORK, 590, 620, FAR, visit=1), act(RIDE, 620, 710, FAR, YARD, visit=2),
        ),
        visits=(
            call(YARD, 480, 480, 495, takes=(M4,), after=(M4,), window=(300, 1300)),
            call(FAR, 590, 590, 620, leaves=(M4,), window=(540, 700), leg=(150_000, 95, "car")),
            call(YARD, 710, 710, 710, leg=(0, 90, "ride")),
        ),
        costs=(
            line(CostKind.WAGES, 5_200), line(CostKind.CHARGE, 993, M4), line(CostKind.PLATES, 350), line(CostKind.FARE, 2_320),
            line(CostKind.REVALET, 1_800, M4), line(CostKind.VALUE_FALL, 900, M4),
        ),
    )  # fmt: skip


def hired() -> Run:
    """Base 4,000 p and 95 p a mile: 150 km / 1.609344 = 93.2057 miles, 12,854.54 p, above the least of 9,000 p."""
    return Run(
        run_id=RunId("R3"), book="", activities=(),
        itinerary=Itinerary(driver=None, carrier=CarrierId("C1"), stops=(
            Stop(place=YARD, takes=(M6,)), Stop(place=FAR, leaves=(M6,)),
        )),
        visits=(
            call(YARD, 0, 0, 0, takes=(M6,), after=(M6,), leg=(0, 0, "hired carrier")),
            call(FAR, 0, 0, 0, leaves=(M6,), leg=(150_000, 0, "hired carrier")),
        ),
        costs=(line(CostKind.HIRED, 12_855, M6),),
    )  # fmt: skip


def legal_plan() -> Plan:
    """Three runs and a move left behind: 29,745 + 11,563 + 12,855 + 150,000 = 204,163 pence."""
    return Plan(
        runs=(carried(), driven(), hired()),
        not_placed=(NotPlaced(move=M5, pence=150_000, reason="No slot is left on the transporter."),),
        bound=Bound(pence=200_000, covers="every run of this day"),
    )


TIMES = ("2026-06-10T07:00+01:00", "2026-06-10T11:10+01:00", "0001-01-01T00:00+00:00", "9999-12-31T23:59-12:00")
ALIKE = {int: (-1, 0, 1, 2, 60, 3000, 10**9, 10**15), bool: (True, False), float: (0.0, -5.5, 1e308),
         str: (*TIMES, "M1", "M4", "D1", "D2", "T1", "yard", "door-a", "drive", "rest", "other work", "car", "2026-03-29", "0", "")}
ANYTHING = (None, "", "M1", -1, 10**9, 1.5, True, [], {}, [[]], "x" * 50)


def damage(document: object, rng: random.Random) -> None:
    """Replace, remove or double one value somewhere below the top."""
    place: object = document
    while True:
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        key = rng.choice(keys)
        inner = place[key]
        if isinstance(inner, dict | list) and inner and rng.random() < 0.85:
            place = inner
            continue
        choice = rng.randrange(8)
        if choice == 0 and isinstance(place, dict):
            del place[key]
        elif choice == 1 and isinstance(place, list):
            place.append(inner)
        else:
            place[key] = rng.choice(ALIKE.get(type(inner), ANYTHING) if rng.random() < 0.7 else ANYTHING)
        return
