"""The door to OR-Tools: an integer program of plain numbers, and CP-SAT behind it.

Variables are indices. Nothing of the engine shows in any signature. OR-Tools is imported when the
first program is made: it takes longer than all the rest of a small job.
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

LISTEN = 0.05  # seconds until a search hears that it is to stop


class Program:
    """A pure integer program; every search starts from the last values found.

    Where it is said to be of conditions alone, booleans that imply each other, no linear
    relaxation is solved: its bound is weak and dear. Sets of conditions that cannot all be spared
    (cores) prove more.
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
        """How many variables there are."""
        return len(self._variables)

    def shut(self, variable: int) -> bool:  # noqa: ARG002 - another door knows
        """Whether a variable is known to be 0 from here on."""
        return False

    def suggest(self, values: tuple[int, ...]) -> None:
        """Begin the next search from these values."""
        self._values = values

    def boolean(self) -> int:
        """Add a variable that is 0 or 1."""
        self._variables.append(self._model.new_bool_var(""))
        return len(self._variables) - 1

    def integer(self, low: int, high: int) -> int:
        """Add a whole number between two bounds."""
        self._variables.append(self._model.new_int_var(low, high, ""))
        return len(self._variables) - 1

    def amount(self, low: int, high: int) -> int:
        """Add a number that is whole by itself wherever the others are."""
        return self.integer(low, high)

    def one_of(self, variables: Iterable[int]) -> None:
        """Ask that exactly one of some booleans be true."""
        self._model.add_exactly_one([self._variables[index] for index in variables])

    def row(self, expression: Mapping[int, int], low: int | None, high: int | None) -> None:
        """Ask that an expression lie between two bounds, either of which may be open."""
        self._model.add_linear_constraint(
            self._linear(expression),
            -(2**62) if low is None else low,
            2**62 if high is None else high,
        )

    def least(self, expression: Mapping[int, int], clock: Clock) -> Outcome:
        """Make an expression least until proved or out of time; Ctrl-C ends it early."""
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
        """Search in a thread of its own, so that this one hears Ctrl-C and a watch that is stopped.

        Left to hear it itself the engine forgets Python's ear for it: the next one would kill.
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
    """Models without the engine's old method names: adding those outlasts a small search."""
    from ortools.sat.python import cp_model

    return type("Model", (cp_model.CpModel,), {"_add_pre_pep8_methods": lambda _: None})
