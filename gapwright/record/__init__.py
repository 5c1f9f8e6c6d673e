"""The record of a job: what was promised for it, and what kept records tell of the next one."""
