"""The summary on the terminal: what is kept, what is not and why, what it costs."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from planner.units import hours_text, miles, pounds_text

if TYPE_CHECKING:
    from planner.model.day import Day
    from planner.runs.plan import Plan


def print_summary(day: "Day", plan: "Plan", written: Sequence[Path]) -> None:
    """Print the plan in some twenty lines: promises, runs, what stays behind, held orders, cost, files."""
    for line in summary(day, plan):
        print(line)
    if written:
        print(f"\n{len(written)} files in {written[0].parent}; open board.html first.")


def summary(day: "Day", plan: "Plan") -> list[str]:
    """Return the lines of the summary."""
    from planner.runs.promises import promises

    told = promises(day, plan)
    lines = [
        f"{day.policy.retailer}: {day.clock.day:%A %d %B %Y}",
        f"Promises kept: {told.kept} of {told.made}; orders held: {len(day.held)}.",
        f"Moves placed: {len(day.moves) - len(plan.not_placed)} of {len(day.moves)}.",
        "",
    ]
    for run in plan.runs:
        who = run.itinerary.driver or run.itinerary.carrier or ""
        vehicle = f" with {run.itinerary.transporter}" if run.itinerary.transporter else ""
        span = f"{day.clock.wall(run.start_min)}-{day.clock.wall(run.end_min)}" if run.activities else "hired"
        lines.append(
            f"  {run.run_id:5} {run.kind:16} {who + vehicle:22} {span:13} {len(run.itinerary.moves):2} moves "
            f"{miles(run.metres):5.0f} miles {pounds_text(run.cost_pence):>10}"
        )
    if plan.not_placed:
        lines += ["", "Stays behind:"]
        lines += [f"  {left.move}: {left.reason} ({pounds_text(left.pence)})" for left in plan.not_placed]
    if day.held:
        lines += ["", "Held:"]
        lines += [f"  {order.ref}: {order.hold.to_do} ({order.hold.owner}, by {day.clock.wall(order.hold.cut_off_min)})"
                  for order in day.held if order.hold]  # fmt: skip
    lines += ["", *cost_lines(plan)]
    return lines


def cost_lines(plan: "Plan") -> list[str]:
    """Return what the plan costs and how good it is known to be."""
    from planner.runs.shift import duty_min

    work = sum(duty_min(run) for run in plan.runs if run.activities)
    total, runs = pounds_text(plan.cost_pence), pounds_text(plan.runs_pence)
    lines = [f"Runs cost {runs}; {hours_text(work)} of duty. With what stays behind: {total}."]
    if plan.bound is None:
        lines.append("No lower bound was computed.")
    else:
        gap = f"{plan.gap:.2%}" if plan.gap is not None else "unknown"
        lines.append(f"No legal plan costs less than {pounds_text(plan.bound.pence)}: the gap is {gap}.")
    lines.append("Hours are a planning aid: the operator's transport manager, the tachograph and the law decide.")
    return lines
