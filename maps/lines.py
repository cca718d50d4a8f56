"""Lines made lighter for drawing: points that nobody would miss are left out."""

from planner.sheets.tracks import Line


def thinned(line: Line, tolerance_deg: float = 0.002) -> Line:
    """
    Return the line with every point left out that lies within ``tolerance_deg`` of what is drawn without it.

    Douglas and Peucker (1973), without recursion.

    >>> thinned([(0, 0), (1, 0.0001), (2, 0), (2, 2)])
    [(0, 0), (2, 0), (2, 2)]
    """
    keep, stack = {0, len(line) - 1}, [(0, len(line) - 1)]
    while stack:
        first, last = stack.pop()
        (x1, y1), (x2, y2) = line[first], line[last]
        length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
        worst, where = 0.0, 0
        for k in range(first + 1, last):
            x, y = line[k]
            off = abs((x2 - x1) * (y1 - y) - (x1 - x) * (y2 - y1)) / length if length else ((x - x1) ** 2 + (y - y1) ** 2) ** 0.5
            if off > worst:
                worst, where = off, k
        if worst > tolerance_deg:
            keep.add(where)
            stack += [(first, where), (where, last)]
    return [line[k] for k in sorted(keep)]
