"""Enumerates every build of one gap."""
