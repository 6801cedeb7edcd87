"""Searches: each proves a minimum, or says how far it came."""
