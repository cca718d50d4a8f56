"""
What a transporter weighs and how tall it stands when it leaves each visit, and the driving licence that its mass needs.

The mass is that of the papers: the vehicle ready for the road and the kerb mass of every car aboard.  The height is known
where the deck was laid out.
"""

from planner.model.day import Day
from planner.rules.load_plan import LoadPlan
from planner.runs.loading import load
from planner.runs.run import Run
from planner.sheets.plain_text import height_text
from planner.sheets.words import words


def loaded_after(day: Day, run: Run) -> tuple[str, ...]:
    """Return mass and height on the leg after each stop as printed; nothing for a run without a transporter of ours."""
    if run.itinerary.transporter is None:
        return ()
    vehicle, w = day.transporter_of[run.itinerary.transporter], words()
    limit_kg = vehicle.gross_kg + vehicle.trailer_kg
    found = load(day, run.itinerary)
    heights = [stage.height_mm for stage in found.stages] if isinstance(found, LoadPlan) else []
    said = []
    for number, visit in enumerate(run.visits[: len(run.itinerary.stops)]):
        gross_kg = limit_kg - vehicle.payload_kg + sum(day.move_of[move].car.mass_kg for move in visit.aboard_after)
        gross = f"{gross_kg:,}"
        if heights:
            said.append(w("step.mass_and_height", gross=gross, metres=height_text(heights[number])))
        else:
            said.append(w("step.mass", gross=gross))
    return tuple(said)


def licence_text(day: Day, run: Run) -> str:
    """Return the licence category that the vehicle needs, with the mass that asks for it; empty without a transporter of ours."""
    if run.itinerary.transporter is None:
        return ""
    vehicle = day.transporter_of[run.itinerary.transporter]
    return words()("run.licence", category=vehicle.licence, limit=f"{vehicle.gross_kg + vehicle.trailer_kg:,}")
