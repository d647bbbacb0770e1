"""Pictures of a surface over the coming days: for the terminal, as SVG and as PNG."""

from curewindow.charts.models import Picture, picture_of
from curewindow.charts.scene import Scene, scene_of, usual_target
from curewindow.charts.terminal import can_show, terminal_lines

__all__ = [
    "Picture",
    "Scene",
    "can_show",
    "picture_of",
    "scene_of",
    "terminal_lines",
    "usual_target",
]
