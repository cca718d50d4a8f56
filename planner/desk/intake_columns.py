"""Columns: what each table of a day folder may hold, in trade words; the reference page is checked against this."""

# ruff: noqa: E501 - a table is read best with one column of the file on one line

from enum import StrEnum

from planner.desk import intake_cells as cells
from planner.desk.intake_table import Column
from planner.model.cars import BELIEVED, Fuel
from planner.model.orders import Gate, Method

DAY_TIME = "HH:MM"


class OrderKind(StrEnum):
    """Why a row stands in the list of orders."""

    DELIVERY = "delivery"
    RETURN = "return"
    TRANSFER = "transfer"


def _believed(name: str) -> cells.Reader:
    """Return the reader of a car's figure that must be between the ends believed."""
    least, most = BELIEVED[name]
    return cells.whole(least=least, most=most, unit=name.rsplit("_", 1)[-1])


def _car_columns(prefix: str, whose: str, *, needed: bool) -> tuple[Column, ...]:
    said = "taken from the body class"
    return (
        Column(name=f"{prefix}registration", read=cells.registration, needed=needed, example="QL23 WXY",
               means=f"Registration or stock number of {whose}."),
        Column(name=f"{prefix}make_model", read=cells.name, needed=needed, example="Corvane Lumo 1.2",
               means=f"Make and model of {whose}, as people say it."),
        Column(name=f"{prefix}body", read=cells.name, example="hatchback", default_says="sizes must be given",
               means="Body class, for sizes that are not given (see the table of body classes)."),
        Column(name=f"{prefix}mass_kg", read=_believed("mass_kg"), unit="kg", example="1310",
               default_says=said, means="Kerb mass: ready to drive, without driver."),
        Column(name=f"{prefix}length_mm", read=_believed("length_mm"), unit="mm", example="4280",
               default_says=said, means="Length over bumpers."),
        Column(name=f"{prefix}height_mm", read=_believed("height_mm"), unit="mm", example="1470",
               default_says=said, means="Height with roof bars, box or aerial if it has them."),
        Column(name=f"{prefix}width_mm", read=_believed("width_mm"), unit="mm", example="1790",
               default_says=said, means="Width without mirrors."),
        Column(name=f"{prefix}fuel", read=cells.choice(Fuel), example="petrol", default_says="electric for an electric body class, else petrol",
               means="What moves it: petrol, diesel, hybrid or electric."),
        Column(name=f"{prefix}vin", read=cells.vin, default="", example="ZZZCV00T4PA012345", default_says="a line to write it on",
               means="Vehicle identification number, to be held against the car at the door."),
        Column(name=f"{prefix}mileage", read=cells.whole(least=0, most=1_000_000), unit="miles", example="18250", means="What its odometer shows."),
        Column(name=f"{prefix}condition", read=cells.words, default="", example="Scuff on the rear left wheel", means="Marks and faults that are known."),
    )  # fmt: skip


