"""`stock kit`: the cheapest kit for past drums."""
