"""Judges a packing from the words of the rules alone; shares no code with the solver's model."""

from collections import Counter
from itertools import combinations

from ramet.optimise.problem import Problem, Result, Rule

CLEARANCE_MM = 5


def faults(problem: Problem, result: Result) -> list[str]:
    """Return everything that is wrong with a result."""
    found = [*_lists(problem, result), *_geometry(problem, result), *_loads(problem, result)]
    return found + _spread(problem, result) + _goals(problem, result)


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


def _geometry(problem, result):
    found = []
    boards = {b.bin: b.z_mm for b in result.boards}
    if len(boards) != len(result.boards):
        found.append("two boards in a box")
    for p in result.placed:
        choice, box = _choice(problem, p), problem.bins[p.bin]
        if choice.boxes is not None and p.bin not in choice.boxes:
            found.append(f"{p} in a box not allowed")
        turned = (choice.size_mm[1], choice.size_mm[0], choice.size_mm[2])
        if p.size_mm not in (choice.size_mm, turned):
            found.append(f"{p} has another size")
        if any(p.at_mm[k] < 0 or p.at_mm[k] + p.size_mm[k] > box.size_mm[k] for k in range(3)):
            found.append(f"{p} sticks out")
        on_board = p.bin in boards and p.at_mm[2] == boards[p.bin] + problem.board_mm
        if p.at_mm[2] != 0 and not on_board:
            found.append(f"{p} floats")
        found += [
            f"{p} in {body}"
            for body in box.blocked
            if _cuboids_meet(p.at_mm, p.size_mm, body.at_mm, body.size_mm)
        ]
    for a, b in combinations(result.placed, 2):
        if a.bin == b.bin and _cuboids_meet(a.at_mm, a.size_mm, b.at_mm, b.size_mm):
            found.append(f"{a} meets {b}")
    for b, z in boards.items():
        length, width, _ = problem.bins[b].size_mm
        board = ((0, 0, z), (length, width, problem.board_mm))
        found += [
            f"board in {body}"
            for body in problem.bins[b].blocked
            if _cuboids_meet(*board, body.at_mm, body.size_mm)
        ]
        for p in result.placed:
            clear = 0 if _choice(problem, p).carries_g else CLEARANCE_MM
            if p.bin == b and p.at_mm[2] == 0 and p.size_mm[2] + clear > z:
                found.append(f"{p} reaches the board")
    return found


def _loads(problem, result):
    found = []
    for b, box in enumerate(problem.bins):
        here = [p for p in result.placed if p.bin == b]
        board = [z for z in result.boards if z.bin == b]
        board_g = -(-box.size_mm[0] * box.size_mm[1] * problem.board_g_per_m2 // 10**6) * len(board)
        low = [p for p in here if p.at_mm[2] == 0]
        high = [p for p in here if p.at_mm[2] > 0]
        above_g = sum(_choice(problem, p).mass_g for p in high) + board_g
        if above_g + sum(_choice(problem, p).mass_g for p in low) > box.max_contents_g:
            found.append(f"box {b} too heavy")
        if board and above_g > sum(_choice(problem, p).carries_g for p in low):
            found.append(f"box {b}: the board is not carried")
        if board and not high:
            found.append(f"box {b}: a board for nothing")
        soft_high = any(problem.items[p.item].soft for p in high)
        if (
            Rule.SOFT_NEVER_ABOVE in problem.rules
            and soft_high
            and not all(problem.items[p.item].soft for p in low)
        ):
            found.append(f"box {b}: soft above")
    return found


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
        groups.append(("musts", lambda item: problem.lines[item.line].rank == 0))
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
        if any(board.bin == b for board in result.boards):
            mass += -(-box.size_mm[0] * box.size_mm[1] * problem.board_g_per_m2 // 10**6)
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
