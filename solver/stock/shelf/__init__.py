"""What to hold on a shelf for a period of jobs: chosen by scenarios, promised by simulation."""
