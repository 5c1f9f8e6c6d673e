"""The record of jobs: what was kept of them, and what it says of the next one."""
