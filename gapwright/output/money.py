"""Amounts of money, which are kept in ten-thousandths of the currency."""

from __future__ import annotations

from decimal import Decimal

WHOLE = 10_000


def exact_money(amount: int) -> str:
    """All of an amount's digits."""
    return str(Decimal(amount) / WHOLE)


def money(amount: int) -> str:
    """An amount as a person reads it."""
    return f"{Decimal(amount) / WHOLE:.2f}"
