"""Ratios against peers, in one table: `python -m benchmarks`, or `--quick` for a smoke run."""
