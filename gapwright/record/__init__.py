"""The record of a job: what was promised for it, and where it is kept."""
