from scheduling.models.plans import WateringPlan
from scheduling.models.weather import WeatherDay, WeatherStation

__all__ = ["WateringPlan", "WeatherDay", "WeatherStation"]
