"""Chooses the parts. Knows a task in plain integers; knows no shelf, file or word of the bench."""

from solver.engines.limits import Limits
from solver.problem.from_case import pose
from solver.problem.instance import Task
from solver.problem.solution import Answer, Fit, Miss, NoFit, Undecided
from solver.rebuild.fit import fit

__all__ = ["Answer", "Fit", "Limits", "Miss", "NoFit", "Task", "Undecided", "fit", "pose"]
