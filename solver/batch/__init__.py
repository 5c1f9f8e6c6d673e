"""Plans several rebuilds from one shelf: which of them to complete, with which parts.

`plan` chooses; the other modules define what it chooses among and how far it is proved.
"""

from solver.batch.instance import Batch, BatchJob, StockItem, batch_of
from solver.batch.planning import Plan, plan

__all__ = ["Batch", "BatchJob", "Plan", "StockItem", "batch_of", "plan"]
