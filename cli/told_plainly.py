"""
Failures told plainly: one sentence on the error stream and an exit code, never a bare traceback.

Known faults exit 1 (or what the fault says), an interrupt 130, and a fault of ours 3 with a log to send us.
"""

import sys
import tempfile
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from planner.faults import BadFiles, PlannerError


@contextmanager
def told_plainly() -> Iterator[None]:
    """Turn every failure inside into a line and an exit code."""
    try:
        yield
    except BadFiles as fault:
        count = len(fault.problems)
        print(f"{count} problem{'s' if count != 1 else ''} to put right; nothing was written.", file=sys.stderr)
        for problem in fault.problems:
            print(f"  {problem}", file=sys.stderr)
        sys.exit(fault.exit_code)
    except PlannerError as fault:
        print(fault, file=sys.stderr)
        sys.exit(fault.exit_code)
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        sys.exit(130)
    except Exception as fault:  # noqa: BLE001 - the last door: whatever it is, the user gets a sentence
        print(f"Something went wrong in homeleg itself ({type(fault).__name__}: {fault}).", file=sys.stderr)
        log = Path(tempfile.gettempdir()) / "homeleg-fault.txt"
        try:
            log.write_text(traceback.format_exc(), encoding="utf-8")
            print(f"The details are in {log}; please send them to whoever looks after homeleg for you.", file=sys.stderr)
        except OSError as full:
            print(f"The details could not be kept in {log} ({full.strerror}).", file=sys.stderr)
        sys.exit(3)
