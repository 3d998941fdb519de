"""Finds the best set, bagged and boxed, and proves how good it is.

A greedy start gives a plan at once. Then goal by goal: the selection model, which knows floors only by areas,
proposes a set that would be better; `packing` decides whether its floors really hold it. If so it is the new
plan; if not, the reason goes back as a cut. What the model cannot promise any more is the proven bound.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from itertools import combinations

from ramet.optimise.centred import mass_centred
from ramet.optimise.flats import plane_kinds
from ramet.optimise.flatten import flattened
from ramet.optimise.goals import GOALS, MINIMISED, Packing, ceiling, plain_bound, rank_key, values
from ramet.optimise.greedy import best_start, complete, filled_up, lift_margin
from ramet.optimise.improve import improve
from ramet.optimise.interrupts import interrupts_held_back
from ramet.optimise.judging import Judge
from ramet.optimise.options import Option, options
from ramet.optimise.places import PlaceTable
from ramet.optimise.problem import Budget, GoalValue, Problem, Progress, Result, Rule
from ramet.optimise.selection import Expression, Selection, build, fullest_floor, goal_expression
from ramet.optimise.solving import Account, Answer
from ramet.optimise.trading import traded
from ramet.optimise.walls import sensitive_inwards

ROUNDS_PER_S, ROUNDS_MOST = 800, 3000
"""Rounds of ruin and repair before the solver starts; one takes about half a millisecond."""
SHARES = {"musts": 0.4, "wants": 0.6, "fillers": 0.92, "billed_g": 0.6, "margin_min": 1.0}
"""The share of what is left of the budget that a goal may use up."""

SLACK_SHARE = 0.3
"""How much of what is still open a proposal may fall short of the best one: floors decide sooner."""

EXPLORE_SHARE = 0.6
"""The share of the budget that may go into what the planes hold, before any set is asked for."""

TRADE_SHARES = {"musts": 0.1, "wants": 0.05, "fillers": 0.1}
"""The share of the budget for trading bags between boxes before a goal that is not at its ceiling."""
PRICED_SHARE = 0.05
"""That share at most where prices come next and boxes are few."""

FEW_BOXES = 4
"""With more boxes, filling one after another takes long: ruin and repair comes first, and trading gets thrice
the time."""

PRICE_SHARE = 0.95
"""The share of a goal's time for prices."""

REOPEN_SHARE, REOPEN_S = 0.7, 0.8
"""The share of a goal's time for choosing again box by box, and deterministic seconds a box."""

DIVE_SHARE = 0.05
"""Share of the budget for each try of a dive."""


def choose(
    problem: Problem,
    budget: Budget,
    on_progress: Callable[[Progress], None] | None = None,
    should_stop: Callable[[], bool] = lambda: False,
) -> Result:
    """Return the best packing found within the budget, with a proven bound for each goal.

    The same problem and seed give the same result, unless the emergency stop, `should_stop` or Ctrl-C cut it
    short, which `stopped_early` tells. `on_progress` hears the standing of each goal from its start.
    """
    with interrupts_held_back() as interrupted:
        account = Account(budget, lambda: interrupted() or should_stop())
        search = _Search(problem, account, on_progress)
        try:
            search.run()
        except KeyboardInterrupt:
            account.stopped = True
        return search.result()


