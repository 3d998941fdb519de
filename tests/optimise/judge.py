"""Judges a packing from the words of the rules alone; shares no code with the solver's model."""

from collections import Counter
from itertools import combinations

from scipy.optimize import linprog

from ramet.optimise.problem import Problem, Result, Rule

CLEARANCE_MM = 5


def faults(problem: Problem, result: Result) -> list[str]:
    """Return everything that is wrong with a result."""
    found = [*_lists(problem, result), *_geometry(problem, result), *_loads(problem, result)]
    return found + _spread(problem, result) + _goals(problem, result)


def faults_of_the_set(problem, result):
    """Return what is wrong with a result wherever its bags stand."""
    return [*_lists(problem, result), *_spread(problem, result)]


def _choice(problem, placed):
    return problem.items[placed.item].choices[placed.choice]


def _cuboids_meet(a_at, a_size, b_at, b_size):
    return all(a_at[k] < b_at[k] + b_size[k] and b_at[k] < a_at[k] + a_size[k] for k in range(3))


def _lists(problem, result):
    found = []
    items = [p.item for p in result.placed]
    if len(set(items)) != len(items):
        found.append("an item twice")
    pieces = Counter(piece for i in items for piece in problem.items[i].pieces)
    found += [f"piece {piece} twice" for piece, n in pieces.items() if n > 1]
    for k, line in enumerate(problem.lines):
        sent = sum(max(1, len(problem.items[i].pieces)) for i in items if problem.items[i].line == k)
        if sent > line.wanted:
            found.append(f"line {line.id} gets {sent} of {line.wanted}")
    for name, cap in problem.capacities.items():
        used = sum(problem.items[i].uses.get(name, 0) for i in items)
        if used > cap:
            found.append(f"resource {name}: {used} of {cap}")
    return found


def _rect(problem, board):
    return board.rect or (0, 0, *problem.bins[board.bin].size_mm[:2])


def _block(problem, board):
    x, y, length, width = _rect(problem, board)
    return (x, y, board.z_mm), (length, width, problem.board_mm)


def _over(one_at, one_size, other_at, other_size):
    return all(
        one_at[k] < other_at[k] + other_size[k] and other_at[k] < one_at[k] + one_size[k] for k in (0, 1)
    )


def _inside(inner_at, inner_size, at, size):
    return all(
        at[k] <= inner_at[k] and inner_at[k] + inner_size[k] <= at[k] + size[k] for k in range(len(size))
    )


def _board_under(problem, result, p):
    """Return the board on which a bag stands with its whole footprint."""
    for board in result.boards:
        at, size = _block(problem, board)
        top = at[2] + size[2]
        if board.bin == p.bin and p.at_mm[2] == top and _inside(p.at_mm[:2], p.size_mm[:2], at[:2], size[:2]):
            return board
    return None


def _geometry(problem, result):
    found = []
    for p in result.placed:
        choice, box = _choice(problem, p), problem.bins[p.bin]
        if choice.boxes is not None and p.bin not in choice.boxes:
            found.append(f"{p} in a box not allowed")
        turned = (choice.size_mm[1], choice.size_mm[0], choice.size_mm[2])
        if p.size_mm not in (choice.size_mm, turned):
            found.append(f"{p} has another size")
        if not _inside(p.at_mm, p.size_mm, (0, 0, 0), box.size_mm):
            found.append(f"{p} sticks out")
        if p.at_mm[2] != 0 and _board_under(problem, result, p) is None:
            found.append(f"{p} floats")
    for b, box in enumerate(problem.bins):
        bags = [(p, p.at_mm, p.size_mm) for p in result.placed if p.bin == b]
        boards = [(board, *_block(problem, board)) for board in result.boards if board.bin == b]
        bodies = [(body, body.at_mm, body.size_mm) for body in box.blocked]
        found += [f"{one[0]} sticks out" for one in boards if not _inside(*one[1:], (0, 0, 0), box.size_mm)]
        moving = [*bags, *boards]
        pairs = [*combinations(moving, 2), *((one, body) for one in moving for body in bodies)]
        found += [f"{one[0]} meets {other[0]}" for one, other in pairs if _cuboids_meet(*one[1:], *other[1:])]
        for p, at, size in bags:
            for board, board_at, board_size in boards:
                gap = board_at[2] - at[2] - size[2]
                fragile = _choice(problem, p).carries_g == 0
                if fragile and _over(at, size, board_at, board_size) and 0 <= gap < CLEARANCE_MM:
                    found.append(f"{board} lies on {p}, which bears nothing")
    return found


