"""Runs the solver with the same settings everywhere, and keeps the account of deterministic time."""

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from typing import Any, Literal

from ortools.sat.python import cp_model

from ramet.optimise.problem import Budget

Verdict = Literal["optimal", "feasible", "infeasible", "unknown"]

LEAST_SLICE_S = 0.01
"""Below this the solver does not even load a model; its bound would mean nothing."""


START_S, START_SMALL_S = 0.1, 0.03
"""What loading and presolving cost, measured on two cores; the solver's deterministic time leaves it out."""


AT_ONCE = 2
"""How many models are solved at once, whatever machine it is: the answers are the same on any."""

ASK_EVERY_S = 0.1
"""How often a running solve is asked whether it should stop."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What one solve found. `solver` reads values when the verdict is optimal or feasible."""

    verdict: Verdict
    bound: float
    solver: cp_model.CpSolver

    @property
    def has_solution(self) -> bool:
        """Whether variables have values."""
        return self.verdict in ("optimal", "feasible")


@dataclass(slots=True)
class Account:
    """Deterministic seconds spent against the budget; the wall clock only as an emergency stop.

    `should_stop` is asked in the calling thread, before and during each solve.
    """

    budget: Budget
    should_stop: Callable[[], bool] = lambda: False
    spent_s: float = 0.0
    stopped: bool = False
    began: float = field(default_factory=time.monotonic)

    @property
    def left_s(self) -> float:
        """Deterministic seconds left; none once the search was stopped."""
        if time.monotonic() - self.began > self.budget.emergency_s or self.should_stop():
            self.stopped = True
        return 0.0 if self.stopped else max(0.0, self.budget.deterministic_s - self.spent_s)

    def charge(self, seconds: float) -> None:
        """Book work that the solver's own account leaves out, by a fixed price, so that runs stay alike."""
        self.spent_s += seconds

    def solve(self, model: cp_model.CpModel, limit_s: float, *, slack: float = 0.0) -> Answer | None:
        """Solve within the limit and what is left of the budget; None when nothing is left.

        One worker is deterministic by itself. Two in turns (interleaved) are so too, but each solve then
        costs a whole deterministic second, and most solves here take a tenth of that.
        `slack` is how far from the best the answer may be; its bound is true all the same.
        """
        return self._solved((model,), limit_s, small=False, slack=slack)[0]

    def solve_each(self, models: Sequence[cp_model.CpModel], limit_s: float) -> list[Answer | None]:
        """Solve small models (one floor each), two at a time; what both take at once counts once.

        A small model is all propagation: no linear relaxation.
        """
        return self._solved(models, limit_s, small=True) if models else []

    def _solved(
        self, models: Sequence[cp_model.CpModel], limit_s: float, *, small: bool, slack: float = 0.0
    ) -> list[Answer | None]:
        limit = min(limit_s, self.left_s)
        if limit < LEAST_SLICE_S:
            return [None] * len(models)
        solvers = [cp_model.CpSolver() for _ in models]
        for solver in solvers:
            _settings(solver.parameters, self.budget, limit, small)
            solver.parameters.absolute_gap_limit = slack
            solver.parameters.max_time_in_seconds = max(
                0.01, self.budget.emergency_s - (time.monotonic() - self.began)
            )
        verdicts = [_verdict(status) for status in self._run(solvers, models)]
        used = [float(solver.response_proto.deterministic_time) for solver in solvers]
        costs = [one + (START_SMALL_S if small else START_S) for one in used]
        self.charge(max(*costs, sum(costs) / AT_ONCE))
        if any(v in ("feasible", "unknown") and u < 0.9 * limit for v, u in zip(verdicts, used, strict=True)):
            self.stopped = True  # neither an end nor the limit: somebody asked, or the emergency stop
        return [
            Answer(verdict, solver.best_objective_bound, solver)
            for verdict, solver in zip(verdicts, solvers, strict=True)
        ]

    def _run(self, solvers: Sequence[cp_model.CpSolver], models: Sequence[cp_model.CpModel]) -> list[Any]:
        """Solve in threads while this one listens; the solver's own Ctrl-C handler outlives the solve."""
        with ThreadPoolExecutor(AT_ONCE) as pool:
            running = [pool.submit(one.solve, model) for one, model in zip(solvers, models, strict=True)]
            try:
                while wait(running, ASK_EVERY_S).not_done:
                    if self.should_stop():
                        _stop(solvers)
            except KeyboardInterrupt:
                while wait(running, ASK_EVERY_S).not_done:
                    _stop(solvers)
                raise
        return [one.result() for one in running]


def _stop(solvers: Sequence[cp_model.CpSolver]) -> None:
    for solver in solvers:
        solver.stop_search()


def _settings(parameters: Any, budget: Budget, limit_s: float, small: bool) -> None:
    parameters.random_seed = budget.seed % 2**31
    parameters.max_deterministic_time = limit_s
    parameters.num_workers = 1
    parameters.catch_sigint_signal = False
    if small:
        parameters.linearization_level = 0
        # Half the time on floors of 14 bags, and a third more of them decided (measured on nine hard ones).
        parameters.use_try_edge_reasoning_in_no_overlap_2d = True
        parameters.use_energetic_reasoning_in_no_overlap_2d = True
    else:
        parameters.linearization_level = 2


def _verdict(status: Any) -> Verdict:
    if status == cp_model.OPTIMAL:
        return "optimal"
    if status == cp_model.FEASIBLE:
        return "feasible"
    return "infeasible" if status == cp_model.INFEASIBLE else "unknown"
