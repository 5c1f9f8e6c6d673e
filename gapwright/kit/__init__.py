"""Kits: checked, handed over on paper, drawn from the shelf."""