@dataclass(slots=True)
class _Search:
    problem: Problem
    account: Account
    on_progress: Callable[[Progress], None] | None
    best: Packing = field(default_factory=Packing)
    goals: list[GoalValue] = field(default_factory=list)
    trades: int = 0
    judge: Judge = field(init=False)

    def __post_init__(self) -> None:
        self.judge = Judge(self.problem, self.account)

    @property
    def many_boxes(self) -> bool:
        """Whether filling one box after another takes too long."""
        return len(self.problem.bins) > FEW_BOXES

    def run(self) -> None:
        """Improve and prove, goal by goal."""
        every = options(self.problem)
        lean = options(self.problem, all_choices=False)
        seed, rounds = self.account.budget.seed, int(ROUNDS_PER_S * self.account.budget.deterministic_s)
        self.best = best_start(self.problem, lean, seed)
        short = next((g for g in GOALS[:3] if self.value_of(g) < ceiling(self.problem, g)), None)
        if short is not None:
            self.judge.lab.table = PlaceTable.of(plane_kinds(self.problem, lean))
            until = self.account.left_s * EXPLORE_SHARE
            self.judge.explore(lean, until, lambda: self.tell(short, plain_bound(self.problem, short)))
        for number, goal in enumerate(GOALS):
            wanting = goal in GOALS[:3] and self.value_of(goal) < ceiling(self.problem, goal)
            stacked = any(o.upper for o in lean)
            if wanting and ((self.many_boxes and stacked) or not self.judge.knows_planes):
                # Again for each goal: what the solver found for the one before left fillers aside.
                turns = min(rounds, ROUNDS_MOST)
                self.best = improve(self.problem, lean, self.best, seed + number, turns)
            if goal == GOALS[-1]:
                self.offer(lift_margin(self.problem, every, self.best))
            if goal in GOALS[3:]:
                self.best = flattened(self.problem, self.best)
            self._solve_goal(goal, every if goal in GOALS[3:] else lean)
        self.best = flattened(self.problem, self.best)

    def trade(self, goal: str, able: tuple[Option, ...], bound: int, seconds: float) -> None:
        """Trade bags between boxes, where all their places are numbered, until a goal is at its bound."""
        table = self.judge.lab.table
        if table is None:
            return

        def heard(packing: Packing) -> None:
            self.offer(packing)
            self.tell(goal, bound)

        self.trades += 1
        traded(
            self.problem,
            able,
            table,
            goal,
            bound,
            self.best,
            self.account,
            self.account.budget.seed + self.trades,
            seconds,
            partial(self.judge.hold, able),
            heard,
            self.judge.traded,
        )

    def result(self) -> Result:
        """Return the best so far; goals never reached get the bound that needs no search."""
        now = values(self.problem, self.best)
        last = self.best
        try:
            if Rule.MASS_CENTRED in self.problem.rules:
                last = mass_centred(self.problem, last)
            if Rule.SENSITIVE_OFF_WALLS in self.problem.rules:
                last = sensitive_inwards(self.problem, last)
        except KeyboardInterrupt:
            self.account.stopped = True
        goals = [
            GoalValue(goal, now[k], self.goals[k].bound, self.goals[k].bound == now[k])
            if k < len(self.goals)
            else GoalValue(goal, now[k], plain_bound(self.problem, goal), False)
            for k, goal in enumerate(GOALS)
        ]
        return Result(last.placed, last.boards, tuple(goals), self.account.stopped)

    def _solve_goal(self, goal: str, able: tuple[Option, ...]) -> None:
        position = GOALS.index(goal)
        bound = plain_bound(self.problem, goal)
        self.goals.append(GoalValue(goal, self.value_of(goal), bound, False))
        self.tell(goal, bound)
        if not self.best.placed and position >= 3:
            bound = 0
        if bound != self.value_of(goal) and able:
            bound = _GoalSearch(self, goal, able, bound).run()
        if not able:
            bound = self.value_of(goal)
        value = self.value_of(goal)
        self.goals[position] = GoalValue(goal, value, bound, bound == value)
        self.tell(goal, bound)

    def value_of(self, goal: str) -> int:
        """Return what the best so far is worth for a goal."""
        return values(self.problem, self.best)[GOALS.index(goal)]

    def offer(self, packing: Packing) -> bool:
        """Keep a packing when it is better than the best so far."""
        if rank_key(values(self.problem, packing)) > rank_key(values(self.problem, self.best)):
            self.best = packing
            return True
        return False

    def tell(self, goal: str, bound: int) -> None:
        """Report progress, and keep the bound: an interrupt may come at any time."""
        position = GOALS.index(goal)
        if position < len(self.goals):
            self.goals[position] = GoalValue(goal, self.value_of(goal), bound, False)
        if self.on_progress is not None:
            share = min(1.0, self.account.spent_s / max(self.account.budget.deterministic_s, 1e-9))
            self.on_progress(Progress(goal, self.value_of(goal), bound, share))


