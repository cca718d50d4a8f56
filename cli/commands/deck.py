"""``homeleg deck``: a load tried by hand, the plan or the limit that binds."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from planner.desk.load_file import LoadFile
    from planner.rules.load_plan import LoadPlan
    from planner.rules.load_plan_reasons import NoLoad

PLANNING_AID = "Planning aid: the maker's plate, the weighbridge and the driver's own check decide."


def deck(
    file: Annotated[Path, typer.Argument(help="TOML with a deck, cars and stops.", metavar="FILE")],
    as_json: Annotated[bool, typer.Option("--json", help="Print the load plan as JSON.")] = False,
    picture: Annotated[Path | None, typer.Option(help="Write the deck after each stop as one SVG.", metavar="FILE.svg")] = None,
) -> None:
    """
    Try a load: which car in which slot after every stop, or why it cannot be; exits 1 when it cannot.

    FILE says deck = "two-car-7500", say, or describes one of your own in a table [deck]; has a table [cars.AB12CDE] for each car
    with mass_kg, length_mm and height_mm; and a [[stages]] for each stop with says, off and on, the last two lists of
    registrations. Without stages every car is loaded, then left in the order written.
    """
    import json
    from functools import partial

    from planner.desk.load_file import read_load
    from planner.faults import BadFiles, Problem
    from planner.rules.load_plan import LoadPlan, plan_load, under_route

    try:
        text = file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        advice = "Name a TOML file that is there, in UTF-8."
        raise BadFiles([Problem(file=str(file), says=f"cannot be read: {fault}", advice=advice)]) from None
    load = read_load(text, file.name)
    tallest_mm = load.route_height_mm or load.deck.height_mm
    planned = partial(plan_load, stages=load.stages, reshuffle_min=load.reshuffle_min)
    answer = under_route(load.deck, tallest_mm, load.stages, planned)
    fits = isinstance(answer, LoadPlan)
    if picture is not None and isinstance(answer, LoadPlan):
        from cli.atomic import write_whole
        from planner.sheets.deck_drawing import draw_run

        write_whole(picture, draw_run(answer, load.cars, route_height_mm=load.route_height_mm))
    if as_json:
        print(json.dumps(_document(load, answer), indent=2, ensure_ascii=False))
    else:
        print("\n".join(_lines(load, answer)))
    if picture is not None and not as_json:
        print(f"Picture: {picture}" if fits else "No picture: there is no load to draw.")
    if not fits:
        raise typer.Exit(1)


def _lines(load: "LoadFile", answer: "LoadPlan | NoLoad") -> list[str]:
    from planner.rules.load_plan_reasons import NoLoad
    from planner.sheets.load_ticks import low_bridge_warning, overhang_notes, platform_notes

    if isinstance(answer, NoLoad):
        return [f"Does not fit: {answer.says}"]
    lines = [f"{load.deck.name}: fits. {answer.reshuffles} car(s) moved out of the way and back, {answer.minutes} min."]
    lines.append(f"Driving licence: {_licence(load)}")
    if answer.at_least < answer.reshuffles:
        lines.append(f"No fewer than {answer.at_least} are proven necessary; a better plan may exist.")
    for number, stage in enumerate(answer.stages, start=1):
        lines.append(f"{number}. {stage.says or 'stop'}")
        lines += [f"   {step.kind:<19} {step.key} ({step.slot})" for step in stage.steps]
        lines.append("   aboard: " + (", ".join(f"{slot} {key}" for key, slot in stage.placed) or "none"))
        most_kg = load.deck.gross_kg + load.deck.trailer_kg
        lines.append(f"   {stage.gross_kg:,} kg of {most_kg:,} kg, {stage.height_mm / 1000:.2f} m tall")
        lines += [f"   {name}: {used:,} kg of {most:,} kg" for name, used, most in stage.sums_kg if used]
        lines += [f"   {note}" for note in (*overhang_notes(stage), *platform_notes(stage))]
        warning = low_bridge_warning(stage.height_mm, load.route_height_mm) if load.route_height_mm else None
        lines += [f"   Warning: {warning}"] if warning else []
    if left := load.never_aboard:
        lines.append(f"Loaded at no stop: {', '.join(left)}.")
    return [*lines, PLANNING_AID]


def _document(load: "LoadFile", answer: "LoadPlan | NoLoad") -> dict[str, Any]:
    from dataclasses import asdict

    from planner.rules.load_plan_reasons import NoLoad
    from planner.sheets.load_ticks import low_bridge_warning

    if isinstance(answer, NoLoad):
        return {"deck": load.deck.name, "fits": False, **asdict(answer)}
    stages = []
    for stage in answer.stages:
        warning = low_bridge_warning(stage.height_mm, load.route_height_mm) if load.route_height_mm else None
        sums = [{"name": name, "kg": used, "max_kg": most} for name, used, most in stage.sums_kg]
        placed = [{"key": key, "slot": slot, "wheels_mm": wheels}
                  for (key, slot), wheels in zip(stage.placed, stage.wheels_mm, strict=True)]  # fmt: skip
        stages.append({**asdict(stage), "placed": placed, "sums_kg": sums, "low_bridge_warning": warning})
        del stages[-1]["wheels_mm"]
    return {"deck": load.deck.name, "fits": True, "reshuffles": answer.reshuffles, "reshuffles_at_least": answer.at_least,
            "minutes": answer.minutes, "height_mm": answer.height_mm, "gross_kg": answer.gross_kg, "licence": _licence(load),
            "stages": stages, "note": PLANNING_AID}  # fmt: skip


def _licence(load: "LoadFile") -> str:
    from planner.model.crews import licence_for

    return licence_for(load.deck.gross_kg, load.deck.trailer_kg)
