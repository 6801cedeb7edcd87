"""Many drawn sessions, each solved to the proved minimum: how much work a district makes."""

from __future__ import annotations

from switchsolve.study.answering import Outcome, answer, without
from switchsolve.study.clusters import Cluster, ClusterError, cluster
from switchsolve.study.likes import key_of
from switchsolve.study.pace import Pace
from switchsolve.study.pools import cores, pool
from switchsolve.study.rows import Row, RowsError, StudyRows
from switchsolve.study.running import SEASON, Played, Study, play, study
from switchsolve.study.tally import Tally, at_or_under

__all__ = [
    "SEASON",
    "Cluster",
    "ClusterError",
    "Outcome",
    "Pace",
    "Played",
    "Row",
    "RowsError",
    "Study",
    "StudyRows",
    "Tally",
    "answer",
    "at_or_under",
    "cluster",
    "cores",
    "key_of",
    "play",
    "pool",
    "study",
    "without",
]
