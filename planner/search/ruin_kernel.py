# ruff: noqa: C901, PLR0912, PLR0915, PLR0917, ANN001, ANN201, NPY002
# mypy: allow-untyped-defs
# One kernel: numba compiles function by function, and infers the types of arguments, which are arrays and numbers.
"""
Ruin kernel: routes for vehicles of several kinds made cheaper by taking strings of neighbouring stops out and putting
them back where they cost least, compiled.

The method is slack induction by string removals with simulated annealing (J. Christiaens and G. Vanden Berghe,
Transportation Science 54(2), 2020), here with kinds that differ in matrices, limits and wages, with crews and vehicles
that kinds share, and with stops that may be left out at a price.

A route is a linked list of stops.  Every stop knows the earliest and the latest minute at which its work may start, so
that one look tells whether another fits before or after it.
"""

from enum import IntEnum

import numpy as np
from numba import njit

FAR = 1_000_000
BRAVE = 0.1  # how often a stop is put in although leaving it out costs less
BLINK = 0.01  # how often a place is overlooked
KIND_BLINK = 0.15  # how often a kind is, where there are several: the dearer one may be the better for what comes after
REMOVED = 10.0  # stops taken out in the mean
LONGEST = 10  # string
SPLIT, LONGER = 0.5, 0.01  # how often a string keeps some stops in its middle, and how seldom it grows for that


class Kind(IntEnum):
    """Columns of the table of kinds."""

    MATRIX = 0
    FROM_MIN = 1
    HOME_MIN = 2
    SPAN_MIN = 3
    SHORTEST_MIN = 4  # duty that is paid at least
    SLOTS = 5
    PAYLOAD = 6


MATRIX, FROM_MIN, HOME_MIN, SPAN_MIN, SHORTEST_MIN, SLOTS, PAYLOAD = (int(name) for name in Kind)


@njit(cache=True, nogil=True)
def timed(
    r, kind, first, last, nxt, prv, es, ls, kinds, minutes, work, opens, closes, pence, stop_pence, fixed, wage
):  # fmt: skip
    """Fill the earliest and latest starts of a route and return its cost, infinite when it cannot be."""
    k = kind[r]
    m = kinds[k, MATRIX]
    depot = work.shape[1]
    at, money, total, here = kinds[k, FROM_MIN], fixed[k], 0, depot
    u = first[r]
    while u >= 0:
        at = max(opens[m, u], at + minutes[m, here, u])
        if at > closes[m, u]:
            return np.inf
        es[u] = at
        at += work[m, u]
        total += minutes[m, here, u] + work[m, u]
        money += pence[m, here, u] + stop_pence[m, u]
        here, u = u, nxt[u]
    at += minutes[m, here, depot]
    total += minutes[m, here, depot]
    money += pence[m, here, depot]
    if at > kinds[k, HOME_MIN]:
        return np.inf
    late, there = kinds[k, HOME_MIN], depot
    u = last[r]
    while u >= 0:
        late = min(closes[m, u], late - minutes[m, u, there] - work[m, u])
        ls[u] = late
        there, u = u, prv[u]
    late -= minutes[m, depot, there]
    duty = max(total, at - late)
    if duty > kinds[k, SPAN_MIN]:
        return np.inf
    return money + wage[k] * max(duty, kinds[k, SHORTEST_MIN])