ORDERS: tuple[Column, ...] = (
    Column(name="order", read=cells.reference, needed=True, example="LL-20417", means="Reference of the order, each once."),
    Column(name="kind", read=cells.choice(OrderKind), default=OrderKind.DELIVERY, example="delivery",
           means="delivery: a sold car to its buyer; return: a car fetched back from a door; transfer: a car to a compound from another or from an auction or supplier."),
    *_car_columns("", "the car", needed=True),
    Column(name="value", read=cells.pounds, unit="pounds", example="14995", means="What the car is worth; for insurance, never printed for a driver."),
    Column(name="range_miles", read=cells.miles(most=1500), unit="miles", example="160", default_says="nobody said: not limited",
           means="How far it goes on what is in it."),
    Column(name="ground_clearance_mm", read=_believed("ground_clearance_mm"), unit="mm", example="140", means="Lowest point above the road."),
    Column(name="warning_light", read=cells.yes_no, default=False, example="no", means="yes: a warning light is on, so the car is carried."),
    Column(name="mot_until", read=cells.day, unit="date", example="2027-03-14", default_says="as gate_mot says",
           means="Last day of its MOT. Past it on the planning day, the car is carried."),
    Column(name="equipment", read=cells.listing(cells.name), example="two keys; charging cable", default=(), means="What goes with the car, parted by commas or semicolons."),
    Column(name="stands_at", read=cells.name, example="Daventry", default_says="needed for a delivery",
           means="Compound where the car stands. Blank for a return, and for a transfer that starts at a postcode."),
    Column(name="goes_to", read=cells.name, example="Normanton", default_says="needed for a return and a transfer",
           means="Compound to which the car goes. Blank for a delivery."),
    Column(name="buyer", read=cells.name, example="Ada Testwell", default_says="needed where there is a postcode",
           means="Who hands over or takes the car at the door."),
    Column(name="phone", read=cells.phone, example="07700 900101", default_says="needed for a delivery and a return", means="Their telephone."),
    Column(name="email", read=cells.name, example="ada@example.com", default="", means="Their e-mail; never printed for a driver."),
    Column(name="address_1", read=cells.name, example="Orchard House", default="", means="First line of the address."),
    Column(name="address_2", read=cells.name, example="Mill Lane", default="", means="Second line."),
    Column(name="address_3", read=cells.name, example="Kendal", default="", means="Third line, usually the town."),
    Column(name="postcode", read=cells.name, example="LA9 4PU", default_says="needed for a delivery and a return",
           means="Postcode of the door, or lat,lng in degrees."),
    Column(name="promised", read=cells.day, unit="date", example="2026-11-26", default_says="the planning day for a transfer, else needed",
           means="Date given to the buyer. Later than the planning day: left for its day. Earlier: late, and dearer to leave."),
    Column(name="window_opens", read=cells.clock_time, unit=DAY_TIME, example="10:00", default_says="door_opens of policy.toml",
           means="Start of the window given to the buyer."),
    Column(name="window_closes", read=cells.clock_time, unit=DAY_TIME, example="14:00", default_says="door_closes of policy.toml",
           means="End of the window; the crew arrives before it."),
    Column(name="method", read=cells.choice(Method), default=Method.ANY, example="any", means="any; carried: no added miles; driven: on trade plates only."),
    Column(name="priority", read=cells.whole(least=1, most=9), default=1, example="1", means="Multiplies the price of leaving it behind, 1 to 9."),
    Column(name="charge", read=cells.pounds, unit="pounds", example="149.00", default_says="nobody said", means="What the buyer pays for delivery."),
    Column(name="no_large_vehicle", read=cells.yes_no, default=False, example="no", means="yes: nothing above 7.5 t can reach the door."),
    Column(name="access_notes", read=cells.words, default="", example="Narrow lane; turn at the green", means="What the driver must know to get there."),
    Column(name="notes", read=cells.words, default="", example="Second owner", means="Anything else for the office."),
    Column(name="pinned_driver", read=cells.reference, example="D07", default_says="any driver", means="Only this driver may take it."),
    Column(name="pinned_transporter", read=cells.reference, example="T3", default_says="any", means="Only this transporter may take it."),
    *_car_columns("part_exchange_", "the part-exchange", needed=False),
    Column(name="part_exchange_mot", read=cells.yes_no, default=True, example="yes", means="no: it has no MOT, or a warning light is on; it is carried."),
    Column(name="part_exchange_goes_to", read=cells.name, example="Daventry", default_says="where the sold car came from", means="Compound to which the part-exchange goes."),
    *(Column(name=f"gate_{gate.value}", read=cells.yes_no, example="yes", default_says="as blank_gates of policy.toml says",
             means=f"yes: the gate \"{gate.value.replace('_', ' ')}\" is passed; no: it holds the order.") for gate in Gate),
)  # fmt: skip

