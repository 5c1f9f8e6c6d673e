"""Wraps OR-Tools: an integer program over plain integers, solved by CP-SAT.

Variables are indices, and no type of the engine is in any signature. OR-Tools is imported when the
first program is made, because the import takes longer than all the rest of a small job.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor, wait
from functools import cache
from typing import TYPE_CHECKING, Any

from solver.engines.expressions import CONSTANT
from solver.engines.limits import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from solver.engines.limits import Clock, Watch

LISTEN = 0.05  # seconds between looks at the watch


class Program:
    """An integer program; every search starts from the last values found.

    Parameters
    ----------
    conditions
        Whether all variables are booleans that imply each other. No linear relaxation is solved
        then, because its bound is weak and slow. The search uses unsatisfiable cores instead: sets
        of conditions that cannot all be spared.
    """

    def __init__(self, *, conditions: bool = False) -> None:
        from ortools.sat.python import cp_model

        self._cp = cp_model
        self._conditions = conditions
        self._model = _model_class()()
        self._variables: list[Any] = []
        self._values: tuple[int, ...] = ()

    @property
    def name(self) -> str:
        """The engine and its version."""
        from importlib.metadata import version

        return f"CP-SAT {version('ortools')}"

    @property
    def columns(self) -> int:
        """The number of variables."""
        return len(self._variables)

    def shut(self, variable: int) -> bool:  # noqa: ARG002 - another door knows
        """Return whether a variable is proved to be 0 from here on; CP-SAT never says so."""
        return False

    def suggest(self, values: tuple[int, ...]) -> None:
        """Start the next search from these values."""
        self._values = values

    def boolean(self) -> int:
        """Add a variable that is 0 or 1, and return its index."""
        self._variables.append(self._model.new_bool_var(""))
        return len(self._variables) - 1

    def integer(self, low: int, high: int) -> int:
        """Add an integer variable between two bounds, and return its index."""
        self._variables.append(self._model.new_int_var(low, high, ""))
        return len(self._variables) - 1

    def amount(self, low: int, high: int) -> int:
        """Add a variable that is an integer wherever the others are, and return its index."""
        return self.integer(low, high)

    def one_of(self, variables: Iterable[int]) -> None:
        """Add the constraint that exactly one of some booleans is true."""
        self._model.add_exactly_one([self._variables[index] for index in variables])

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> None:
        """Add the constraint that an expression lies between two bounds; None is open."""
        self._model.add_linear_constraint(
            self._linear(expression),
            -(2**62) if low is None else low,
            2**62 if high is None else high,
        )

    def least(self, expression: Mapping[int, int], clock: Clock) -> Outcome:
        """Minimise an expression until it is proved or time runs out; Ctrl-C ends it early."""
        constant = expression.get(CONSTANT, 0)  # kept out of the engine's floating-point bound
        self._model.minimize(self._linear({**expression, CONSTANT: 0}))
        outcome = self._search(clock)
        return Outcome(outcome.status, outcome.values, outcome.bound + constant)

    def _search(self, clock: Clock) -> Outcome:
        solver = self._cp.CpSolver()
        solver.parameters.num_workers = clock.limits.workers
        solver.parameters.random_seed = 1
        solver.parameters.cp_model_probing_level = 0  # presolve took longer than it saved
        solver.parameters.symmetry_level = 0
        solver.parameters.linearization_level = 2  # misses are proved by the linear bound
        if self._conditions:
            solver.parameters.linearization_level = 0
            solver.parameters.optimize_with_core = clock.limits.workers == 1  # two are slower so
        solver.parameters.max_time_in_seconds = max(clock.left, 0.001)
        if self._values:
            self._model.clear_hints()
            for variable, value in zip(self._variables, self._values, strict=False):
                self._model.add_hint(variable, value)
        status = self._heard(solver, clock.limits.watch)
        word = {
            self._cp.OPTIMAL: "optimal",
            self._cp.FEASIBLE: "feasible",
            self._cp.INFEASIBLE: "infeasible",
            self._cp.UNKNOWN: "unknown",
        }.get(status)
        if word is None:
            raise AssertionError(f"the program is not valid: {self._model.validate()}")
        if word in ("optimal", "feasible"):
            self._values = tuple(solver.response_proto.solution)
        bound = round(solver.best_objective_bound) if word != "infeasible" else 0
        return Outcome(word, self._values if word in ("optimal", "feasible") else (), bound)  # type: ignore[arg-type]

    def _heard(self, solver: Any, watch: Watch) -> Any:  # noqa: ANN401 - the engine's own
        """Search in another thread, so that this one handles Ctrl-C and a stopped watch.

        If the engine handled Ctrl-C itself, Python's handler would be lost, and the next Ctrl-C
        would kill the process.
        """
        solver.parameters.catch_sigint_signal = False
        with ThreadPoolExecutor(1) as pool:
            found = pool.submit(solver.solve, self._model)
            while not found.done():
                try:
                    wait([found], LISTEN)
                except KeyboardInterrupt:
                    watch.stop()
                if watch.stopped:
                    solver.stop_search()
        return found.result()

    def _linear(self, expression: Mapping[int, int]) -> Any:  # noqa: ANN401 - the engine's own
        terms = [(index, factor) for index, factor in expression.items() if index >= 0 and factor]
        constant = expression.get(CONSTANT, 0)
        variables = [self._variables[index] for index, _ in terms]
        return self._cp.LinearExpr.weighted_sum(variables, [f for _, f in terms]) + constant


@cache
def _model_class() -> Any:  # noqa: ANN401 - the engine's own
    """Return a model class without the engine's old method names, whose set-up is slow."""
    from ortools.sat.python import cp_model

    return type("Model", (cp_model.CpModel,), {"_add_pre_pep8_methods": lambda _: None})
