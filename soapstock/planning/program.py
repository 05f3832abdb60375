"""An integer program as rows and columns, and its solution by HiGHS."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from soapstock.errors import RuleBroken

INF = float("inf")
NODES = 3000  # of the search; past this the best found so far is given, with its gap
SECONDS = 120.0  # the same by the clock, for machines so slow that nobody would wait


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """Values of all columns, the objective's value, and a bound that no solution passes."""

    values: tuple[float, ...]
    objective: float
    bound: float


@dataclass(slots=True)
class Program:
    """Maximise the objective over columns that keep all rows."""

    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    gain: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[float, float, dict[int, float]]] = field(default_factory=list)

    def column(
        self, upper: float, gain: float = 0.0, *, whole: bool = False, lower: float = 0.0
    ) -> int:
        """Add a column; returns its number."""
        self.lower.append(lower)
        self.upper.append(upper)
        self.gain.append(gain)
        self.whole.append(whole)
        return len(self.gain) - 1

    def row(self, parts: Mapping[int, float], *, low: float = -INF, high: float = INF) -> None:
        """Add a row: low <= sum of parts <= high."""
        self.rows.append((low, high, dict(parts)))

    def solve(
        self,
        *,
        gap: float = 0.0,
        nodes: int = NODES,
        seconds: float = SECONDS,
        start: Sequence[float] = (),
    ) -> Solution | None:
        """The best values, or None when no values keep all rows.

        One thread, a fixed seed and a limit in nodes give the same plan for the same program on any
        machine, as long as the time does not run out.

        Args:
            gap: share of the objective by which the answer may fall short.
            nodes: give up proving after so many nodes of the search, with the best found so far.
            seconds: give up after so long, with the best found so far.
            start: values that keep all rows, to begin from.

        Raises:
            RuleBroken: no solution was found in the time.
        """
        import highspy  # noqa: PLC0415  # a tenth of a second that no other command pays

        solver: Any = highspy.Highs()
        for name, value in _OPTIONS.items():
            solver.setOptionValue(name, value)
        solver.setOptionValue("mip_rel_gap", gap)
        solver.setOptionValue("time_limit", seconds)
        solver.setOptionValue("mip_max_nodes", nodes)
        solver.passModel(self._as_lp(highspy))
        if start:
            known = highspy.HighsSolution()
            known.col_value = list(start)
            solver.setSolution(known)
        solver.run()
        status = solver.getModelStatus()
        kinds = highspy.HighsModelStatus
        if status == kinds.kModelEmpty:
            kept = all(low <= 0 <= high for low, high, _ in self.rows)
            return Solution(values=(), objective=0.0, bound=0.0) if kept else None
        # Every column that brings something has an upper end, so that nothing is unbounded.
        if status in {kinds.kInfeasible, kinds.kUnboundedOrInfeasible}:
            return None
        info = solver.getInfo()
        feasible = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
        if not feasible:
            raise RuleBroken(
                "no plan was found in the time given", hint="plan fewer weeks or varieties at once"
            )
        best = float(info.objective_function_value)
        bound = float(info.mip_dual_bound) if any(self.whole) else best
        values = tuple(float(x) for x in solver.getSolution().col_value)
        return Solution(values=values, objective=best, bound=max(bound, best))

    def _as_lp(self, highspy: Any) -> Any:
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.gain), len(self.rows)
        lp.sense_ = highspy.ObjSense.kMaximize
        lp.col_cost_ = np.array(self.gain)
        lp.col_lower_, lp.col_upper_ = np.array(self.lower), np.array(self.upper)
        lp.row_lower_ = np.array([low for low, _, _ in self.rows])
        lp.row_upper_ = np.array([high for _, high, _ in self.rows])
        kinds = highspy.HighsVarType
        lp.integrality_ = [kinds.kInteger if w else kinds.kContinuous for w in self.whole]
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.cumsum([0, *(len(parts) for _, _, parts in self.rows)])
        lp.a_matrix_.index_ = np.array([k for _, _, parts in self.rows for k in parts], dtype=int)
        lp.a_matrix_.value_ = np.array([v for _, _, parts in self.rows for v in parts.values()])
        return lp


_OPTIONS: dict[str, Any] = {
    "output_flag": False,
    "threads": 1,
    "random_seed": 7,
    "mip_abs_gap": 1e-6,
    # programs in programs cost more here than they find: without them a plan takes half the time
    "mip_heuristic_run_rins": False,
    "mip_heuristic_run_rens": False,
}
