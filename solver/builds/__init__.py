"""Every way to fill one gap."""
