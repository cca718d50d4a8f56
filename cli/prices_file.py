"""What is found with a plan and quotes need, in a file beside it: prices, and the runs that it nearly used."""

import json
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cli.atomic import write_whole

if TYPE_CHECKING:
    from planner.runs.plan import Plan
    from planner.runs.run import Itinerary, Run
    from planner.search.prices import Near, Prices
    from planner.search.solve import Solution

NAME = "prices.json"


def write_prices(folder: Path, solved: "Solution") -> None:
    """Write the prices and near runs beside the plan; without any, take away those of an earlier plan."""
    from planner.model.documents import to_document

    if solved.prices is None:
        (folder / NAME).unlink(missing_ok=True)
        return
    held = {
        "plan_cost_pence": solved.plan.cost_pence,
        "plan_sha256": _sha256(folder / "plan.json"),
        "prices": to_document(solved.prices),
        "near": [[run.cost_pence, run.start_min, run.end_min, *_told(run.itinerary)] for run in solved.near],
    }
    write_whole(folder / NAME, json.dumps(held, ensure_ascii=False, separators=(",", ":")))


def is_as_written(path: Path) -> bool:
    """Return whether a plan file is to the byte what was written with the prices beside it: its form need not be checked."""
    try:
        told = _document(path.parent / NAME)["plan_sha256"]
    except (OSError, ValueError, KeyError, TypeError):
        return False
    return bool(told) and told == _sha256(path)


def _document(path: Path) -> Any:
    """Return what a file holds; read once as long as it stays as it is."""
    told = path.stat()
    return _read_at(path, told.st_mtime_ns, told.st_size, told.st_ino)


@lru_cache(maxsize=1)
def _read_at(path: Path, *_when: int) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


def _sha256(path: Path) -> str:
    from hashlib import sha256

    return sha256(path.read_bytes()).hexdigest() if path.is_file() else ""


def _told(itinerary: "Itinerary") -> list[Any]:
    stops = [[stop.place, stop.leaves, stop.takes] for stop in itinerary.stops]
    return [itinerary.driver, itinerary.support_driver, itinerary.transporter, itinerary.may_stay_out, stops]


def read_near(folder: Path, plan: "Plan") -> "Near | None":
    """Return what was found with exactly this plan; None when nobody knows: a quote does without."""
    from planner.search.prices import Near

    held = _held(folder, plan)
    prices = read_all_prices(folder, plan)
    try:
        return None if held is None or prices is None else Near(prices=prices, runs=tuple(_near_run(row) for row in held["near"]))
    except (ValueError, KeyError, TypeError):
        return None


def _near_run(row: list[Any]) -> "Run":
    """Return a near run as far as it is kept: its itinerary, its duty and its cost."""
    from planner.runs.run import Activity, ActivityKind, CostKind, CostLine, Itinerary, Run, RunId, Stop

    pence, start_min, end_min, driver, support_driver, transporter, may_stay_out, stops = row
    here = stops[0][0]
    duty = Activity(kind=ActivityKind.OTHER_WORK, start_min=start_min, end_min=end_min, origin=here, destination=here)
    return Run(
        run_id=RunId(""), book="", activities=(duty,), visits=(),
        costs=(CostLine(kind=CostKind.WAGES, says="as it was priced with the plan", pence=int(pence)),),
        itinerary=Itinerary(
            driver=driver, support_driver=support_driver, transporter=transporter, may_stay_out=may_stay_out,
            stops=tuple(Stop(place=place, leaves=tuple(leaves), takes=tuple(takes)) for place, leaves, takes in stops),
        ),
    )  # fmt: skip


def read_all_prices(folder: Path, plan: "Plan") -> "Prices | None":
    """Return every price found with exactly this plan; None when there are none."""
    from planner.model.moves import MoveId
    from planner.search.prices import Prices

    held = _held(folder, plan)
    try:
        if held is None:
            return None
        found = {kind: {key: float(pence) for key, pence in held["prices"][kind].items()}
                 for kind in ("move", "driver", "transporter", "plates")}  # fmt: skip
        return Prices(move={MoveId(key): pence for key, pence in found.pop("move").items()}, **found)
    except (ValueError, KeyError, TypeError, AttributeError):
        return None


def _held(folder: Path, plan: "Plan") -> dict[str, Any] | None:
    try:
        held: dict[str, Any] = _document(folder / NAME)
        return held if held["plan_cost_pence"] == plan.cost_pence else None
    except (OSError, ValueError, KeyError, TypeError):
        return None
