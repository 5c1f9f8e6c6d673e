"""Where every job is: its state, what it waits for, its priority and its day."""
