"""The order of the arriving train: the best, the worst, the average, and what an order costs in the yard."""

from __future__ import annotations

from switchsolve.ordering.asking import Asked, Ordering, in_every_order
from switchsolve.ordering.listing import (
    MOST_ORDERS,
    CannotReorder,
    Listed,
    TrainCars,
    in_order,
    list_orders,
    train_cars,
)
from switchsolve.ordering.yarding import YardCost, YardMoves, with_train, yard_cost, yard_moves

__all__ = [
    "MOST_ORDERS",
    "Asked",
    "CannotReorder",
    "Listed",
    "Ordering",
    "TrainCars",
    "YardCost",
    "YardMoves",
    "in_every_order",
    "in_order",
    "list_orders",
    "train_cars",
    "with_train",
    "yard_cost",
    "yard_moves",
]
