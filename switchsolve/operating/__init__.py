"""A layout in operation: sessions one after the other, every car on its way, and a schedule for each.

:func:`operate` plays sessions; :func:`car_faults` asks, on its own, what is wrong with the movements of one.
"""

from __future__ import annotations