DRIVERS: tuple[Column, ...] = (
    Column(name="driver", read=cells.reference, needed=True, example="D07", means="Short name of the driver, each once."),
    Column(name="name", read=cells.name, needed=True, example="Bram Sampleton", means="Full name."),
    Column(name="base", read=cells.name, needed=True, example="Daventry", means="Compound where they belong."),
    Column(name="licences", read=cells.listing(cells.licence, split=",;/ "), needed=True, example="B C1", means="Driving-licence categories."),
    Column(name="role", read=cells.name, default="plate driver", example="plate driver", means="Role, as in the wages of rates.toml."),
    Column(name="home_postcode", read=cells.name, example="NN11 4FD", default_says="starts and ends at the base", means="Where the shift starts and ends, if at home."),
    Column(name="starts_from", read=cells.clock_time, unit=DAY_TIME, default=360, example="06:00", means="Earliest start of duty."),
    Column(name="home_by", read=cells.clock_time, unit=DAY_TIME, default=1200, example="20:00",
           means="Latest end of duty; at or before starts_from means the next day."),
    Column(name="phone", read=cells.phone, default="", example="07700 900207", means="Telephone of the driver."),
    Column(name="drives_plates", read=cells.yes_no, default=True, example="yes", means="Whether they drive sold cars on trade plates."),
    Column(name="may_stay_out", read=cells.yes_no, default=False, example="no", means="Whether they may take a night out."),
    Column(name="transporter", read=cells.reference, example="T3", default_says="any their licence covers", means="The only transporter they take."),
    Column(name="days_off", read=cells.listing(cells.day_or_weekday), default=(), example="2026-12-24; Sunday", means="Dates and weekdays on which they do not work."),
    Column(name="driven_this_week", read=cells.hours, unit="hours", default=0, example="18:30", means="Driving since Monday 00:00."),
    Column(name="driven_last_week", read=cells.hours, unit="hours", default=0, example="41.5", means="Driving in the week before."),
    Column(name="worked_this_week", read=cells.hours, unit="hours", default=0, example="29:15", means="All work since Monday 00:00, driving included."),
    Column(name="duty_days", read=cells.whole(least=0, most=12), unit="days", default=0, example="3", means="24-hour periods used since the weekly rest ended."),
    Column(name="long_days", read=cells.whole(least=0, most=7), unit="days", default=0, example="0", means="Days above 9 hours of driving this week."),
    Column(name="short_rests", read=cells.whole(least=0, most=7), unit="rests", default=0, example="0", means="Reduced daily rests since the weekly rest."),
    Column(name="last_duty_ended", read=cells.moment, unit="date and time", example="2026-11-25 17:40", default_says="a weekly rest lies before",
           means="When the last duty ended."),
    Column(name="weekly_rest_ended", read=cells.moment, unit="date and time", example="2026-11-23 06:00", default_says="not known",
           means="When the last weekly rest ended."),
    Column(name="rest_owed", read=cells.hours, unit="hours", default=0, example="0", means="Weekly rest still to be made good."),
)  # fmt: skip

TRANSPORTERS: tuple[Column, ...] = (
    Column(name="transporter", read=cells.reference, needed=True, example="T3", means="Short name of the transporter, each once."),
    Column(name="name", read=cells.name, example="Two-car Daventry", default_says="its short name", means="What people call it."),
    Column(name="registration", read=cells.registration, needed=True, example="QX22 TRK", means="Registration."),
    Column(name="base", read=cells.name, needed=True, example="Daventry", means="Compound where it starts and ends."),
    Column(name="deck", read=cells.reference, needed=True, example="two-car-7500", means="Its loading surface, by its name in decks.toml or among the examples."),
    Column(name="gross_kg", read=cells.whole(least=1500, most=44_000, unit="kg"), unit="kg", needed=True, example="7500", means="Maximum mass, trailer not counted."),
    Column(name="payload_kg", read=cells.whole(least=300, most=30_000, unit="kg"), unit="kg", needed=True, example="3100", means="What it may carry in all."),
    Column(name="slots", read=cells.whole(least=1, most=14), unit="cars", example="2", default_says="as its deck has", means="How many cars it takes."),
    Column(name="trailer_kg", read=cells.whole(least=0, most=40_000, unit="kg"), unit="kg", default=0, example="0", means="Maximum mass of a trailer that it always draws."),
    Column(name="unladen_height_mm", read=cells.whole(least=0, most=4950, unit="mm"), unit="mm", default=0, example="2750", means="Height without cars."),
    Column(name="electric", read=cells.yes_no, default=False, example="no", means="Whether it runs on charge."),
    Column(name="litres_per_100km", read=cells.decimal(least=3, most=100), unit="litres", example="19.5", default_says="by the transport-appraisal formula",
           means="Measured consumption (kWh when electric)."),
    Column(name="tank_litres", read=cells.whole(least=20, most=1500, unit="litres"), unit="litres", example="120", default_says="usual for its mass",
           means="What its tank holds (kWh of battery when electric)."),
    Column(name="load_min", read=cells.whole(least=0, most=120), unit="minutes", default=12, example="12", means="Time to load and secure one car."),
    Column(name="unload_min", read=cells.whole(least=0, most=120), unit="minutes", default=10, example="10", means="Time to release and unload one car."),
    Column(name="off_the_road", read=cells.listing(cells.day_or_weekday), default=(), example="2026-12-02", means="Dates and weekdays on which it is not to be had."),
)  # fmt: skip

