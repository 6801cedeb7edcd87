"""Compiled search.  All jitted code lives in one file, so that its cache can never be stale; it knows no
railroad word that the packed set-up does not know, and may only be faster than the rules, never different.
"""
