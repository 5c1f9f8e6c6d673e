"""Chooses the parts. Knows an instance in whole numbers; knows no shelf, no file, no sentence."""

from solver.engines.limits import Limits
from solver.problem.from_case import instance_of
from solver.problem.instance import Instance
from solver.problem.solution import Answer, Fit, Miss, NoFit, Undecided
from solver.rebuild.fit import fit

__all__ = [
    "Answer",
    "Fit",
    "Instance",
    "Limits",
    "Miss",
    "NoFit",
    "Undecided",
    "fit",
    "instance_of",
]
