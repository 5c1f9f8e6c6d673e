"""Chooses the parts. Knows a task in plain integers; knows no shelf, file or word of the bench."""

from solver.answer import Answer, Fit, Miss, NoFit, Undecided
from solver.engine import Limits
from solver.fit import fit
from solver.pose import pose
from solver.task import Task

__all__ = ["Answer", "Fit", "Limits", "Miss", "NoFit", "Task", "Undecided", "fit", "pose"]
