"""
A hundred handover sheets under the clock: ``python -m tests.bench.sheets`` prints the seconds of the processor and the bytes.

Nearly all of it is the typesetting library's own work; ten seconds are wanted.
"""

import time

from cli.pages import pdf
from planner.sheets.pack import pack
from tests.sheet_days import many_orders


def main() -> None:
    day, plan = many_orders(20, 5)
    since = time.process_time()
    sheets = [sheet for run in plan.runs for sheet in pack(day, plan, run).door_sheets]
    told = time.process_time()
    content = pdf(sheets)
    typeset = time.process_time()
    print(f"{len(sheets)} sheets: {told - since:.1f} s as data, {typeset - told:.1f} typeset, {len(content):,} bytes")


if __name__ == "__main__":
    main()
