"""Decks refuse what cannot be true together; the example decks keep the law's and the trade's figures."""

import pytest

from planner.faults import BadFiles
from planner.model.crews import Transporter
from planner.model.deck_text import read_decks
from planner.model.decks import Deck, Level, MassSum, Shut, Slot, Stack, library

NAMES = ["one-car-3500", "one-car-7500", "two-car-7500", "four-car-rigid", "five-car-rigid", "six-car-rigid", "eight-car-drawbar",
         "nine-car-drawbar", "eleven-car-artic"]  # fmt: skip


def slot(name, **more):
    return Slot(**({"name": name, "level": "bed", "x_mm": 0, "base_mm": 900, "length_mm": 5000, "width_mm": 2100, "height_mm": 2000,
                    "mass_kg": 2500} | more))  # fmt: skip


def deck(*slots, **more):
    return Deck(**({"name": "d", "says": "", "gross_kg": 7500, "payload_kg": 3000, "height_mm": 4000, "empty_height_mm": 2600,
                    "length_mm": 8000, "slots": slots} | more))  # fmt: skip


def test_the_library_has_every_size_from_one_car_to_eleven():
    assert list(library()) == NAMES
    assert [len(one.slots) for one in library().values()] == [1, 1, 2, 4, 5, 6, 8, 9, 11]
    assert all("(example)" in one.says for one in library().values())


@pytest.mark.parametrize("one", library().values(), ids=NAMES)
def test_library_decks_keep_the_limits_of_the_road(one):
    """
    Rigid of two axles 18 t, of three 26 t, a train of five 40 t, of six 44 t (from memory); 12 m rigid, 16.5 m articulated,
    18.75 m with a drawbar trailer (Construction and Use Regulations 1986, regulation 7); overhang at most 3.05 m at
    either end without notice (Schedule 12); loaded height 4.95 m at most as a routine ceiling (common practice).
    """
    longest = 16_500 if "artic" in one.name else 18_750 if one.trailer_kg else 12_000
    assert one.length_mm <= longest
    rigid, train = {2: 18_000, 3: 26_000}, {5: 40_000, 6: 44_000}
    assert one.gross_kg + one.trailer_kg <= (train if one.trailer_kg else rigid)[len(one.axles_mm)]
    assert all(max(level.front_mm, level.rear_mm) <= 3_050 for level in one.levels)
    assert one.height_mm <= 4_950
    assert all(slot.width_mm <= 2_550 for slot in one.slots)  # vehicle width (from memory)


@pytest.mark.parametrize("one", library().values(), ids=NAMES)
def test_the_figures_of_a_library_deck_agree_with_one_another(one):
    """
    What follows from one figure is not denied by another.

    The picture's places are left out for the deck whose platforms tilt: its cars reach over one another.
    """
    assert 0.5 <= one.unladen_kg / (one.gross_kg + one.trailer_kg) <= 0.65  # gross is unladen and payload; half of it at least is vehicle
    assert all(slot.base_mm + slot.height_mm <= one.height_mm for slot in one.slots)
    assert one.empty_height_mm <= one.height_mm
    assert max(slot.base_mm for slot in one.slots) < one.empty_height_mm  # its platforms are part of the empty vehicle
    assert list(one.axles_mm) == sorted(one.axles_mm)
    assert min(one.axles_mm) > 0
    assert max(one.axles_mm) < one.length_mm
    for level in one.levels:
        row = [slot for slot in one.slots if slot.level == level.name]
        assert max(slot.length_mm for slot in row) <= level.whole_mm
        if "tilted" not in one.says:
            start = min(slot.x_mm for slot in row)
            assert start - level.front_mm >= -3_050
            assert max(start + level.length_mm + level.rear_mm, *(slot.x_mm + slot.length_mm for slot in row)) <= one.length_mm + 3_050
    for stack in one.stacks:
        above, below = one.slot_of[stack.above], one.slot_of[stack.below]
        lowest = below.base_mm + 1_400 + stack.platform_mm  # a low car of 1.4 m below leaves room for one above
        assert lowest <= above.highest_mm
        assert lowest + 1_400 <= one.height_mm


@pytest.mark.parametrize("one", [one for one in library().values() if one.mass_sums], ids=lambda one: one.name)
def test_mass_sums_of_a_library_deck_agree_with_its_payload(one):
    """Groups that take all of a car take all of the payload; no share of a car is counted twice; no group takes more than the gross."""
    shares = {slot.name: sum(dict(total.shares).get(slot.name, 0) for total in one.mass_sums) for slot in one.slots}
    if len(one.mass_sums) > 1:
        assert set(shares.values()) == {1000}
        assert sum(total.max_kg for total in one.mass_sums) >= one.payload_kg
    assert max(shares.values()) <= 1000
    assert all(total.max_kg < one.gross_kg + one.trailer_kg for total in one.mass_sums)
    assert all(total.max_kg <= one.payload_kg for total in one.mass_sums)


@pytest.mark.parametrize(("name", "licence"), [
    ("one-car-3500", "B"), ("one-car-7500", "C1"), ("two-car-7500", "C1"), ("four-car-rigid", "C"), ("six-car-rigid", "C"),
    ("eight-car-drawbar", "CE"), ("nine-car-drawbar", "CE"), ("eleven-car-artic", "CE"),
])  # fmt: skip
def test_the_licence_follows_from_the_mass(name, licence):
    """gov.uk, driving licence categories: B to 3,500 kg, C1 to 7,500 kg, C above, CE with a trailer over 750 kg."""
    one = library()[name]
    vehicle = Transporter(transporter_id="t", name="t", registration="t", base="b", deck=name, gross_kg=one.gross_kg,
                          payload_kg=one.payload_kg, slots=len(one.slots), trailer_kg=one.trailer_kg)  # fmt: skip
    assert vehicle.licence == licence


