"""Progress told as it happens: a live line on a terminal, plain lines on a pipe."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from planner.units import pounds_text

#: Called with the seconds gone, the cost of the best plan in pence, and the bound in pence or None.
Progress = Callable[[float, int, int | None], None]


def line(seconds: float, cost_pence: int, bound_pence: int | None) -> str:
    """Return one line of progress."""
    if bound_pence is None or bound_pence <= 0:
        return f"{seconds:5.1f} s   cost {pounds_text(cost_pence)}"
    gap = max(0.0, (cost_pence - bound_pence) / bound_pence)
    return f"{seconds:5.1f} s   cost {pounds_text(cost_pence)}   least possible {pounds_text(bound_pence)}   gap {gap:.2%}"


@contextmanager
def told_progress(*, quiet: bool = False) -> Iterator[Progress]:
    """Yield a function that shows progress; on a pipe it prints a line only when something changed."""
    from rich.console import Console

    console = Console(stderr=True)
    if quiet:
        yield lambda _seconds, _cost, _bound: None
    elif console.is_terminal:
        with console.status("Planning ...") as status:
            yield lambda seconds, cost, bound: status.update(line(seconds, cost, bound))
    else:
        last: list[tuple[int, int | None]] = []

        def tell(seconds: float, cost_pence: int, bound_pence: int | None) -> None:
            if not last or last[-1] != (cost_pence, bound_pence):
                last.append((cost_pence, bound_pence))
                console.print(line(seconds, cost_pence, bound_pence), highlight=False)

        yield tell
