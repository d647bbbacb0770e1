"""What can hurt someone in a step, by product hazard, space and heater, as findings of danger."""

from curewindow.cautions.gather import cautions_for
from curewindow.cautions.grade import Grade, grade, gravest_first, rank, refusal_of

__all__ = ["Grade", "cautions_for", "grade", "gravest_first", "rank", "refusal_of"]