@dataclass(slots=True)
class _GoalSearch:
    """The search for one goal, the goals before it held at their values."""

    search: _Search
    goal: str
    able: tuple[Option, ...]
    bound: int
    tentative: int = 0
    """The bound if nothing that was left open can be held."""

    def run(self) -> int:
        """Return the proven bound of the goal."""
        account = self.search.account
        stop_at = account.spent_s + account.left_s * SHARES[self.goal]
        self._descend(stop_at, dive=not self.search.judge.knows_planes, first=True)
        while self.search.judge.postponed and self.open() and account.spent_s < stop_at:
            if self.search.judge.settle():
                self.bound = self.tentative
            self._descend(stop_at, dive=False)
        return self.bound

    def open(self) -> bool:
        """Tell whether the bound is still away from the best."""
        return self.bound != self.search.value_of(self.goal)

    def _descend(self, stop_at: float, *, dive: bool, first: bool = False) -> None:
        """Ask for better and better sets until none is left, or the time is used up."""
        search, account = self.search, self.search.account
        s = build(search.problem, self.able)
        search.judge.teach(s)
        for earlier in GOALS[: GOALS.index(self.goal)]:
            s.model.add(goal_expression(s, earlier) == search.value_of(earlier))
        expression = goal_expression(s, self.goal)
        sign = -1 if self.goal == MINIMISED else 1
        self.tentative = self.bound
        stacked = any(o.upper for o in self.able)
        if self.goal in GOALS[:3]:
            priced = stacked and not dive and not search.many_boxes
            if not priced:  # prices say more than fractions, and sooner
                self._tighten(s, expression, (account.spent_s + stop_at) / 2)
            if first and (dive or stacked):  # one known layer is the model's own field
                share = TRADE_SHARES[self.goal] * (3 if search.many_boxes else 1)
                share = min(share, PRICED_SHARE) if priced else share
                seconds = account.budget.deterministic_s * share
                search.trade(self.goal, self.able, self.bound, seconds)
            if not dive:
                self._price(s, account.spent_s + (stop_at - account.spent_s) * PRICE_SHARE)
        if self.goal == GOALS[-1]:
            self._halve(s, stop_at)
        if self.goal in GOALS[:3] and not dive and stacked:
            self._reopen(s, expression, account.spent_s + (stop_at - account.spent_s) * REOPEN_SHARE)
        s.model.maximize(sign * expression)
        if self.goal != GOALS[-1] and dive:
            self._dive(s, sign, expression, (account.spent_s + stop_at) / 2)
        while self.tentative != search.value_of(self.goal):
            s.model.add(sign * expression >= sign * search.value_of(self.goal) + 1)
            answer = account.solve(s.model, stop_at - account.spent_s, slack=self.slack())
            if answer is None:
                break
            self._learn_bound(answer, sign)
            search.tell(self.goal, self.bound)
            if not answer.has_solution:
                break
            self._plan(s, answer)

    def _tighten(self, s: Selection, expression: Expression, stop_at: float) -> None:
        """Take the bound that the model of a carrying goal gives in fractions."""
        most = self.search.judge.tighten(s, expression, stop_at)
        self._lower(most)

    def _price(self, s: Selection, stop_at: float) -> None:
        """Find prices that bound a carrying goal, and packings by them."""
        search, account = self.search, self.search.account
        filling = search.judge.filling(s, self.goal, search.best)
        if filling is None:
            return
        search.judge.show(filling, search.best)

        def heard() -> bool:
            if self._lower(filling.bound):
                search.tell(self.goal, self.bound)
            return self.open() and account.left_s > 0

        def offered(packing: Packing) -> None:
            search.offer(packing)
            search.tell(self.goal, self.bound)

        def trade(seconds: float) -> None:
            search.trade(self.goal, self.able, self.bound, seconds)
            search.judge.show(filling, search.best)

        filling.run(stop_at, heard, offered, trade)
        heard()
        search.judge.cut(s, filling)

    def _lower(self, most: float) -> bool:
        """Take a bound in fractions on a carrying goal; return whether it is lower."""
        if most == math.inf:
            return False
        known = max(self.search.value_of(self.goal), math.floor(most + 1e-6))
        lower = known < self.bound
        if lower:
            self.bound = self.tentative = known
        return lower

    def _reopen(self, s: Selection, expression: Expression, stop_at: float) -> None:
        """Choose again for one box, then for two at a time, while others only give bags up."""
        search, account = self.search, self.search.account
        bins = range(len(search.problem.bins))
        groups = [group for n in ((1, 2) if len(bins) > 2 else (1,)) for group in combinations(bins, n)]
        waiting = list(groups)
        while waiting and account.spent_s < stop_at and self.open():
            opened = waiting.pop(0)
            kept = search.judge.keep(search.best)
            model = s.model.clone()
            for take, option in zip(s.take, self.able, strict=True):
                if option.bin not in opened and option not in kept[option.bin]:
                    model.add(take == 0)
            model.add(expression >= search.value_of(self.goal) + 1)
            model.maximize(expression)
            answer = account.solve(model, REOPEN_S * len(opened), slack=self.slack())
            if answer is None:
                return
            if answer.has_solution:
                if self._plan(s, answer):
                    search.tell(self.goal, self.bound)
                    waiting = list(groups)
                else:
                    waiting.insert(0, opened)  # what was learned rules this out: ask again

    def _halve(self, s: Selection, stop_at: float) -> None:
        """Leave out every bag with a margin below the middle of what is open; half of it closes each time.

        A model without the thin bags says far sooner that nothing goes than one that weighs margins.
        """
        search, account = self.search, self.search.account
        margins = sorted({o.margin_min for o in self.able})
        while account.spent_s < stop_at:
            between = [m for m in margins if search.value_of(self.goal) < m <= self.tentative]
            if not between:
                break
            middle = between[len(between) // 2]
            model = s.model.clone()
            for take, option in zip(s.take, self.able, strict=True):
                if option.margin_min < middle:
                    model.add(take == 0)
            answer = account.solve(model, (stop_at - account.spent_s) / 3)
            if answer is None or answer.verdict == "unknown":
                break
            if answer.has_solution:
                self._plan(s, answer)
            else:
                below = [m for m in margins if m < middle]
                self.tentative = max(search.value_of(self.goal), below[-1] if below else 0)
                if not search.judge.unsure:
                    self.bound = self.tentative
            search.tell(self.goal, self.bound)

    def slack(self) -> float:
        """How far from the best a proposal may be for now."""
        return abs(self.tentative - self.search.value_of(self.goal)) * SLACK_SHARE

    def _plan(self, s: Selection, answer: Answer) -> bool:
        """Make a packing of what the model proposes; return whether every floor held it."""
        search = self.search
        proposal = search.judge.judge(s, answer)
        if proposal.packing is not None:
            search.offer(proposal.packing)
            return True
        search.offer(complete(search.problem, self.able, proposal.chosen, proposal.boards))
        search.offer(filled_up(search.problem, self.able, proposal.nearly))
        return False

    def _dive(self, s: Selection, sign: int, expression: Expression, stop_at: float) -> None:
        """Ask for a certain value on the emptiest floors: such sets fit. Ask for less when they do not."""
        search, account = self.search, self.search.account
        step = (sign * (self.bound - search.value_of(self.goal)) + 1) // 2
        while step > 0:
            model = s.model.clone()
            model.add(sign * expression >= sign * search.value_of(self.goal) + step)
            model.minimize(fullest_floor(s, model))
            limit = min(DIVE_SHARE * account.budget.deterministic_s, stop_at - account.spent_s)
            answer = account.solve(model, limit, slack=2.0)
            if answer is None:
                return
            fits = answer.has_solution and self._plan(s, answer)
            room = sign * (self.bound - search.value_of(self.goal))
            step = min(room, 2 * step) if fits else step // 2

    def _learn_bound(self, answer: Answer, sign: int) -> None:
        value = sign * self.search.value_of(self.goal)
        known = sign * self.tentative
        if answer.verdict == "infeasible":
            known = value
        elif answer.has_solution or answer.bound not in (0.0, math.inf):  # 0: the solver has none yet
            known = max(value, min(known, math.floor(answer.bound + 1e-6)))
        self.tentative = sign * known
        if not self.search.judge.unsure:
            self.bound = self.tentative
