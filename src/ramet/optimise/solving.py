"""Runs the solver with the same settings everywhere, and keeps the account of deterministic time."""

import time
from dataclasses import dataclass, field
from typing import Any, Literal

from ortools.sat.python import cp_model

from ramet.optimise.problem import Budget

Verdict = Literal["optimal", "feasible", "infeasible", "unknown"]

LEAST_SLICE_S = 1e-4


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
    """Deterministic seconds spent against the budget; the wall clock only as an emergency stop."""

    budget: Budget
    spent_s: float = 0.0
    stopped: bool = False
    began: float = field(default_factory=time.monotonic)

    @property
    def left_s(self) -> float:
        """Deterministic seconds left; none once the search was stopped."""
        if time.monotonic() - self.began > self.budget.emergency_s:
            self.stopped = True
        return 0.0 if self.stopped else max(0.0, self.budget.deterministic_s - self.spent_s)

    def solve(self, model: cp_model.CpModel, limit_s: float, *, small: bool = False) -> Answer | None:
        """Solve within the limit and what is left of the budget; None when nothing is left.

        A small model runs on one worker, which is deterministic by itself and starts faster.
        """
        limit = min(limit_s, self.left_s)
        if limit < LEAST_SLICE_S:
            return None
        solver = cp_model.CpSolver()
        _settings(solver.parameters, self.budget, limit, small)
        solver.parameters.max_time_in_seconds = max(
            0.01, self.budget.emergency_s - (time.monotonic() - self.began)
        )
        status = solver.solve(model)
        used = float(solver.response_proto.deterministic_time)
        self.spent_s += used
        verdict = _verdict(status)
        if verdict in ("feasible", "unknown") and used < 0.9 * limit:
            self.stopped = True  # neither an end nor the limit: the user or the emergency stop
        return Answer(verdict, solver.best_objective_bound, solver)


def _settings(parameters: Any, budget: Budget, limit_s: float, small: bool) -> None:
    parameters.random_seed = budget.seed % 2**31
    parameters.max_deterministic_time = limit_s
    if small:
        parameters.num_workers = 1
    else:
        parameters.num_workers = 2
        parameters.interleave_search = True
        parameters.interleave_batch_size = 4


def _verdict(status: Any) -> Verdict:
    if status == cp_model.OPTIMAL:
        return "optimal"
    if status == cp_model.FEASIBLE:
        return "feasible"
    return "infeasible" if status == cp_model.INFEASIBLE else "unknown"
