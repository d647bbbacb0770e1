"""The usual cautions, by product hazard, space and heater. They show no way round."""

from curewindow.cautions.caution import Caution, Urgency
from curewindow.cautions.gather import cautions_for

__all__ = ["Caution", "Urgency", "cautions_for"]
