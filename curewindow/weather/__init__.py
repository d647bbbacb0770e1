"""Weather from feeds, files and by hand as one Forecast."""

from curewindow.weather.choose import get_forecast
from curewindow.weather.files import read_weather_file
from curewindow.weather.forecast import Forecast

__all__ = ["Forecast", "get_forecast", "read_weather_file"]
