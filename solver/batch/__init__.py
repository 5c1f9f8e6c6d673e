"""Several rebuilds from one shelf: which of them to complete, with which parts.

`plan` chooses; the rest of the folder says what it chooses among and how far it is proved.
"""

from solver.batch.planning import Plan, plan
from solver.batch.problem import Batch, BatchJob, Item, batch_of

__all__ = ["Batch", "BatchJob", "Item", "Plan", "batch_of", "plan"]
