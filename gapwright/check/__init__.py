"""`check`: readings taken after assembly against what was promised."""
