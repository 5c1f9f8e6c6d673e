"""What no single value shows."""
