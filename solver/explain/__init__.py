"""Explains answers: why nothing fits, ways out, the costs of aims, the sensitivity to readings."""
