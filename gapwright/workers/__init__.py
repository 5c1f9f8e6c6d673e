"""Independent work spread over cores or a cluster."""
