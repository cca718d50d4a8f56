"""Happenings: the words in which the road is told to the office, and what each does to an order."""

from enum import StrEnum

from planner.desk.day_book.orders import CANCELLED, DELIVERED, OPEN
from planner.desk.intake_cells import CellFault, closest


class Happening(StrEnum):
    """What may happen on the road."""

    ON_DUTY = "on duty"
    LEFT = "left"
    ARRIVED = "arrived"
    COLLECTED = "collected"
    HANDED_OVER = "handed over"
    REFUSED = "refused"
    NOBODY_HOME = "nobody home"
    FAILED_CHECK = "failed its check"
    NOT_REACHED = "not reached"
    NOT_AS_DESCRIBED = "part-exchange not as described"
    CANCELLED = "cancelled"
    LATE = "late"
    BREAKDOWN = "breakdown"
    GOING_AGAIN = "going again"
    ILL = "driver ill"
    OFF_DUTY = "off duty"


#: What an order is afterwards; one that is open again has failed once more and waits for another day.
ENDS = {
    Happening.HANDED_OVER: DELIVERED, Happening.REFUSED: OPEN, Happening.NOBODY_HOME: OPEN, Happening.FAILED_CHECK: OPEN,
    Happening.NOT_REACHED: OPEN, Happening.CANCELLED: CANCELLED,
}  # fmt: skip
#: What can be said of an order alone, of a crew alone; the rest of either.
OF_ORDERS = frozenset({*ENDS, Happening.COLLECTED, Happening.NOT_AS_DESCRIBED})
OF_CREWS = frozenset({
    Happening.ON_DUTY, Happening.BREAKDOWN, Happening.GOING_AGAIN, Happening.ILL, Happening.OFF_DUTY,
})  # fmt: skip
#: What a crew does one after the other, so that its time cannot go back.
IN_TURN = frozenset({
    Happening.ON_DUTY, Happening.LEFT, Happening.ARRIVED, Happening.COLLECTED, Happening.HANDED_OVER, Happening.REFUSED,
    Happening.NOBODY_HOME, Happening.OFF_DUTY,
})  # fmt: skip
#: What begins a run, whenever the plan says it begins.
BEGINS = frozenset({Happening.ON_DUTY, Happening.LEFT})
#: What goes as planned, so that a plan drawn up before it was told still holds.
ROUTINE = tuple(
    one.value for one in (Happening.ON_DUTY, Happening.LEFT, Happening.ARRIVED, Happening.COLLECTED, Happening.OFF_DUTY)
)  # fmt: skip
_ALSO = {
    "on": Happening.ON_DUTY, "started": Happening.ON_DUTY, "off": Happening.OFF_DUTY, "home": Happening.OFF_DUTY,
    "done": Happening.HANDED_OVER, "delivered": Happening.HANDED_OVER, "picked up": Happening.COLLECTED,
    "out": Happening.NOBODY_HOME,
    "no answer": Happening.NOBODY_HOME, "failed check": Happening.FAILED_CHECK, "car failed its check": Happening.FAILED_CHECK,
    "broken down": Happening.BREAKDOWN,
    "broke down": Happening.BREAKDOWN, "mended": Happening.GOING_AGAIN, "ill": Happening.ILL,
    "px wrong": Happening.NOT_AS_DESCRIBED, "px not as described": Happening.NOT_AS_DESCRIBED, "delayed": Happening.LATE,
}  # fmt: skip


def happening(text: str) -> Happening:
    """
    Return what a text says happened, in the words of :class:`Happening` or a shorter way to say it.

    Raises
    ------
    CellFault
        If it says none.

    Examples
    --------
    >>> happening("Nobody  home"), happening("px wrong")
    (<Happening.NOBODY_HOME: 'nobody home'>, <Happening.NOT_AS_DESCRIBED: 'part-exchange not as described'>)

    """
    plain = " ".join(text.casefold().replace("_", " ").split())
    said: dict[str, Happening] = {**{one.value: one for one in Happening}, **_ALSO}
    if plain in said:
        return said[plain]
    near = closest(plain, said)
    known = ", ".join(Happening)
    raise CellFault("this is nothing that happens on the road", f"Did you mean {near}?" if near else f"Use one of: {known}.")
