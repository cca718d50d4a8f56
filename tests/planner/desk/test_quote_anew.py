"""What changes in a plan that is made anew with one delivery more: words for each change, and pounds that add up."""

from dataclasses import replace

import pytest

from planner.desk.quote_anew import MOST_TOLD, STAYS_BEHIND, Anew, by_kind, changes
from planner.model.moves import MoveId, MoveKind
from planner.runs.run import CostKind, CostLine, Itinerary, Run, RunId, RunKind, Stop
from tests.planner.desk.quoting_world import world

ASKED = MoveId("asked")


@pytest.fixture(scope="module")
def day():
    return world(moves=12, seed=1, plate_drivers=6, transporters=2)


def a_run(day, number, moves, pounds, *, driver=0, transporter=None, carrier=None, kind=CostKind.WAGES):
    """A run as far as it is looked at: who does which cars, and one line of cost."""
    itinerary = Itinerary(
        driver=None if carrier else day.drivers[driver].driver_id, carrier=carrier, transporter=transporter,
        stops=(Stop(place=day.places[0].place_id, takes=tuple(moves)), Stop(place=day.places[-1].place_id, leaves=tuple(moves))),
    )  # fmt: skip
    line = CostLine(kind=kind, says="", pence=pounds * 100)
    return Run(run_id=RunId(number), book="", itinerary=itinerary, activities=(), visits=(), costs=(line,))


def told(day, fresh, gone, left=()):
    pence = sum(run.cost_pence for run in fresh) - sum(run.cost_pence for run in gone) + sum(pence for _, pence in left)
    found = changes(day, Anew(pence=pence, fresh=tuple(fresh), gone=tuple(gone), left=left), frozenset({ASKED}))
    assert sum(change.pence for change in found) == pence
    return [(change.says, change.pence) for change in found]


def test_a_run_that_takes_the_delivery_and_gives_up_a_car_is_told_first(day):
    a, b, c = (move.move_id for move in day.moves[:3])
    name = [driver.name for driver in day.drivers]
    old = [a_run(day, "R1", [a, b], 200), a_run(day, "R2", [c], 100, driver=1)]
    new = [a_run(day, "", [b, c], 190, driver=1), a_run(day, "", [a, ASKED], 250)]
    assert told(day, new, old) == [
        (f"R1 ({name[0]}) takes it and gives up {b}", 5_000), (f"R2 ({name[1]}) takes {b}", 9_000),
    ]  # fmt: skip


def test_crews_that_come_and_go_are_told(day):
    a, b = (move.move_id for move in day.moves[:2])
    van = day.transporters[0].transporter_id
    carrier = day.carriers[0]
    old = [a_run(day, "R1", [a], 200, kind=CostKind.FUEL)]
    new = [a_run(day, "", [ASKED, b], 90, transporter=van), a_run(day, "", [a], 180, carrier=carrier.carrier_id)]
    assert told(day, new, old) == [
        (f"One more transporter goes out with it and {b}", 9_000),
        (f"R1 ({day.drivers[0].name}) is not needed", -20_000),
        (f"A hired carrier goes with {a}", 18_000),
    ]  # fmt: skip
    assert dict(by_kind(new, old)) == {str(CostKind.WAGES): 27_000, str(CostKind.FUEL): -20_000}


def test_the_same_cars_at_the_same_cost_are_no_change(day):
    a, b = (move.move_id for move in day.moves[:2])
    old = [a_run(day, "R1", [a], 200), a_run(day, "R2", [b], 100, driver=1)]
    new = [a_run(day, "", [a, ASKED], 230, driver=1), a_run(day, "", [b], 100)]
    assert [says for says, _ in told(day, new, old)] == [f"R1 ({day.drivers[0].name}) takes it"]
    dearer = [new[0], a_run(day, "", [b], 103)]
    assert told(day, dearer, old)[1] == (f"R2 ({day.drivers[1].name}) goes with another crew", 300)


def test_a_car_that_stays_behind_is_told_with_its_price(day):
    a, b = (move.move_id for move in day.moves[:2])
    old, new = [a_run(day, "R1", [a], 200)], [a_run(day, "", [ASKED], 150)]
    found = told(day, new, old, ((a, 6_000), (b, -4_000)))
    assert (f"{a} stays behind", 6_000) in found
    assert (f"{b} no longer stays behind", -4_000) in found
    assert (STAYS_BEHIND, 2_000) in by_kind(new, old, ((a, 6_000), (b, -4_000)))


def test_many_changes_are_told_in_few_lines(day):
    names = [move.move_id for move in day.moves[:10]]
    old = [a_run(day, f"R{rank}", [name], 100 + rank) for rank, name in enumerate(names)]
    new = [a_run(day, "", [names[0], ASKED], 150), *(a_run(day, "", [name], 100 + 2 * rank) for rank, name in enumerate(names) if rank)]
    found = told(day, new, old)
    assert len(found) == MOST_TOLD + 1
    assert found[0][0].endswith("takes it")
    assert found[-1] == ("4 other changes", (1 + 2 + 3 + 4) * 100)


def test_a_part_exchange_goes_without_saying(day):
    delivery = day.moves[0]
    exchange = replace(
        day.moves[1], kind=MoveKind.PART_EXCHANGE, tied_to=delivery.move_id, origin=delivery.destination, destination=delivery.origin,
        destination_window=None, order=delivery.order,
    )  # fmt: skip
    with_exchange = replace(day, moves=(delivery, exchange, *day.moves[2:]))
    run = a_run(day, "", [ASKED, delivery.move_id, exchange.move_id], 80)
    assert run.kind is RunKind.PLATE
    assert told(with_exchange, [run], []) == [(f"One more driver goes out with it and {delivery.move_id}", 8_000)]
