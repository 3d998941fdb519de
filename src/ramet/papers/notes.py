"""The notes behind the cover: what stays behind, every caution with its source, what was assumed."""

from typing import Any

from ramet.domain.words import Rank
from ramet.formats.plan import LeftOut, Plan
from ramet.papers import words
from ramet.papers.facts_of import cautions_in_order, is_safety, reasons_by_code

Context = dict[str, Any]
LINES_ON_COVER = 7
"""So many lines that stay behind are told on the cover; the notes have them all."""


def notes_context(plan: Plan) -> Context:
    """Return the texts of the notes."""
    ordered = cautions_in_order(plan)
    sources = list(dict.fromkeys(caution.source for caution in ordered if caution.source))
    cautions = [
        {
            "text": caution.text,
            "number": str(sources.index(caution.source) + 1) if caution.source else "",
            "safety": is_safety(caution),
        }
        for caution in ordered
    ]
    return {
        "left_out": _left_out(plan),
        "tried": _tried(plan),
        "cautions": _halves(cautions),
        "sources": [{"number": str(n), "text": text} for n, text in enumerate(sources, start=1)],
        "ways": words.ways(plan),
        "rules_off": [rule.words for rule in plan.rules if not rule.on],
        "changes": [line for change in plan.changes for line in change.words],
        "defaults": list(plan.defaults_used),
        "overrides": list(plan.made_from.overrides),
        "optimum": [_goal(plan, index) for index in range(len(plan.optimum.goals))],
        "cut_short": words.CUT_SHORT,
        "stopped_early": plan.optimum.stopped_early,
    }


def _tried(plan: Plan) -> str:
    """Tell which of the changes named beside the lines were tried by planning again."""
    rest = [
        left.request
        for left in lines_in_order(plan)
        if not all(group[0].tried for group in reasons_by_code(left))
    ]
    tried = "Each “would go if” was tried: planned again with that change, it went."
    return f"{tried} Not so for {', '.join(rest)}." if rest else tried


def lines_in_order(plan: Plan) -> tuple[LeftOut, ...]:
    """Return the lines that stay behind, musts first."""
    order = list(Rank)
    return tuple(sorted(plan.left_out, key=lambda left: order.index(left.rank)))


def _left_out(plan: Plan) -> list[Context]:
    """Return all reasons for all lines, unless the cover had room for them."""
    lines = lines_in_order(plan)
    if len(lines) <= LINES_ON_COVER and all(len(reasons_by_code(left)) == 1 for left in lines):
        return []
    return [row for left in lines for row in reason_rows(left)]


def reason_rows(left: LeftOut) -> list[Context]:
    """Return one row for each kind of reason why a line stays behind."""
    rows = []
    groups = reasons_by_code(left)
    for index, group in enumerate(groups):
        others = len(group) - 1
        rows.append(
            {
                "request": left.request if index == 0 else "",
                "rank": words.RANK[left.rank] if index == 0 else "",
                "sent": f"{left.sent} of {left.wanted}" if index == 0 else "",
                "why": group[0].text,
                "others": f"and {words.plural(others, 'piece')} likewise" if others else "",
                "would": group[0].would_fit_if,
                "last": index + 1 == len(groups),
            }
        )
    return rows


def _halves(rows: list[Context]) -> list[list[Context]]:
    """Split rows into two columns of about the same length of text."""
    letters = [len(row["text"]) + 40 for row in rows]
    cut = min(range(len(rows) + 1), key=lambda n: abs(sum(letters[:n]) - sum(letters[n:])))
    return [rows[:cut], rows[cut:]]


def _goal(plan: Plan, index: int) -> str:
    goal = plan.optimum.goals[index]
    value = f"{goal.value:.4g}"
    if goal.proven:
        return f"{words.plain(goal.goal)}: {value}, proven best"
    return f"{words.plain(goal.goal)}: {value}, at best {goal.bound:.4g}"