def _board_g(problem, board):
    _, _, length, width = _rect(problem, board)
    return -(-length * width * problem.board_g_per_m2 // 10**6)


def _bearers(problem, here, boards, board):
    """Return the bags below a board, with no other board between, that may carry."""
    at, size = _block(problem, board)
    between = [other for other in boards if other.z_mm < board.z_mm]
    found = []
    for p in here:
        top = p.at_mm[2] + p.size_mm[2]
        if top > board.z_mm or not _over(p.at_mm, p.size_mm, at, size) or _choice(problem, p).carries_g == 0:
            continue
        shades = [o for o in between if o.z_mm >= top and _over(*_block(problem, o), p.at_mm, p.size_mm)]
        if not any(_over(*_block(problem, o), at, size) for o in shades):
            found.append(p)
    return found


def _stack(problem, here, boards, p):
    """Return how many bags may stand over each other from one up, by the boards above it and each other."""
    deep = {}
    for o in sorted(boards, key=lambda o: o.z_mm):
        if o.z_mm >= p.at_mm[2] + p.size_mm[2] and _over(*_block(problem, o), p.at_mm, p.size_mm):
            under = [n for q, n in deep.items() if _over(*_block(problem, q), *_block(problem, o))]
            deep[o] = 1 + max(under, default=0)
    return 1 + max(deep.values(), default=0)


def _loads(problem, result):
    """Every bag bears what the flow of loads, shared in the best way, asks of it."""
    found = []
    for b, box in enumerate(problem.bins):
        here = [p for p in result.placed if p.bin == b]
        boards = sorted((o for o in result.boards if o.bin == b), key=lambda o: o.z_mm)
        mass = sum(_choice(problem, p).mass_g for p in here) + sum(_board_g(problem, o) for o in boards)
        if mass > box.max_contents_g:
            found.append(f"box {b} too heavy")
        for board in boards:
            bearers = _bearers(problem, here, boards, board)
            on = [p for p in here if _board_under(problem, result, p) == board]
            if not on:
                found.append(f"box {b}: a board for nothing")
            if not bearers:
                found.append(f"box {b}: nothing bears {board}")
        if boards and not found and not _flows(problem, result, here, boards):
            found.append(f"box {b}: a board is not carried")
        for p in here:
            if _stack(problem, here, boards, p) > _choice(problem, p).stack_most:
                found.append(f"{p}: too many boards above")
        for board in boards if Rule.SOFT_NEVER_ABOVE in problem.rules else ():
            on = [p for p in here if _board_under(problem, result, p) == board]
            below = [
                p
                for p in here
                if p.at_mm[2] < board.z_mm and _over(p.at_mm, p.size_mm, *_block(problem, board))
            ]
            if any(problem.items[p.item].soft for p in on) and not all(
                problem.items[p.item].soft for p in below
            ):
                found.append(f"box {b}: soft above")
    return found


def _flows(problem, result, here, boards):
    """Tell by linear programming whether loads can run down to the floor with no bag above its limit."""
    pairs = [(k, p) for k, o in enumerate(boards) for p in _bearers(problem, here, boards, o)]
    equal, load, most, limits = [], [], [], []
    for k, board in enumerate(boards):
        row = [0.0] * len(pairs)
        own = _board_g(problem, board)
        own += sum(_choice(problem, p).mass_g for p in here if _board_under(problem, result, p) == board)
        for n, (other, p) in enumerate(pairs):
            row[n] += other == k
            row[n] -= _board_under(problem, result, p) == board
        equal.append(row)
        load.append(own)
    for p in here:
        most.append([float(q is p) for _, q in pairs])
        limits.append(_choice(problem, p).carries_g + 1e-6)
    answer = linprog([0.0] * len(pairs), A_ub=most, b_ub=limits, A_eq=equal, b_eq=load)
    return answer.status == 0


def _could_go(problem, item):
    return {
        b
        for choice in item.choices
        for b, box in enumerate(problem.bins)
        if (choice.boxes is None or b in choice.boxes)
        and choice.mass_g <= box.max_contents_g
        and choice.size_mm[2] <= box.size_mm[2]
        and all(x <= y for x, y in zip(sorted(choice.size_mm[:2]), sorted(box.size_mm[:2]), strict=True))
    }


def _spread(problem, result):
    if len({p.bin for p in result.placed}) < 2:
        return []
    groups = []
    if Rule.SPREAD_MUSTS in problem.rules:
        groups.append(("musts", lambda item: item.pieces and problem.lines[item.line].rank == 0))
    if Rule.SPREAD_STRAINS in problem.rules:
        for strain in {item.strain for item in problem.items if item.strain}:
            groups.append((strain, lambda item, strain=strain: item.strain == strain))
    found = []
    for name, belongs in groups:
        could = set().union(*[_could_go(problem, item) for item in problem.items if belongs(item)])
        at = [p.bin for p in result.placed if belongs(problem.items[p.item])]
        if len(could) > 1 and len(at) > 1 and len(set(at)) == 1:
            found.append(f"{name} all in box {at[0]}")
    return found


def goal_values(problem, result):
    """Return the goals counted by hand."""
    carried = [0, 0, 0]
    for p in result.placed:
        item = problem.items[p.item]
        line = problem.lines[item.line]
        carried[line.rank] += max(1, len(item.pieces)) * (line.value if line.rank == 2 else 1)
    billed = 0
    for b in {p.bin for p in result.placed}:
        box = problem.bins[b]
        mass = sum(_choice(problem, p).mass_g for p in result.placed if p.bin == b) + box.tare_g
        mass += sum(_board_g(problem, board) for board in result.boards if board.bin == b)
        billed += -(-max(mass, box.billed_floor_g) // box.billed_step_g) * box.billed_step_g
    margin = min((_choice(problem, p).margin_min for p in result.placed), default=0)
    return [*carried, billed, margin]


def _goals(problem, result):
    told = [g.value for g in result.goals]
    found = (
        []
        if told == goal_values(problem, result)
        else [f"goals {told}, counted {goal_values(problem, result)}"]
    )
    for g in result.goals:
        if (g.value < g.bound) if g.goal == "billed_g" else (g.value > g.bound):
            found.append(f"{g} beyond its bound")
    return found
