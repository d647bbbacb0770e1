"""Sensors: what MQTT and Signal K tell of cabins becomes readings in the record."""

from curewindow_service.sensors.heard import Around, Expected
from curewindow_service.sensors.listener import Listener, SensorLine, listen
from curewindow_service.sensors.status import LinkStatus, SensorsStatus, SensorStatus

__all__ = [
    "Around",
    "Expected",
    "LinkStatus",
    "Listener",
    "SensorLine",
    "SensorStatus",
    "SensorsStatus",
    "listen",
]
