"""Wraps CP-SAT and HiGHS behind one interface."""
