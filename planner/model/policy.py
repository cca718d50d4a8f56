"""
Policy: the retailer's own choices, each with a default; ``policy.toml`` changes them.

Company limits may be stricter than the law and never looser; the rule books hold the law.
"""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Policy:
    """How this retailer wants its days planned.  Minutes, pence, metres."""

    retailer: str = "Your firm"
    phone: str = ""
    colour: str = "#1f4e5f"

    # What a promise not kept costs, set above what any one delivery costs, so that promises come before money.
    late_first_day_pence: int = 150_000
    late_more_days_pence: int = 50_000
    return_stays_pence: int = 12_000
    transfer_stays_pence: int = 6_000

    # Cars sold for one of the next days, moved to the compound nearest their buyer the day or night before where that pays;
    # the demo day's runs cost 121 pence for each straight kilometre of their cars, of which less than half is saved for sure.
    ahead_days: int = 3
    ahead_pence_per_km: int = 50  # what a kilometre less from compound to door saves of a car's share of a run; 0: none is moved

    # Work at the door and at the compound.
    handover_min: int = 30
    part_exchange_min: int = 20
    return_min: int = 20
    collect_at_compound_min: int = 15  # checks and paper before a car leaves on plates
    hand_in_at_compound_min: int = 10
    walk_round_min: int = 15  # vehicle check at the start of a transporter's day
    end_of_day_min: int = 10
    reshuffle_min: int = 15  # one car moved out of the way and back

    # Reserve on each leg, so that a plan survives ordinary traffic.
    reserve_percent: int = 5

    # Driving a sold car.
    driven_max_m: int = 450_000
    driven_moves_a_shift: int = 4
    plate_driving_max_min: int = 600
    plate_duty_max_min: int = 660
    plate_break_every_min: int = 120
    plate_break_min: int = 15
    support_car_allowed: bool = True

    # Ways home by train, coach and taxi (common practice; fitted to nothing but sense, change to your own experience).
    ride_fixed_min: int = 40  # taxi or walk at both ends, and the wait
    ride_kmh: float = 75.0
    ride_fixed_pence: int = 1_200
    ride_pence_per_km: float = 14.0
    ride_shortest_m: int = 3_000  # nearer than this a driver walks or takes a taxi: fixed minutes only

    # Large vehicles and height.
    route_height_mm: int = 4_950
    hired_carriers: bool = True
    nights_out: bool = True

    def __post_init__(self) -> None:
        for name in self.__dataclass_fields__:
            value = getattr(self, name)
            if isinstance(value, int | float) and value < 0:
                raise ValueError(f"Expected {name} >= 0, got {value}.")