def test_payloads_are_those_of_the_trade():
    """Common practice (facts 4.1, from memory): 3.5 t 1,300 to 1,700 kg; 7.5 t 2,500 to 3,500; 18 t 8,000 to 9,500."""
    assert library()["one-car-3500"].payload_kg == 1400
    assert all(2500 <= library()[name].payload_kg <= 3500 for name in ("one-car-7500", "two-car-7500"))
    assert all(8000 <= library()[name].payload_kg <= 9500 for name in ("four-car-rigid", "five-car-rigid"))


@pytest.mark.parametrize(("build", "words"), [
    (deck, "at least one slot"),
    (lambda: deck(slot("a"), slot("a")), "each slot once, got a twice"),
    (lambda: deck(slot("a"), levels=(Level(name="bed", length_mm=5000), Level(name="bed", length_mm=5000))), "each level once"),
    (lambda: deck(slot("a"), payload_kg=7500), "payload between 0 and 7500"),
    (lambda: deck(slot("a", blocked_by=("z",))), "blocked_by of slot a, got z"),
    (lambda: deck(slot("a"), stacks=(Stack(above="a", below="z", platform_mm=1),)), "a stack, got z"),
    (lambda: deck(slot("a"), shuts=(Shut(slot="a", other="z"),)), "a shut slot, got z"),
    (lambda: deck(slot("a"), mass_sums=(MassSum(name="axle", max_kg=1, shares=(("z", 1),)),)), "mass sum axle, got z"),
    (lambda: deck(slot("a", level="roof"), levels=(Level(name="bed", length_mm=5000),)), "slot a, got roof"),
    (lambda: deck(slot("a", blocked_by=("b",)), slot("b", blocked_by=("a",))), "got a ring"),
    (lambda: deck(slot("a"), slot("b"), slot("c"), stacks=(Stack(above="a", below="b", platform_mm=1), Stack(above="b", below="c", platform_mm=1))),
     "two high at most"),
    (lambda: slot("a", length_mm=0), "length_mm > 0"),
    (lambda: slot("a", raised_mm=100), "raised_mm >= base_mm"),
    (lambda: Level(name="bed", length_mm=5000, rear_mm=-1), "overhangs >= 0"),
    (lambda: MassSum(name="axle", max_kg=1, shares=(("a", 1001),)), "shares of 0 to 1000"),
])  # fmt: skip
def test_decks_that_cannot_be_are_refused(build, words):
    with pytest.raises(ValueError, match=words):
        build()


def test_equal_decks_are_one_key():
    one, other = deck(slot("a")), deck(slot("a"))
    assert one == other
    assert len({one, other, one.with_payload(2000)}) == 2


GOOD = """
[mine]
says = "Ours"
gross_kg = 7500
payload_kg = 3000
height_mm = 4000
empty_height_mm = 2600
length_mm = 8000
axles_mm = [1200, 5600]
slots = [ { name = "1", level = "bed", x_mm = 2000, base_mm = 900, length_mm = 5000, width_mm = 2100, height_mm = 2000, mass_kg = 2500 } ]
levels = [ { name = "bed", length_mm = 4800, rear_mm = 400 } ]
mass_sums = [ { name = "rear axle", max_kg = 3000, shares = { 1 = 900 } } ]
"""


def test_a_deck_of_your_own_is_read():
    mine = read_decks(GOOD, "decks.toml")["mine"]
    assert mine.levels == (Level(name="bed", length_mm=4800, rear_mm=400),)
    assert mine.mass_sums[0].shares == (("1", 900),)
    assert mine.axles_mm == (1200, 5600)


def test_every_fault_of_a_deck_file_comes_at_once():
    text = GOOD.replace("gross_kg = 7500\n", "").replace("payload_kg = 3000", 'payload_kg = "much"').replace("base_mm", "bottom_mm")
    text = text.replace("length_mm = 4800", "length_mm = 0").replace("{ 1 = 900 }", "7").replace("[1200, 5600]", '["x"]').replace("angle_deg = 9", "angle_deg = true")
    with pytest.raises(BadFiles) as caught:
        read_decks(text + "\n[other]\nsays = 3\nslots = [1]\nlevels = 2\n", "decks.toml")
    said = [str(problem) for problem in caught.value.problems]
    for words in ("mine.gross_kg: is missing", "mine.payload_kg: is not a whole number ('much')", "mine.slots[1].bottom_mm: is no field",
                  "mine.slots[1].base_mm: is missing", "mine.levels[1]: Expected a length > 0", "mine.mass_sums[1].shares: is not a table",
                  "mine.axles_mm: is not a list", "other.says: is not a text", "other.slots[1]: is no table",
                  "other.levels: is no list"):  # fmt: skip
        assert any(words in line for line in said), words


@pytest.mark.parametrize(("text", "words"), [("mine = [", "is not valid TOML"), ("mine = 3", "is no table"), ("[mine]\n" + GOOD.split("[mine]")[1].replace("3000\n", "9000\n", 1), "payload between")])
def test_texts_that_are_no_deck_are_refused(text, words):
    with pytest.raises(BadFiles, match=words):
        read_decks(text, "decks.toml")
