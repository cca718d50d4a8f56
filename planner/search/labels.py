# ruff: noqa: C901, PLR0912, PLR0915, PLR0917, ANN001, ANN201
# mypy: allow-untyped-defs
# One kernel: numba compiles function by function, and every further one costs a second on a fresh machine; it infers
# the types of its arguments, which are arrays and numbers.
"""
Labels: the cheapest runs of one rig, found backwards from the end of duty, compiled.

A label is the tail of a run, from the start of some task to the end of duty.  It knows the latest minute at which that
task may start, the minutes of the tail, the earliest end of duty that its windows allow, its driving, what must still
be loaded earlier in the day, and its cost less the duals of what it serves.  A label falls to another of the same place
and load that is no worse in every respect, so no cheapest run is lost (ng-memory: a task may come back only after the
label has forgotten it, which only adds runs, so the bound stays valid).

Backwards, because a delivery's car is loaded earlier: when the tail reaches its compound, the number of cars to load is
known, and so are the minutes.  What a collected car costs is charged where it is collected, never above the truth.

:mod:`planner.search.completions` says what the head of a run can cost at least, from each place, load and time, and what
it costs without the task that comes last in it, should the tail remember that one; labels that cannot come below the
threshold with it are dropped.  When the room for labels ends, the least of what was left open
is still a valid bound.

A rig that stays out takes one daily rest somewhere: at the latest on the leg to its first task.  A label without the rest
in it is a tail of the second day, and where the rest falls, on the way from a task or inside it, the first day begins to
be counted afresh: its minutes, windows and driving, never above the truth because the leg may be driven on either day.
The second day is kept as the minutes that it is paid; waiting beside the rest is part of it and costs nothing.
"""

from enum import IntEnum

import numpy as np
from numba import njit

FAR = 1_000_000
NEVER = 1e15


class Mode(IntEnum):
    """
    How labels fall to others: never, by proof, or by a guess that proves nothing.

    The number of a guess is how many cheaper and later labels it takes to drop one.
    """

    EVERY = -1
    EXACT = 0
    ROUGH = 1
    BROAD = 6


class Node(IntEnum):
    """Columns of the integer table of tasks and hubs (minutes, kilograms, counts, ranks)."""

    OPENS = 0
    MAY_START = 1
    ENDS_FROM = 2
    CLOSES = 3
    WORK = 4
    UNLOAD = 5
    DRIVE = 6
    LOAD = 7  # cars more aboard before it
    BACK = 8  # cars more aboard after it
    KG_IN = 9
    KG_BACK = 10
    FROM_HUB = 11
    TO_HUB = 12  # of a hub: -1 when nothing is ever left there
    CUSTOMER = 13
    REACH = 14  # nobody is there sooner


class Crew(IntEnum):
    """Columns of the integer table of crew options, minutes but for the last."""

    FROM = 0
    HOME = 1
    BEFORE = 2
    AFTER = 3
    DRIVE = 4
    WORK = 5
    SPAN = 6
    WAGE = 7  # row of the table of wages


class Night(IntEnum):
    """Entries of what the rig's night out is: its least rest, 0 for no night, and limits of the day after it, minutes."""

    REST = 0
    DRIVE = 1
    WORK = 2
    SPAN = 3


class Tail(IntEnum):
    """Columns of the integer table of labels."""

    LATE = 0  # latest start of its first task
    LENGTH = 1
    END = 2  # earliest end of duty
    DRIVE = 3
    PLACE = 4
    NEXT = 5  # the label it came from, later in the day
    LOAD = 6
    TOP = 7  # most cars aboard later, should one more be collected now
    KG = 8
    TOP_KG = 9
    ZONES = 10
    ALIVE = 11
    FOLLOW = 12  # next label in the list of its place and load
    QUEUE = 13  # next label with the same latest start
    NIGHT = 14  # 1: the night out lies in it
    SECOND = 15  # paid minutes of the day after the night, and of the leg that it falls on
    SHARE = 16  # of the deck, of the cars aboard; likewise most of it later
    TOP_SHARE = 17


