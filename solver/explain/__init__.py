"""Why nothing fits, ways out, costs of aims, sensitivity."""
