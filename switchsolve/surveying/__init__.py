"""A survey of a district for its owner: everything asked once, and told on two printed pages.

::

    from switchsolve import load
    from switchsolve.surveying import survey, survey_html

    html = survey_html(survey(load("puzzles/cask_lane.toml"), sessions=20, seed=1))
"""

from __future__ import annotations

from switchsolve.surveying.advising import Advice, advise
from switchsolve.surveying.asking import Survey, survey
from switchsolve.surveying.html import survey_html
from switchsolve.surveying.weakest import Weak, weakest

__all__ = ["Advice", "Survey", "Weak", "advise", "survey", "survey_html", "weakest"]
