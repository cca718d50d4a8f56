"""The prices found with a plan, in a file beside it, for the quotes that are made on that plan."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

from cli.atomic import write_whole

if TYPE_CHECKING:
    from planner.model.moves import MoveId
    from planner.runs.plan import Plan
    from planner.search.price_bound import Prices

NAME = "prices.json"


def write_prices(folder: Path, plan: "Plan", prices: "Prices | None") -> None:
    """Write the prices beside the plan; without any, take away those of an earlier plan."""
    from planner.model.documents import to_document

    if prices is None:
        (folder / NAME).unlink(missing_ok=True)
        return
    held = {"plan_cost_pence": plan.cost_pence, "prices": to_document(prices)}
    write_whole(folder / NAME, json.dumps(held, indent=1, ensure_ascii=False))


def read_prices(folder: Path, plan: "Plan") -> "dict[MoveId, float] | None":
    """Return what one more of each move would cost exactly this plan, pence; None when nobody knows: a quote does without."""
    prices = read_all_prices(folder, plan)
    return None if prices is None else prices.move


def read_all_prices(folder: Path, plan: "Plan") -> "Prices | None":
    """Return every price found with exactly this plan; None when there are none."""
    from planner.model.moves import MoveId
    from planner.search.price_bound import Prices

    try:
        held = json.loads((folder / NAME).read_text(encoding="utf-8"))
        if held["plan_cost_pence"] != plan.cost_pence:
            return None
        found = {kind: {key: float(pence) for key, pence in held["prices"][kind].items()}
                 for kind in ("move", "driver", "transporter", "plates")}  # fmt: skip
        return Prices(move={MoveId(key): pence for key, pence in found.pop("move").items()}, **found)
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None