@njit(cache=True, nogil=True)
def anneal(
    rounds, hot, cold, seed, kinds, minutes, work, opens, closes, pence, stop_pence, fixed, wage, uses, cars, mass, stay, near,
    free, kind, first, last, count, load, cost, nxt, prv, route, best_kind, best_first, best_nxt,
):  # fmt: skip
    """
    Make routes cheaper for some rounds while cooling from ``hot`` to ``cold`` pence; return the cost of the best.

    ``kinds`` as :class:`Kind`; ``minutes`` and ``pence`` are ``(matrix, from, to)`` with the depot last, ``work``, ``opens``,
    ``closes`` and ``stop_pence`` ``(matrix, stop)``; ``uses`` are ranks in ``free``, what a kind needs of crews and vehicles,
    -1 for none; ``cars``, ``mass`` and ``stay`` belong to stops; ``near`` ranks the stops by nearness to each.  Routes
    (``kind`` -1 when unused, ``first``, ``last``, ``count``, ``load``, ``cost``) and stops (``nxt``, ``prv``, ``route``, -1
    when left out) are changed in place; the best are kept in ``best_kind``, ``best_first`` and ``best_nxt``.
    """
    np.random.seed(seed)
    n, routes, num_kinds = len(route), len(kind), len(kinds)
    depot = n
    es, ls = np.zeros(n, np.int64), np.zeros(n, np.int64)
    total = 0.0
    for u in range(n):
        if route[u] < 0:
            total += stay[u]
    for r in range(routes):
        if kind[r] >= 0:
            cost[r] = timed(
                r, kind, first, last, nxt, prv, es, ls, kinds, minutes, work, opens, closes, pence, stop_pence,
                fixed, wage,
            )  # fmt: skip
            total += cost[r]
    best = was = total
    best_kind[:], best_first[:], best_nxt[:] = kind, first, nxt
    s_kind, s_first, s_last = kind.copy(), first.copy(), last.copy()
    s_count, s_load, s_cost = count.copy(), load.copy(), cost.copy()
    s_nxt, s_prv, s_route, s_es, s_ls, s_free = nxt.copy(), prv.copy(), route.copy(), es.copy(), ls.copy(), free.copy()
    out = np.empty(n, np.int64)
    keys = np.empty(n, np.float64)
    ruined = np.zeros(routes, np.bool_)
    cooling = (cold / hot) ** (1.0 / max(1, rounds))
    heat = hot
    for _ in range(rounds):
        heat *= cooling
        # ruin: strings of some routes about a stop
        ruined[:] = False
        served, used = 0, 0
        for r in range(routes):
            if kind[r] >= 0:
                served += count[r]
                used += 1
        num_out = 0
        for u in range(n):
            if route[u] < 0:
                out[num_out] = u
                num_out += 1
        if used > 0:
            longest = min(float(LONGEST), served / used)
            strings = int(np.random.uniform(1.0, 4.0 * REMOVED / (1.0 + longest)))
            centre = np.random.randint(n)
            for rank in range(near.shape[1]):
                if strings <= 0:
                    break
                c = near[centre, rank]
                r = route[c]
                if r < 0 or ruined[r]:
                    continue
                ruined[r] = True
                strings -= 1
                length = int(np.random.uniform(1.0, min(float(count[r]), longest) + 1.0))
                kept = 0
                if length > 1 and length < count[r] and np.random.random() < SPLIT:
                    kept = 1
                    while length + kept < count[r] and np.random.random() > LONGER:
                        kept += 1
                        if np.random.random() < 0.5:
                            break
                whole = length + kept
                before = np.random.randint(whole)
                u = c
                while before > 0 and prv[u] >= 0:
                    u = prv[u]
                    before -= 1
                # shift back where the string would run over the end
                ahead, w = 1, u
                while nxt[w] >= 0 and ahead < whole:
                    w = nxt[w]
                    ahead += 1
                while ahead < whole and prv[u] >= 0:
                    u = prv[u]
                    ahead += 1
                keep_from = np.random.randint(1, length) if kept > 0 else whole
                spot = 0
                while u >= 0 and spot < whole:
                    following = nxt[u]
                    if spot < keep_from or spot >= keep_from + kept:
                        if prv[u] >= 0:
                            nxt[prv[u]] = nxt[u]
                        else:
                            first[r] = nxt[u]
                        if nxt[u] >= 0:
                            prv[nxt[u]] = prv[u]
                        else:
                            last[r] = prv[u]
                        count[r] -= 1
                        load[r, 0] -= cars[u]
                        load[r, 1] -= mass[u]
                        route[u] = -1
                        out[num_out] = u
                        num_out += 1
                    spot += 1
                    u = following
                if count[r] == 0:
                    for slot in range(uses.shape[1]):
                        if uses[kind[r], slot] >= 0:
                            free[uses[kind[r], slot]] += 1
                    total -= cost[r]
                    kind[r] = -1
                    cost[r] = 0.0
                else:
                    now = timed(
                        r, kind, first, last, nxt, prv, es, ls, kinds, minutes, work, opens, closes, pence, stop_pence,
                        fixed, wage,
                    )  # fmt: skip
                    total += now - cost[r]
                    cost[r] = now
        for spot in range(num_out):
            if s_route[out[spot]] >= 0:
                total += stay[out[spot]]
        # recreate: in one of several orders, each stop where it costs least
        draw = np.random.randint(17)
        for spot in range(num_out):
            u = out[spot]
            if draw < 4:
                keys[spot] = np.random.random()
            elif draw < 8:
                keys[spot] = -mass[u]
            elif draw < 10:
                keys[spot] = -minutes[0, depot, u]
            elif draw < 11:
                keys[spot] = minutes[0, depot, u]
            elif draw < 13:
                keys[spot] = closes[0, u] - opens[0, u]
            elif draw < 15:
                keys[spot] = opens[0, u]
            else:
                keys[spot] = -closes[0, u]
        order = np.argsort(keys[:num_out])
        for spot in range(num_out):
            u = out[order[spot]]
            least, in_route, after, new_kind = stay[u], -1, -1, -1
            for r in range(routes):
                k = kind[r]
                if k < 0 or load[r, 0] + cars[u] > kinds[k, SLOTS] or load[r, 1] + mass[u] > kinds[k, PAYLOAD]:
                    continue
                m = kinds[k, MATRIX]
                if work[m, u] < 0:
                    continue
                i, j = -1, first[r]
                base = stop_pence[m, u] + wage[k] * work[m, u]
                while True:
                    a = i if i >= 0 else depot
                    b = j if j >= 0 else depot
                    ready = es[i] + work[m, i] if i >= 0 else kinds[k, FROM_MIN]
                    at = max(opens[m, u], ready + minutes[m, a, u])
                    if at > closes[m, u]:
                        break  # later places are reached later still, as long as ways round are no quicker
                    due = ls[j] if j >= 0 else kinds[k, HOME_MIN]
                    if at + work[m, u] + minutes[m, u, b] <= due:
                        more = minutes[m, a, u] + minutes[m, u, b] - minutes[m, a, b]
                        value = base + pence[m, a, u] + pence[m, u, b] - pence[m, a, b] + wage[k] * more
                        if value < least and np.random.random() > BLINK:
                            least, in_route, after, new_kind = value, r, i, -1
                    if j < 0:
                        break
                    i, j = j, nxt[j]
            for k in range(num_kinds):
                m = kinds[k, MATRIX]
                if work[m, u] < 0 or cars[u] > kinds[k, SLOTS] or mass[u] > kinds[k, PAYLOAD]:
                    continue
                is_free = True
                for slot in range(uses.shape[1]):
                    if uses[k, slot] >= 0:
                        wanted = 0
                        for earlier in range(slot + 1):
                            wanted += uses[k, earlier] == uses[k, slot]
                        is_free = is_free and free[uses[k, slot]] >= wanted
                if not is_free:
                    continue
                at = max(opens[m, u], kinds[k, FROM_MIN] + minutes[m, depot, u])
                way = minutes[m, depot, u] + work[m, u] + minutes[m, u, depot]
                if at > closes[m, u] or at + work[m, u] + minutes[m, u, depot] > kinds[k, HOME_MIN] or way > kinds[k, SPAN_MIN]:
                    continue
                value = fixed[k] + pence[m, depot, u] + pence[m, u, depot] + stop_pence[m, u]
                value += wage[k] * max(way, kinds[k, SHORTEST_MIN])
                if value < least and (num_kinds == 1 or np.random.random() > KIND_BLINK):
                    least, in_route, after, new_kind = value, -1, -1, k
            if new_kind >= 0:
                for r in range(routes):
                    if kind[r] < 0:
                        in_route = r
                        break
                if in_route < 0:
                    continue
                kind[in_route], first[in_route], last[in_route], count[in_route] = new_kind, -1, -1, 0
                load[in_route, 0] = 0
                load[in_route, 1] = 0
                cost[in_route] = 0.0
                for slot in range(uses.shape[1]):
                    if uses[new_kind, slot] >= 0:
                        free[uses[new_kind, slot]] -= 1
            if in_route < 0:
                continue
            r = in_route
            following = first[r] if after < 0 else nxt[after]
            nxt[u], prv[u], route[u] = following, after, r
            if after >= 0:
                nxt[after] = u
            else:
                first[r] = u
            if following >= 0:
                prv[following] = u
            else:
                last[r] = u
            count[r] += 1
            load[r, 0] += cars[u]
            load[r, 1] += mass[u]
            now = timed(
                r, kind, first, last, nxt, prv, es, ls, kinds, minutes, work, opens, closes, pence, stop_pence,
                fixed, wage,
            )  # fmt: skip
            if now == np.inf or (now - cost[r] >= stay[u] and np.random.random() > BRAVE):
                # a longer duty than the look could see: it stays out for now
                if after >= 0:
                    nxt[after] = following
                else:
                    first[r] = following
                if following >= 0:
                    prv[following] = after
                else:
                    last[r] = after
                route[u] = -1
                count[r] -= 1
                load[r, 0] -= cars[u]
                load[r, 1] -= mass[u]
                if count[r] == 0:
                    for slot in range(uses.shape[1]):
                        if uses[kind[r], slot] >= 0:
                            free[uses[kind[r], slot]] += 1
                    kind[r] = -1
                    cost[r] = 0.0
                else:
                    timed(
                        r, kind, first, last, nxt, prv, es, ls, kinds, minutes, work, opens, closes, pence, stop_pence,
                        fixed, wage,
                    )  # fmt: skip
                continue
            total += now - cost[r] - stay[u]
            cost[r] = now
        if total < was - heat * np.log(np.random.random()):
            s_kind[:], s_first[:], s_last[:], s_count[:], s_load[:], s_cost[:] = kind, first, last, count, load, cost
            s_nxt[:], s_prv[:], s_route[:], s_es[:], s_ls[:], s_free[:] = nxt, prv, route, es, ls, free
            was = total
            if total < best - 1e-6:
                best = total
                best_kind[:], best_first[:], best_nxt[:] = kind, first, nxt
        else:
            kind[:], first[:], last[:], count[:], load[:], cost[:] = s_kind, s_first, s_last, s_count, s_load, s_cost
            nxt[:], prv[:], route[:], es[:], ls[:], free[:] = s_nxt, s_prv, s_route, s_es, s_ls, s_free
            total = was
    return best
