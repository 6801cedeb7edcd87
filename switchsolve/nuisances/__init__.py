"""Why it takes so many moves: the work solved again with each nuisance of the file removed."""

from __future__ import annotations

from switchsolve.nuisances.listing import Kind, Nuisance, nuisances_of
from switchsolve.nuisances.weighing import Weighed, Weighing, weigh

__all__ = ["Kind", "Nuisance", "Weighed", "Weighing", "nuisances_of", "weigh"]
