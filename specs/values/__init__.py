"""Text to exact values and back."""
