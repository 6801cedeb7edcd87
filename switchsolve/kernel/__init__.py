"""Compiled search: the code of longest runs in one file, that of events in a folder of its own.

Jitted code knows no railroad word that the packed set-up does not know, and may only be faster than the
rules, never different.  What is kept of it on disk is never stale: numba looks at the one file that a
function is in, and :mod:`switchsolve.kernel.keeping` at all files of a folder.
"""