EVERY, EXACT = int(Mode.EVERY), int(Mode.EXACT)
(OPENS, MAY_START, ENDS_FROM, CLOSES, WORK, UNLOAD, DRIVE, LOAD, BACK, KG_IN, KG_BACK, FROM_HUB, TO_HUB, CUSTOMER, REACH) = (
    int(name) for name in Node
)
C_FROM, C_HOME, C_BEFORE, C_AFTER, C_DRIVE, C_WORK, C_SPAN, C_WAGE = (int(name) for name in Crew)
N_REST, N_DRIVE, N_WORK, N_SPAN = (int(name) for name in Night)
(
    LATE, LENGTH, END, T_DRIVE, PLACE, NEXT, T_LOAD, TOP, KG, TOP_KG, ZONES, ALIVE, FOLLOW, QUEUE, NIGHT, SECOND, SHARE,
    TOP_SHARE,
) = (int(name) for name in Tail)  # fmt: skip
MINUTES, DRIVEN, ZONE = 0, 1, 2  # last axis of the table of ways
PENCE, KG_PENCE = 0, 1  # last axis of the table of prices
IN, BACK_ABOARD = 0, 1  # last axis of the table of shares: of a car delivered, of one collected; its last row is the whole


@njit(cache=True, nogil=True)
def cheapest_runs(
    tasks, hubs, ways, prices, nodes, near, node_cost, zone_pence, crews, fixed, wage, owed_step, owed_min, owed_tail,
    night, load_min, slots, payload_kg, shares, is_loose, keeps_load, kg_rate, walk_min, end_min, head, via, state_of, slope,
    earliest, last_min, step, threshold, mode, most_looks, c, tails, packed, memory, lists, at_minute, found_rank, found_cost,
    by_first,
):  # fmt: skip
    """
    Find finished runs below ``threshold`` and a figure that no run of the rig undercuts.

    ``node_cost`` is what a task costs less what the master pays for it.  Labels are written into ``c``, ``tails``,
    ``packed`` (cars to load, four bits a hub; hubs called at) and ``memory``; ``lists`` and ``at_minute`` come filled
    with -1, ``by_first``, what no run undercuts by its first task, with the threshold; its last entry is of no task.
    Returns how many runs were found (their last label and crew option in ``found_rank``), the figure, the count of labels,
    and whether the room for labels or the ``most_looks`` of one label at another ended: then no more are made, and the
    figure holds, but may be low, and figures by task do not.  With a ``mode``
    above EXACT labels fall to that many others that are merely cheaper and later: quick, but no proof, and the figure
    means nothing.  With EVERY none falls, so every run below the threshold is found; when there is no room, it ends at once.
    """
    words = near.shape[1]
    start = tasks + hubs
    room = slots + 1
    rest_min = night[N_REST]
    most_labels = c.shape[0]
    mine = np.zeros(words, np.uint64)
    surplus = np.zeros((hubs, 2), np.int64)  # by hub: kilograms and shares of a rival's cars to load there above a label's own
    one = np.uint64(1)
    found = 0
    least = min(threshold, 0.0) if threshold <= 0 else threshold
    is_cut_off = False
    looks = 0
    count = 1
    c[0] = 0.0
    tails[0, :] = 0
    tails[0, LATE] = last_min - end_min
    tails[0, LENGTH] = end_min
    tails[0, PLACE] = start
    tails[0, NEXT] = -1
    tails[0, ALIVE] = 1
    tails[0, QUEUE] = -1
    packed[0, :] = 0
    memory[0, :] = 0
    minute = last_min - end_min
    if minute >= earliest:
        at_minute[minute - earliest] = 0
    while minute >= earliest:
        label = at_minute[minute - earliest]
        if label < 0:
            minute -= 1
            continue
        at_minute[minute - earliest] = tails[label, QUEUE]
        if tails[label, ALIVE] == 0:
            continue
        place, load, kg, zone = tails[label, PLACE], tails[label, T_LOAD], tails[label, KG], tails[label, ZONES]
        late, length = tails[label, LATE], tails[label, LENGTH]
        # what the tail is paid should the night fall before it
        is_second = rest_min > 0 and tails[label, NIGHT] == 0
        paid = 0
        if is_second:
            paid = max(length + owed_min[owed_step[tails[label, T_DRIVE]], length], tails[label, END] - late)
            if paid > night[N_SPAN]:
                continue
        lead, later = place, tails[label, NEXT]  # the first task of the tail; there is none before the first label
        while lead >= tasks and later >= 0:
            lead, later = tails[later, PLACE], tails[later, NEXT]
        # close the run here
        if label != 0 and (load == 0 or keeps_load) and ways[place, start, MINUTES] < FAR:
            head_min = ways[place, start, MINUTES] + walk_min
            money = c[label] + prices[place, start, PENCE] + zone_pence[zone | ways[place, start, ZONE]] - zone_pence[zone]
            drive = tails[label, T_DRIVE] + ways[place, start, DRIVEN]
            if is_second:
                drive = max(0, drive - night[N_DRIVE])
            drive = min(drive, owed_step.shape[0] - 1)
            for o in range(crews.shape[0]):
                before, after, second = crews[o, C_BEFORE], crews[o, C_AFTER], 0
                if rest_min == 0:
                    whole, end = length + head_min + before + after, tails[label, END] + after
                elif is_second:
                    whole, end, second = before, -FAR, paid + head_min + after
                else:
                    whole, end, second = length + head_min + before, tails[label, END], tails[label, SECOND] + after
                if drive > crews[o, C_DRIVE] or whole > crews[o, C_WORK] or end > crews[o, C_HOME]:
                    continue
                whole += owed_min[owed_step[drive], whole]
                begin = late - (rest_min if is_second else 0) - head_min - before
                begin = min(begin, crews[o, C_HOME] - whole - rest_min - second)
                duty = max(whole, end - begin)
                if begin < crews[o, C_FROM] or duty > crews[o, C_SPAN]:
                    continue
                value = money + fixed[o] + wage[crews[o, C_WAGE], min(duty + second, wage.shape[1] - 1)]
                least, by_first[lead] = min(least, value), min(by_first[lead], value)
                if mode == EVERY and value < threshold and found == found_cost.shape[0]:
                    return found, least, count, True
                if value < threshold and found < found_cost.shape[0]:
                    found_rank[found, 0] = label
                    found_rank[found, 1] = o
                    found_cost[found] = value
                    found += 1
        # go on to an earlier task or hub
        for turn in range((tasks + hubs) * (2 if is_second else 1)):
            other, falls_here = turn % (tasks + hubs), turn >= tasks + hubs  # the night, on this leg or in this task
            minutes = ways[place, other, MINUTES]
            if minutes >= FAR or (other == place and other >= tasks):
                continue
            top, top_kg, share, top_share = tails[label, TOP], tails[label, TOP_KG], tails[label, SHARE], tails[label, TOP_SHARE]
            n_load, n_kg, n_share, to_load, called = load, kg, share, packed[label, 0], packed[label, 1]
            n_cost = c[label] + prices[place, other, PENCE] + prices[place, other, KG_PENCE] * kg
            drive = tails[label, T_DRIVE] + ways[place, other, DRIVEN]
            ends = late - minutes
            base, is_first, second = length + minutes, tails[label, NIGHT] == 1 or falls_here, tails[label, SECOND]
            if falls_here:
                drive, ends, base, second = max(0, drive - night[N_DRIVE]), ends - rest_min, 0, paid + minutes
            is_inside = falls_here and other < tasks and nodes[other, DRIVE] > 0
            if other < tasks:
                bit = nodes[other, CUSTOMER]
                if ends < nodes[other, ENDS_FROM] or (memory[label, bit >> 6] >> np.uint64(bit & 63)) & one:
                    continue
                n_load = load + nodes[other, LOAD]
                hub = nodes[other, TO_HUB]
                if n_load > slots or (hub >= 0 and not (called >> hub) & 1):
                    continue
                n_kg, n_share = kg + nodes[other, KG_IN], share + shares[other, IN]
                if not keeps_load:
                    top = max(top + nodes[other, BACK], n_load)
                    top_kg = max(top_kg + nodes[other, KG_BACK], n_kg)
                    top_share = max(top_share + shares[other, BACK_ABOARD], n_share)
                    if top > slots or top_kg > payload_kg or top_share > shares[tasks, IN]:
                        continue
                    if nodes[other, FROM_HUB] >= 0:
                        to_load += np.int64(1) << np.int64(4 * nodes[other, FROM_HUB])
                n_late = min(nodes[other, CLOSES], ends - nodes[other, WORK])
                n_length = base + nodes[other, WORK]
                if is_first:
                    second += nodes[other, UNLOAD]
                else:
                    n_length += nodes[other, UNLOAD]
                if is_inside:
                    n_length, second = 0, second + nodes[other, WORK]
                    drive = max(0, tails[label, T_DRIVE] + ways[place, other, DRIVEN] + nodes[other, DRIVE] - night[N_DRIVE])
                else:
                    drive += nodes[other, DRIVE]
                n_cost += node_cost[other]
                for word in range(words):
                    mine[word] = memory[label, word] & near[other, word]
                mine[bit >> 6] |= one << np.uint64(bit & 63)
            else:
                hub = other - tasks
                cars = (to_load >> np.int64(4 * hub)) & 15
                # nothing is loaded: to leave cars, and once more only should that make room for those collected since
                is_no_fuller = top <= load and top_kg <= kg and top_share <= share
                if cars == 0 and (nodes[other, TO_HUB] < 0 or ((called >> hub) & 1 and is_no_fuller)):
                    continue
                n_late = min(nodes[other, CLOSES], ends - load_min * cars)
                n_length = base + load_min * cars
                to_load &= ~(np.int64(15) << np.int64(4 * hub))
                n_load = load - cars
                back = label
                while cars > 0:
                    task = tails[back, PLACE]
                    if task < tasks and nodes[task, FROM_HUB] == hub:
                        n_kg, n_share = n_kg - nodes[task, KG_IN], n_share - shares[task, IN]
                        cars -= 1
                    back = tails[back, NEXT]
                called |= np.int64(1) << np.int64(hub)
                top, top_kg, top_share = n_load, n_kg, n_share
                for word in range(words):
                    mine[word] = memory[label, word]
            if drive >= owed_step.shape[0] or n_length >= owed_min.shape[1]:
                continue
            owed = owed_min[owed_step[drive], n_length]
            n_late = min(n_late, last_min - n_length - owed_tail[owed_step[drive], n_length])
            if n_late < earliest or n_late < nodes[other, MAY_START]:
                continue
            if rest_min > 0 and not is_first and (
                drive > night[N_DRIVE] or n_length > night[N_WORK] or n_late < nodes[other, REACH] + rest_min
            ):
                continue
            if is_inside:
                end = nodes[other, MAY_START]
            else:
                driven_in, work = (nodes[other, DRIVE], nodes[other, WORK]) if other < tasks else (0, 0)
                pause = owed_tail[owed_step[drive - driven_in], n_length - work]
                end = nodes[other, OPENS] + n_length + pause
                if not falls_here:
                    end = max(end, tails[label, END])
            n_zone = zone | ways[place, other, ZONE]
            n_cost += zone_pence[n_zone] - zone_pence[zone]
            full = n_cost + slope * (max(n_length + owed, end - n_late) + second)
            stands = 0
            for hub in range(hubs):
                if (to_load >> np.int64(4 * hub)) & 15:
                    stands |= 1 << hub
            is_split = stands & (stands - 1) != 0  # cars are still to be loaded at more than one hub
            slot, state = (n_late - earliest) // step, state_of[n_load, stands if state_of.shape[1] > 1 else 0]
            floor = full + head[0, slot, other, state]
            if floor < threshold and head.shape[0] == 2:
                before = via[slot, other, state]  # whose task comes last in the least head: not one that the tail remembers
                if before >= 0 and (mine[before >> 6] >> np.uint64(before & 63)) & one:
                    floor = full + head[1, slot, other, state]
            if floor >= threshold:
                continue
            if is_cut_off:
                least = min(least, floor)
                continue
            # dominance among labels of the same place and load
            spot = other * room + n_load
            if other >= tasks and mode == EXACT:
                # memories of tails that came by different tasks hardly ever include each other: a list for each
                spot = ((other - tasks) * room + n_load) * (start + 1) + lead + (tasks + hubs) * room
            previous, rival, is_beaten, beats = -1, lists[spot], False, 0
            while mode != EVERY and rival >= 0 and not is_beaten:
                following = tails[rival, FOLLOW]
                falls = False
                looks += 1
                if packed[rival, 0] == to_load and (tails[rival, NIGHT] == 1) == is_first:
                    r_late, r_kg = tails[rival, LATE], tails[rival, KG]
                    if mode > EXACT:
                        r_full = c[rival] + slope * (max(tails[rival, LENGTH], tails[rival, END] - r_late) + tails[rival, SECOND])
                        beats += r_late >= n_late and r_full <= full
                        is_beaten = beats >= mode
                        falls = mode == 1 and n_late >= r_late and full <= r_full
                    else:
                        both = zone_pence[tails[rival, ZONES] | n_zone]
                        carried = kg_rate * (min(n_late, r_late) - earliest)
                        is_beaten = (
                            r_late >= n_late and tails[rival, LENGTH] <= n_length and tails[rival, END] <= end
                            and tails[rival, T_DRIVE] <= drive and tails[rival, TOP] <= top and tails[rival, SECOND] <= second
                            and (is_loose or (r_kg <= n_kg and tails[rival, TOP_KG] <= top_kg))
                            and tails[rival, SHARE] <= n_share and tails[rival, TOP_SHARE] <= top_share
                            and (packed[rival, 1] & called) == called
                            and c[rival] + carried * max(0, r_kg - n_kg) + both - zone_pence[tails[rival, ZONES]] <= n_cost + 1e-7
                        )  # fmt: skip
                        falls = not is_beaten and (
                            n_late >= r_late and n_length <= tails[rival, LENGTH] and end <= tails[rival, END]
                            and drive <= tails[rival, T_DRIVE] and top <= tails[rival, TOP] and second <= tails[rival, SECOND]
                            and (is_loose or (n_kg <= r_kg and top_kg <= tails[rival, TOP_KG]))
                            and n_share <= tails[rival, SHARE] and top_share <= tails[rival, TOP_SHARE]
                            and (called & packed[rival, 1]) == packed[rival, 1]
                            and n_cost + carried * max(0, n_kg - r_kg) + both - zone_pence[n_zone] <= c[rival]
                        )  # fmt: skip
                        for word in range(words):
                            if memory[rival, word] & ~mine[word]:
                                is_beaten = False
                            if mine[word] & ~memory[rival, word]:
                                falls = False
                        if is_split and (is_beaten or falls):
                            # the cars of one hub may be lighter and those of another heavier: what is aboard between them counts
                            surplus[:] = 0
                            for side in range(2):
                                at, back, waiting = other, tails[rival, NEXT] if side == 0 else label, to_load
                                while waiting > 0:
                                    hub = nodes[at, FROM_HUB] if at < tasks else -1
                                    if hub >= 0 and (waiting >> np.int64(4 * hub)) & 15:
                                        waiting -= np.int64(1) << np.int64(4 * hub)
                                        surplus[hub, 0] += nodes[at, KG_IN] if side == 0 else -nodes[at, KG_IN]
                                        surplus[hub, 1] += shares[at, IN] if side == 0 else -shares[at, IN]
                                    at, back = tails[back, PLACE], tails[back, NEXT]
                            heavier, lighter = 0, 0
                            for hub in range(hubs):
                                heavier += max(0, surplus[hub, 0])
                                lighter += max(0, -surplus[hub, 0])
                                is_beaten = is_beaten and surplus[hub, 1] <= 0
                                falls = falls and surplus[hub, 1] >= 0
                            is_beaten = is_beaten and (is_loose or heavier == 0) and (
                                c[rival] + carried * heavier + both - zone_pence[tails[rival, ZONES]] <= n_cost + 1e-7
                            )
                            falls = falls and (is_loose or lighter == 0) and (
                                n_cost + carried * lighter + both - zone_pence[n_zone] <= c[rival]
                            )
                if falls:
                    tails[rival, ALIVE] = 0
                    if previous < 0:
                        lists[spot] = following
                    else:
                        tails[previous, FOLLOW] = following
                else:
                    previous = rival
                rival = following
            if is_beaten:
                continue
            if count >= most_labels or looks >= most_looks:
                is_cut_off = True
                least = min(least, floor)
                if mode == EVERY:
                    return found, least, count, is_cut_off
                continue
            c[count] = n_cost
            tails[count, LATE], tails[count, LENGTH], tails[count, END], tails[count, T_DRIVE] = n_late, n_length, end, drive
            tails[count, PLACE], tails[count, NEXT], tails[count, T_LOAD], tails[count, TOP] = other, label, n_load, top
            tails[count, KG], tails[count, TOP_KG], tails[count, ZONES], tails[count, ALIVE] = n_kg, top_kg, n_zone, 1
            tails[count, NIGHT], tails[count, SECOND] = 1 if is_first else 0, second
            tails[count, SHARE], tails[count, TOP_SHARE] = n_share, top_share
            packed[count, 0], packed[count, 1] = to_load, called
            for word in range(words):
                memory[count, word] = mine[word]
            tails[count, FOLLOW] = lists[spot]
            lists[spot] = count
            tails[count, QUEUE] = at_minute[n_late - earliest]
            at_minute[n_late - earliest] = count
            count += 1
    return found, least, count, is_cut_off