COMPOUNDS: tuple[Column, ...] = (
    Column(name="compound", read=cells.name, needed=True, example="Daventry", means="Name of the compound, each once; other tables use it."),
    Column(name="postcode", read=cells.name, needed=True, example="NN11 8QL", means="Its postcode, or lat,lng in degrees."),
    Column(name="address_1", read=cells.name, default="", example="Unit 4, Drayton Way", means="First line of its address."),
    Column(name="address_2", read=cells.name, default="", example="Drayton Fields", means="Second line."),
    Column(name="address_3", read=cells.name, default="", example="Daventry", means="Third line."),
    Column(name="phone", read=cells.phone, default="", example="01632 960101", means="Telephone of the gate."),
    Column(name="opens", read=cells.clock_time, unit=DAY_TIME, default=360, example="05:00", means="Opening on Monday to Friday."),
    Column(name="closes", read=cells.clock_time, unit=DAY_TIME, default=1260, example="22:00", means="Closing on Monday to Friday."),
    *(Column(name=f"{day}_{what}", read=cells.clock_time, unit=DAY_TIME, example=example, default_says="shut", means=f"{says} on {on}.")
      for day, on in (("saturday", "Saturdays"), ("sunday", "Sundays"), ("bank_holiday", "bank holidays of its nation"))
      for what, says, example in (("opens", "Opening", "07:00"), ("closes", "Closing", "13:00"))),
    Column(name="shut_on", read=cells.listing(cells.day_or_weekday), default=(), example="2026-12-24", means="Further dates on which it is shut."),
    Column(name="bays", read=cells.whole(least=1, most=100), unit="transporters", example="2", default_says="without limit", means="How many transporters load at once."),
    Column(name="plate_sets", read=cells.whole(least=0, most=500), unit="sets", default=0, example="8", means="Sets of trade plates kept there."),
)  # fmt: skip

CARRIERS: tuple[Column, ...] = (
    Column(name="carrier", read=cells.reference, needed=True, example="H1", means="Short name of the firm, each once."),
    Column(name="name", read=cells.name, needed=True, example="Fictley Haulage", means="Its name."),
    Column(name="phone", read=cells.phone, default="", example="01632 960250", means="Whom to ring."),
    Column(name="cars", read=cells.whole(least=0, most=500), unit="cars", default=1, example="3", means="How many cars it takes on the day."),
    Column(name="base_charge", read=cells.pounds, unit="pounds", default=0, example="60.00", means="Charge for each car, whatever the distance."),
    Column(name="per_mile", read=cells.pounds, unit="pounds", needed=True, example="1.35", means="Charge a mile by road."),
    Column(name="minimum_charge", read=cells.pounds, unit="pounds", default=0, example="180.00", means="Least charge for one car."),
    Column(name="max_miles", read=cells.whole(least=1, most=1500), unit="miles", default=1000, example="600", means="Farthest it goes."),
    Column(name="max_mass_kg", read=cells.whole(least=500, most=5000, unit="kg"), unit="kg", default=3500, example="2600", means="Heaviest car it takes."),
    Column(name="takes", read=cells.listing(cells.choice(OrderKind)), default=tuple(OrderKind), example="delivery; transfer",
           default_says="all three", means="Kinds it takes: delivery, return, transfer."),
    Column(name="ask_by", read=cells.clock_time, unit=DAY_TIME, example="16:00", default_says="any time", means="Latest time to ask, on the day before."),
)  # fmt: skip

RIDES: tuple[Column, ...] = (
    Column(name="district", read=cells.district, needed=True, example="TR1", means="Postcode district at one end."),
    Column(name="other_district", read=cells.district, needed=True, example="NN11", means="Postcode district at the other end; the ride is the same both ways."),
    Column(name="minutes", read=cells.whole(least=0, most=2880), unit="minutes", needed=True, example="395", means="Door to door by train, coach and taxi."),
    Column(name="fare", read=cells.pounds, unit="pounds", needed=True, example="118.40", means="What it costs."),
)  # fmt: skip

#: Every table of a day folder: its columns, and whether the folder must have it.
TABLES: dict[str, tuple[tuple[Column, ...], bool]] = {
    "orders": (ORDERS, True),
    "drivers": (DRIVERS, True),
    "transporters": (TRANSPORTERS, True),
    "compounds": (COMPOUNDS, True),
    "carriers": (CARRIERS, False),
    "rides": (RIDES, False),
}
