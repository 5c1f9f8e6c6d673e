"""`kit`: kits checked, handed over on paper, and packed from the shelf."""
