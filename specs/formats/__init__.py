"""YAML, JSON and tables as plain values, each with its line."""
