"""Days and plans made by hand for the sheets: every time in them was worked out on paper, none by the planner."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import numpy as np

from planner.clock import DayClock
from planner.model.cars import Car, Fuel, Registration
from planner.model.crews import Carrier, CarrierId, Driver, DriverId, Transporter, TransporterId, VehicleClass
from planner.model.day import Day
from planner.model.decks import library
from planner.model.moves import Move, MoveId, MoveKind
from planner.model.orders import Buyer, Gate, Hold, Order, OrderRef, Promise
from planner.model.places import Compound, Nation, Place, PlaceId, Window
from planner.model.policy import Policy
from planner.model.rates import Rates, RunningCost, Wage
from planner.model.travel import Charge, ChargeBand, ChargeKind, RideTable, TravelTable
from planner.runs.errands import FERRY
from planner.runs.plan import Bound, NotPlaced, Plan
from planner.runs.run import (
    Activity,
    ActivityKind,
    CostKind,
    CostLine,
    Counter,
    Itinerary,
    Run,
    RunId,
    Stop,
    Visit,
)

A_DAY = date(2026, 3, 17)
LONG_NAME = "Professor Bartholomew Featherstonehaugh-Cholmondeley-Wintringham of Upper Slaughterford"
LONG_ADDRESS = (
    "The Old Converted Coach House and Stables, Flat 14b (second gate, past the duck pond)",
    "Llanfair-under-the-Ridgeway Business and Residential Park",
    "Great Wolfordington-on-the-Water",
    "Northamptonshire",
)


def place(key: str, name: str, lng: float, lat: float, postcode: str = "", nation: Nation = Nation.ENGLAND) -> Place:
    return Place(place_id=PlaceId(key), name=name, lng=lng, lat=lat, postcode=postcode, nation=nation)


def car(registration: str, make_model: str = "Aldine Vesper 1.2", **more: object) -> Car:
    values: dict[str, object] = {"mass_kg": 1250, "length_mm": 4100, "height_mm": 1480, "mileage": 31240, **more}
    return Car(registration=Registration(registration), make_model=make_model, **values)  # type: ignore[arg-type]


def order(ref: str, sold: Car, door: Place, name: str, opens: int, closes: int, **more: object) -> Order:
    values: dict[str, object] = {
        "buyer": Buyer(name=name, phone="01632 960 117", address=("4 Example Row", door.name), email="never@printed.example"),
        "stands_at": PlaceId("DAV"), "charge_pence": 19900, **more,
    }  # fmt: skip
    return Order(ref=OrderRef(ref), car=sold, door=door, promise=Promise(day=A_DAY, window=Window(opens_min=opens, closes_min=closes)),
                 **values)  # type: ignore[arg-type]


DAV = place("DAV", "Daventry preparation centre", -1.16, 52.26, "NN11 8PB")
TAU = place("TAU", "Taunton branch", -3.10, 51.02, "TA1 2BB")
DOORS = (
    place("D1", "Kettering", -0.72, 52.40, "NN16 8SA"),
    place("D2", "Cardiff", -3.18, 51.48, "CF10 3AT", Nation.WALES),
    place("D3", "Norwich", 1.30, 52.63, "NR1 3JU"),
    place("D4", "Glossop", -1.95, 53.44, "SK13 8AR"),
    place("D5", "Penzance", -5.53, 50.12, "TR18 2AB"),
)
ORDERS = (
    order("H-101", car("AB12CDE", equipment=("adaptive cruise control", "heated seats", "reversing camera")), DOORS[0],
          "Ann Mary Example", 540, 720, access_notes="Ring before the corner; the lane is narrow."),
    order("H-102", car("EV70ZZZ", "Brightwell Kestrel Long Range", fuel=Fuel.ELECTRIC, mass_kg=2140, equipment=("charging cable", "one-pedal driving")),
          DOORS[1], "Bryn Sample", 660, 960, part_exchange=car("OLD1PX", "Corvane Dart", mileage=98012, mass_kg=1010)),
    order("H-103", car("CD34EFG", "Tamar Pilgrim Estate", may_be_driven=False), DOORS[3], LONG_NAME, 600, 900,
          buyer=Buyer(name=LONG_NAME, phone="01632 960 118", address=LONG_ADDRESS), access_notes="No turning round for anything above 7.5 t. " * 4),
)
HELD = order("H-190", car("HE11DXX"), DOORS[2], "Cara Held", 600, 900, gates={Gate.FUNDS: False},
             hold=Hold(gate=Gate.FUNDS, owner="Accounts", cut_off_min=-420, to_do="Confirm the bank transfer of order H-190"))
TOO_FAR = order("H-104", car("FA12RRR", "Ostrava Mule"), DOORS[4], "Dee Far", 540, 660)


def move(key: str, kind: MoveKind, moved: Car, origin: str, destination: str, **more: object) -> Move:
    values: dict[str, object] = {"stays_behind_pence": 150_000, "destination_min": 30, "origin_min": 15, **more}
    return Move(move_id=MoveId(key), kind=kind, car=moved, origin=PlaceId(origin), destination=PlaceId(destination), **values)  # type: ignore[arg-type]


MOVES = (
    move("H-101", MoveKind.DELIVERY, ORDERS[0].car, "DAV", "D1", order="H-101", destination_window=Window(opens_min=540, closes_min=720)),
    move("H-102", MoveKind.DELIVERY, ORDERS[1].car, "DAV", "D2", order="H-102", destination_window=Window(opens_min=660, closes_min=960)),
    move("H-102-px", MoveKind.PART_EXCHANGE, ORDERS[1].part_exchange or ORDERS[1].car, "D2", "DAV", order="H-102", tied_to="H-102"),
    move("H-103", MoveKind.DELIVERY, ORDERS[2].car, "DAV", "D4", order="H-103", destination_window=Window(opens_min=600, closes_min=900)),
    move("R-7", MoveKind.RETURN, car("RE70TRN", "Aldine Vesper 1.2"), "D3", "DAV"),
    move("H-104", MoveKind.DELIVERY, TOO_FAR.car, "DAV", "D5", order="H-104", destination_window=Window(opens_min=540, closes_min=660)),
)
SEVERN = Charge(
    key="toll-x", name="Long Bridge toll", kind=ChargeKind.TOLL, pay_by="By midnight of the next day, on the operator's web page",
    bands=(ChargeBand(vehicle_class=VehicleClass.CAR, from_min=0, to_min=0, pence=250),), review_after=date(2026, 1, 1),
)  # fmt: skip


def tables(places: tuple[Place, ...]) -> dict[VehicleClass, TravelTable]:
    """Straight lines times 1.2 at 60 km/h: enough for a sheet, wrong for a driver."""
    lng, lat = np.array([p.lng for p in places]), np.array([p.lat for p in places])
    metres = (np.hypot((lng[:, None] - lng) * 68_000, (lat[:, None] - lat) * 111_000) * 1.2).astype(np.int32)
    nothing = np.zeros_like(metres)
    tolls = np.array([[a is DAV and b is DOORS[1] for b in places] for a in places], dtype=np.int64)  # the bridge to Cardiff
    return {kind: TravelTable(vehicle_class=kind, metres=metres, seconds=(metres * 3.6 / 60).astype(np.int32),
                              charge_mask=tolls, ferry_seconds=nothing) for kind in VehicleClass}


def drivers() -> tuple[Driver, ...]:
    base = {"base": PlaceId("DAV"), "phone": "01632 960 201"}
    return (
        Driver(driver_id=DriverId("P1"), name="Pat Plate", licences=frozenset({"B"}), **base),  # type: ignore[arg-type]
        Driver(driver_id=DriverId("T1"), name="Terry Transporter", licences=frozenset({"B", "C"}), role="transporter driver", **base),  # type: ignore[arg-type]
    )


def a_day(**more: object) -> Day:
    """One compound pair, three orders that go, one that is held, one too far, a return and a part-exchange."""
    places = (DAV, TAU, *DOORS)
    flat = np.full((len(places), len(places)), 90, dtype=np.int32)
    values: dict[str, object] = {
        "clock": DayClock(A_DAY),
        "places": places,
        "compounds": (
            Compound(place=DAV, window=Window(opens_min=330, closes_min=1200), address=("Unit 5", "Long March"), phone="01632 960 001", plate_sets=6),
            Compound(place=TAU, window=Window(opens_min=420, closes_min=1080), address=("Priory Way",), phone="01632 960 002"),
        ),
        "orders": (*ORDERS, TOO_FAR), "moves": MOVES, "drivers": drivers(), "held": (HELD,),
        "transporters": (
            Transporter(transporter_id=TransporterId("W2"), name="Two-car transporter", registration="TR26ANS", base=PlaceId("DAV"), deck="two-car",
                        gross_kg=7500, payload_kg=3300, slots=2, unladen_height_mm=3100),
        ),
        "carriers": (Carrier(carrier_id=CarrierId("HC"), name="Hired and Sons (invented)", phone="01632 960 300", pence_per_mile=120),),
        "rates": Rates(wages={role: Wage(pence_per_hour=Decimal(1300)) for role in ("plate driver", "transporter driver")},
                       fuel_pence={fuel: Decimal(140) for fuel in Fuel},
                       running={kind: RunningCost(pence_per_km=Decimal(5)) for kind in VehicleClass}),
        "policy": Policy(retailer="Quillbrook Cars", phone="01632 960 000"), "charges": (SEVERN,), "tables": tables(places),
        "rides": RideTable(minutes=flat, fare_pence=flat.copy() * 20),
        "notes": ("AB12CDE: height taken from the table of body classes.",),
        **more,
    }  # fmt: skip
    return Day(**values)  # type: ignore[arg-type]


def step(kind: ActivityKind, start: int, end: int, origin: str, destination: str = "", **more: object) -> Activity:
    return Activity(kind=kind, start_min=start, end_min=end, origin=PlaceId(origin), destination=PlaceId(destination or origin), **more)  # type: ignore[arg-type]


def visit(at: str, arrive: int, start: int, end: int, **more: object) -> Visit:
    values: dict[str, object] = {"window": None, "leaves": (), "takes": (), "aboard_after": (), "leg_metres": 0, "leg_min": 0, "leg_by": "car", **more}
    return Visit(place=PlaceId(at), arrive_min=arrive, start_min=start, end_min=end, **values)  # type: ignore[arg-type]


COUNTERS = (
    Counter(rule="driving in a day", used=342, limit=600, source="company rule"),
    Counter(rule="duty in a day", used=655, limit=660, source="company rule"),
)
LORRY_COUNTERS = (
    Counter(rule="driving in a day", used=342, limit=540, source="assimilated 561/2006 art. 6(1)"),
    Counter(rule="days of more than 9 h driving in a week", used=0, limit=2, source="assimilated 561/2006 art. 6(1)", is_count=True),
)


def plate_run() -> Run:
    """Collects H-102 at 06:30, hands it over in Cardiff at 11:00, comes home in the part-exchange."""
    a, d = ActivityKind, MoveId
    return Run(
        run_id=RunId("R1"), book="plates",
        itinerary=Itinerary(driver=DriverId("P1"), stops=(
            Stop(place=PlaceId("DAV"), takes=(d("H-102"),)), Stop(place=PlaceId("D2"), leaves=(d("H-102"),), takes=(d("H-102-px"),)),
            Stop(place=PlaceId("DAV"), leaves=(d("H-102-px"),)))),
        activities=(
            step(a.OTHER_WORK, 390, 405, "DAV", visit=0, says="Take Brightwell Kestrel Long Range (EV70ZZZ)"),
            step(a.DRIVE, 405, 525, "DAV", "D2", metres=140_000, aboard=(d("H-102"),), visit=1, says="Drive to Cardiff"),
            step(a.BREAK, 525, 540, "DAV", "D2", visit=1, says="Break"),
            step(a.DRIVE, 540, 600, "DAV", "D2", metres=60_000, aboard=(d("H-102"),), visit=1, says="Drive to Cardiff"),
            step(a.AVAILABLE, 600, 660, "D2", visit=1),
            step(a.OTHER_WORK, 660, 710, "D2", visit=1, says="Hand over EV70ZZZ; take OLD1PX"),
            step(a.BREAK, 710, 755, "D2", visit=2, says="Break"),
            step(a.DRIVE, 755, 935, "D2", "DAV", metres=200_000, aboard=(d("H-102-px"),), visit=2, says="Drive to Daventry"),
            step(a.OTHER_WORK, 935, 945, "DAV", visit=2, says="Hand in OLD1PX")),
        visits=(
            visit("DAV", 390, 390, 405, window=Window(opens_min=330, closes_min=1200), takes=(d("H-102"),), aboard_after=(d("H-102"),)),
            visit("D2", 600, 660, 710, window=Window(opens_min=660, closes_min=960), leaves=(d("H-102"),), takes=(d("H-102-px"),),
                  aboard_after=(d("H-102-px"),), leg_metres=200_000, leg_min=180, charges=("toll-x",)),
            visit("DAV", 935, 935, 945, window=Window(opens_min=330, closes_min=1200), leaves=(d("H-102-px"),), leg_metres=200_000, leg_min=180),
            visit("DAV", 945, 945, 945, leg_by="ride")),
        costs=(CostLine(kind=CostKind.WAGES, says="9 h 15 at £13.00", pence=12025), CostLine(kind=CostKind.FUEL, says="400 km", pence=3900),
               CostLine(kind=CostKind.TOLL, says="Long Bridge toll", pence=250), CostLine(kind=CostKind.PLATES, says="one set", pence=350),
               CostLine(kind=CostKind.REVALET, says="cleaning", pence=1800, move=d("H-102"))),
        counters=COUNTERS,
    )  # fmt: skip


def transporter_run() -> Run:
    """Two cars out to Kettering and Glossop on the deck, then home empty."""
    a, d = ActivityKind, MoveId
    return Run(
        run_id=RunId("R2"), book="over-3500",
        itinerary=Itinerary(driver=DriverId("T1"), transporter=TransporterId("W2"), stops=(
            Stop(place=PlaceId("DAV"), takes=(d("H-103"), d("H-101"))), Stop(place=PlaceId("D1"), leaves=(d("H-101"),)),
            Stop(place=PlaceId("D4"), leaves=(d("H-103"),)))),
        activities=(
            step(a.OTHER_WORK, 420, 435, "DAV", says="Walk round the transporter, check lights, tyres, straps and deck"),
            step(a.OTHER_WORK, 435, 460, "DAV", visit=0, says="Take two cars"),
            step(a.DRIVE, 460, 520, "DAV", "D1", metres=62_000, aboard=(d("H-103"), d("H-101")), visit=1, says="Drive to Kettering"),
            step(a.AVAILABLE, 520, 540, "D1", visit=1),
            step(a.OTHER_WORK, 540, 580, "D1", visit=1, says="Hand over AB12CDE"),
            step(a.DRIVE, 580, 730, "D1", "D4", metres=168_000, aboard=(d("H-103"),), visit=2, says="Drive to Glossop"),
            step(a.OTHER_WORK, 730, 770, "D4", visit=2, says="Hand over CD34EFG"),
            step(a.BREAK, 770, 815, "D4", visit=3, says="Break"),
            step(a.DRIVE, 815, 975, "D4", "DAV", metres=170_000, visit=3, says="Drive to Daventry"),
            step(a.OTHER_WORK, 975, 985, "DAV", says="Park, secure and hand in the papers")),
        visits=(
            visit("DAV", 435, 435, 460, window=Window(opens_min=330, closes_min=1200), takes=(d("H-103"), d("H-101")),
                  aboard_after=(d("H-103"), d("H-101")), leg_by="transporter"),
            visit("D1", 520, 540, 580, window=Window(opens_min=540, closes_min=720), leaves=(d("H-101"),), aboard_after=(d("H-103"),),
                  leg_metres=62_000, leg_min=60, leg_by="transporter"),
            visit("D4", 730, 730, 770, window=Window(opens_min=600, closes_min=900), leaves=(d("H-103"),), leg_metres=168_000, leg_min=150,
                  leg_by="transporter"),
            visit("DAV", 975, 975, 985, leg_metres=170_000, leg_min=160, leg_by="transporter")),
        costs=(CostLine(kind=CostKind.WAGES, says="9 h 25 at £14.50", pence=13654), CostLine(kind=CostKind.FUEL, says="400 km", pence=9800),
               CostLine(kind=CostKind.VEHICLE_DAY, says="two-car transporter", pence=6500)),
        counters=(Counter(rule="driving in a day", used=370, limit=540, source="assimilated 561/2006 art. 6(1)"),),
    )  # fmt: skip


def hired_run() -> Run:
    """A hired carrier fetches the return from Norwich."""
    m = (MoveId("R-7"),)
    return Run(
        run_id=RunId("R3"), book="", activities=(),
        itinerary=Itinerary(driver=None, carrier=CarrierId("HC"), stops=(Stop(place=PlaceId("D3"), takes=m), Stop(place=PlaceId("DAV"), leaves=m))),
        visits=(visit("D3", 600, 600, 620, takes=m, aboard_after=m, leg_by="transporter"),
                visit("DAV", 800, 800, 820, leaves=m, leg_metres=220_000, leg_min=180, leg_by="transporter")),
        costs=(CostLine(kind=CostKind.HIRED, says="137 miles", pence=16440, move=m[0]),),
    )  # fmt: skip


def a_plan(**more: object) -> Plan:
    """The three runs above and the order that is too far."""
    values: dict[str, object] = {
        "runs": (plate_run(), transporter_run(), hired_run()),
        "not_placed": (NotPlaced(move=MoveId("H-104"), pence=150_000, reason="Penzance cannot be reached before 11:00 by any crew that starts at 06:00"),),
        "bound": Bound(pence=210_000, covers="every legal run"), "found_by": "by hand", "seconds": 1.0, **more,
    }  # fmt: skip
    return Plan(**values)  # type: ignore[arg-type]


def eleven_cars() -> tuple[Day, Plan]:
    """A large transporter with eleven cars, left one by one at eleven doors with long names."""
    day = a_day()
    doors = tuple(place(f"E{n}", f"Door {n} near Great Wolfordington", -1.5 + n / 10, 52.2 + n / 20, f"NN1 {n % 10}AB") for n in range(11))
    sold = tuple(order(f"E-{n}", car(f"EL{n:02}VEN", f"Brightwell Kestrel Long Range Touring Edition {n}"), doors[n], LONG_NAME, 480 + 30 * n, 720 + 30 * n,
                       buyer=Buyer(name=LONG_NAME, phone="01632 960 118", address=LONG_ADDRESS)) for n in range(11))
    moves = tuple(move(f"E-{n}", MoveKind.DELIVERY, sold[n].car, "DAV", f"E{n}", order=f"E-{n}", destination_window=sold[n].promise.window) for n in range(11))
    places = (*day.places, *doors)
    big = replace(day.transporters[0], transporter_id=TransporterId("W11"), name="Eleven-car transporter", gross_kg=44_000, payload_kg=20_000, slots=11, unladen_height_mm=4000)
    flat = np.full((len(places), len(places)), 90, dtype=np.int32)
    day = replace(day, places=places, orders=(*day.orders, *sold), moves=(*day.moves, *moves), tables=tables(places),
                  transporters=(*day.transporters, big), rides=RideTable(minutes=flat, fare_pence=flat.copy()))
    ids = tuple(m.move_id for m in moves)
    activities, visits, now, here = [], [], 330, "DAV"
    activities.append(step(ActivityKind.OTHER_WORK, now, now + 132, "DAV", visit=0, says="Take eleven cars"))
    visits.append(visit("DAV", now, now, now + 132, takes=tuple(reversed(ids)), aboard_after=tuple(reversed(ids)), leg_by="transporter"))
    now += 132
    for n in range(11):
        activities.append(step(ActivityKind.DRIVE, now, now + 25, here, f"E{n}", metres=20_000, aboard=ids[n:], visit=n + 1))
        now, here = now + 25, f"E{n}"
        activities.append(step(ActivityKind.OTHER_WORK, now, now + 35, here, visit=n + 1, says=f"Hand over {n}"))
        visits.append(visit(here, now, now, now + 35, window=sold[n].promise.window, leaves=(ids[n],), aboard_after=tuple(reversed(ids[n + 1:])),
                            leg_metres=20_000, leg_min=25, leg_by="transporter"))
        now += 35
    activities.append(step(ActivityKind.DRIVE, now, now + 60, here, "DAV", metres=60_000, visit=12))
    visits.append(visit("DAV", now + 60, now + 60, now + 60, leg_metres=60_000, leg_min=60, leg_by="transporter"))
    stops = (Stop(place=PlaceId("DAV"), takes=tuple(reversed(ids))), *(Stop(place=PlaceId(f"E{n}"), leaves=(ids[n],)) for n in range(11)))
    run = Run(run_id=RunId("R11"), book="over-3500", itinerary=Itinerary(driver=DriverId("T1"), transporter=TransporterId("W11"), stops=stops),
              activities=tuple(activities), visits=tuple(visits), costs=(CostLine(kind=CostKind.WAGES, says="long day", pence=20_000),),
              counters=LORRY_COUNTERS)
    return day, Plan(runs=(run,), not_placed=())


def on_a_deck() -> tuple[Day, Plan]:
    """The eleven cars again, on a described deck with a height and a load sheet, as far as it holds them."""
    day, plan = eleven_cars()
    deck = library()["four-car-rigid"]
    truck = replace(day.transporters[-1], deck=deck.name, payload_kg=deck.payload_kg, gross_kg=deck.gross_kg, slots=len(deck.slots))
    day = replace(day, transporters=(*day.transporters[:-1], truck), decks={deck.name: deck})
    run = plan.runs[0]
    four = set(run.itinerary.moves[-4:])  # left at the first four doors
    stops = tuple(replace(stop, leaves=tuple(m for m in stop.leaves if m in four), takes=tuple(m for m in stop.takes if m in four)) for stop in run.itinerary.stops)
    kept = [n for n, stop in enumerate(stops) if stop.leaves or stop.takes]
    visits = tuple(replace(run.visits[n], leaves=stops[n].leaves, takes=stops[n].takes, aboard_after=tuple(m for m in run.visits[n].aboard_after if m in four)) for n in kept)
    activities = tuple(replace(step, aboard=tuple(m for m in step.aboard if m in four)) for step in run.activities if step.visit in kept)
    run = replace(run, itinerary=replace(run.itinerary, stops=tuple(stops[n] for n in kept)), visits=(*visits, run.visits[-1]), activities=activities)
    return day, replace(plan, runs=(run,))


def many_orders(num_runs: int = 30, per_run: int = 5) -> tuple[Day, Plan]:
    """Transporters that each leave ``per_run`` cars at doors all over the country: for sizes and times, not for sense."""
    day = a_day()
    rng = np.random.default_rng(7)
    count = num_runs * per_run
    doors = tuple(place(f"M{n}", f"Town {n}", float(rng.uniform(-3.5, 0.5)), float(rng.uniform(51.0, 54.5)), f"MK{n % 90 + 1} {n % 10}AB") for n in range(count))
    sold = tuple(order(f"M-{n:03}", car(f"MN{n % 100:02}Y{chr(65 + n // 100)}Z", f"Brightwell Kestrel {n}", equipment=("heated seats", "towbar")), doors[n],
                       f"Person Number{n}", 480, 1020) for n in range(count))
    moves = tuple(move(str(one.ref), MoveKind.DELIVERY, one.car, "DAV", door.place_id, order=one.ref, destination_window=one.promise.window)
                  for one, door in zip(sold, doors, strict=True))
    crews = tuple(Driver(driver_id=DriverId(f"X{n}"), name=f"Driver {n} Withalongname", base=PlaceId("DAV"), licences=frozenset({"B", "C1"})) for n in range(num_runs))
    trucks = tuple(replace(day.transporters[0], transporter_id=TransporterId(f"W{n:03}"), slots=per_run) for n in range(num_runs))
    places = (*day.places, *doors)
    flat = np.full((len(places), len(places)), 90, dtype=np.int32)
    day = replace(day, places=places, orders=sold, moves=moves, tables=tables(places), drivers=crews, transporters=trucks, held=(HELD,),
                  rides=RideTable(minutes=flat, fare_pence=flat.copy()))
    runs = tuple(_carried(f"R{n + 1}", crews[n], trucks[n], moves[n * per_run:(n + 1) * per_run]) for n in range(num_runs))
    return day, Plan(runs=runs, not_placed=(), bound=Bound(pence=400_000, covers="every legal run"), found_by="by hand", seconds=3.0)


def _carried(run_id: str, driver: Driver, truck: Transporter, moves: tuple[Move, ...]) -> Run:
    ids = tuple(one.move_id for one in moves)
    now, here = 360 + len(moves) * 12, "DAV"
    activities = [step(ActivityKind.OTHER_WORK, 360, now, "DAV", visit=0, says="Load")]
    visits = [visit("DAV", 360, 360, now, takes=ids[::-1], aboard_after=ids[::-1], leg_by="transporter")]
    for n, one in enumerate(moves):
        activities.append(step(ActivityKind.DRIVE, now, now + 50, here, one.destination, metres=45_000, aboard=ids[n:], visit=n + 1))
        activities.append(step(ActivityKind.OTHER_WORK, now + 50, now + 85, one.destination, visit=n + 1, says=f"Hand over {one.car.make_model}"))
        visits.append(visit(one.destination, now + 50, now + 50, now + 85, window=one.destination_window, leaves=(one.move_id,),
                            aboard_after=ids[n + 1:][::-1], leg_metres=45_000, leg_min=50, leg_by="transporter"))
        now, here = now + 85, one.destination
    activities.append(step(ActivityKind.DRIVE, now, now + 90, here, "DAV", metres=80_000, visit=len(moves) + 1))
    visits.append(visit("DAV", now + 90, now + 90, now + 90, leg_metres=80_000, leg_min=90, leg_by="transporter"))
    stops = (Stop(place=PlaceId("DAV"), takes=ids[::-1]), *(Stop(place=PlaceId(one.destination), leaves=(one.move_id,)) for one in moves))
    costs = (CostLine(kind=CostKind.WAGES, says="day", pence=13_000), CostLine(kind=CostKind.FUEL, says="305 km", pence=7_100),
             CostLine(kind=CostKind.VEHICLE_DAY, says=truck.name, pence=6_500))
    return Run(run_id=RunId(run_id), book="over-3500", itinerary=Itinerary(driver=driver.driver_id, transporter=truck.transporter_id, stops=stops),
               activities=tuple(activities), visits=tuple(visits), costs=costs, counters=COUNTERS[:1])


NOTES_FULL = (
    "Ring twenty minutes before. The second gate after the duck pond is locked until nine; the code is with the farmer's wife, who is often in the "
    "lower field. Do not turn in the neighbour's drive, he counts. Low branches over the last 300 m, soft verge on the left, two large dogs (friendly), "
    "one small one (not)."
)
EQUIPMENT_FULL = (
    "Adaptive cruise control with traffic jam assistant", "Lane keeping", "360 degree camera", "Parking sensors front and rear", "Heated seats front and rear",
    "Navigation", "Bluetooth", "CarPlay", "Panoramic roof", "Detachable towbar with 13-pin socket", "Isofix", "Keyless entry and start",
    "Charging cable type 2, 7 m, and granny cable", "One-pedal driving", "Hybrid", "Automatic gearbox", "Tyre pressure monitoring", "Telephone app",
    "Third row of seats", "Load cover", "Dog guard", "Winter mats", "Roof bars", "Head-up display",
)
CONDITION_FULL = (
    "Scratch 40 mm on the near-side rear door; two chips on the bonnet; kerbed front left alloy; worn driver's bolster; small dent below the fuel flap; "
    "windscreen chip outside the swept area, filled; boot lid strut slow in the cold; previous owner's towing mark on the rear bumper"
)


def ugly_day() -> tuple[Day, Plan]:
    """Everything long at once: eleven cars for eleven long doors, one of them on an island, and a long-named part-exchange."""
    day, plan = eleven_cars()
    ferry = Charge(key="ferry-x", name="Little Sound ferry, Wolfordington pier to Saint Bartholomew's Isle", kind=ChargeKind.FERRY, bands=(), must_book=True,
                   pay_by="Book by telephone at least 24 hours before, pay the purser on board in cash or by card, keep the counterfoil")
    sold = tuple(
        replace(one, access_notes=NOTES_FULL if at % 2 == 0 else "", no_large_vehicle=at == 3,
                car=replace(one.car, condition=CONDITION_FULL, equipment=EQUIPMENT_FULL, vin="ZZZ1234567890ABCD"))
        for at, one in enumerate(day.orders)
    )
    old = replace(car("OLD1PX", "Corvane Dart Estate Ambulance Conversion Limited Edition"), condition=CONDITION_FULL)
    sold = tuple(replace(one, part_exchange=old) if one.part_exchange is not None else one for one in sold)
    of = {one.ref: one.car for one in sold}
    moves = tuple(
        replace(one, car=of[one.order] if one.kind is MoveKind.DELIVERY and one.order in of else old if one.kind is MoveKind.PART_EXCHANGE else one.car)
        for one in day.moves
    )
    far = replace(HELD, ref=OrderRef("H-191-LONG"), hold=Hold(gate=Gate.PART_EXCHANGE, owner="Part-exchange desk and the finance company's settlement department",
                  cut_off_min=-300, to_do="Ring the finance company, ask for the settlement letter by e-mail, have it paid today and the receipt put into the file of the order"))
    left = NotPlaced(move=MoveId("H-104"), pence=150_000, reason="Penzance cannot be reached before 11:00 by any crew that starts at 06:00, the hired carriers take "
                     "no car above 2,000 kg on that day, and the crew that could stay out is away from base already")
    tight = replace(plate_run(), run_id=RunId("R12"), visits=tuple(replace(one, charges=("ferry-x", "toll-x") if number == 1 else ()) for number, one in enumerate(plate_run().visits)))
    island = PlaceId("D2")  # what R12 drives to: half an hour of ferry before the door
    activities = tuple(one for step in tight.activities for one in (
        (replace(step, end_min=step.end_min - 30), replace(step, kind=ActivityKind.AVAILABLE, start_min=step.end_min - 30, origin=island, metres=0, says=FERRY))
        if step.kind is ActivityKind.DRIVE and step.destination == island and step.end_min == 600 else (step,)))
    tight = replace(tight, activities=activities)
    met = {kind: replace(table, charge_mask=table.charge_mask * 3) for kind, table in day.tables.items()}  # the ferry is the second charge
    long_named = tuple(replace(one, name="Maximilian-Alexander Featherstonehaugh-Wintringham the Younger") if one.driver_id == "P1" else one for one in day.drivers)
    day = replace(day, orders=sold, moves=moves, held=(*day.held, far), charges=(*day.charges, ferry), drivers=long_named, tables=met)
    return day, Plan(runs=(plan.runs[0], tight, hired_run()), not_placed=(left,))
